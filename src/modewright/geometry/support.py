"""How the blank is held: not at all, on a stud, at its nodes, between jaws rigid or not."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, ClassVar, Protocol, runtime_checkable

import numpy as np

from modewright.errors import GeometryError
from modewright.geometry.blank import Hold
from modewright.geometry.corners import circle, rectangle
from modewright.geometry.edges import straight_edges_m
from modewright.geometry.loop import Loop
from modewright.geometry.measures import bounding_box_m, centroid_m
from modewright.geometry.planar import contains
from modewright.parameters import Fault, choice, flag, point, points, quantity

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from numpy.typing import NDArray

    from modewright.geometry.blank import RestLine
    from modewright.geometry.sketch import Sketch

__all__ = [
    "SUPPORTS",
    "CentralStud",
    "Clamped",
    "ElasticClamp",
    "Free",
    "NodalSupports",
    "Resting",
    "Support",
    "SupportsAt",
]

_EDGE_WORDS = ("root", "both ends", "all straight edges")
_EDGES_DOC = "Edges whose side face is held, if no area is; a drawing's CLAMP layer is its root."
_DEPTH_DOC = "Depth of the jaws that hold both faces, measured from the root edge."
_AREA_DOC = "Corners of an area of which both faces are held; it may reach over the outline."
# Distance from an edge at which its inner side is looked for; the share by which jaws are wider.
_PROBE_M = 5e-6
_OVERHANG = 0.05
# Nodes of the first mode of a uniform free bar, as a share of its length from either end: Blevins,
# Formulas for Natural Frequency and Mode Shape, 1979, table 8-1 (from memory; more digits
# from its closed form).
_FREE_BAR_NODE = 0.2241575


class Support(Protocol):
    """A section of the design file that says how a body is held."""

    kind: ClassVar[str]

    def hold(self, sketch: Sketch) -> Hold | None:
        """Held edges or areas of this outline; None for a free body.

        Raises
        ------
        GeometryError
            If the outline has no such edge.
        """
        ...


@runtime_checkable
class Resting(Protocol):
    """A support on which the body lies, at lines that the maker marks on it."""

    def rests_m(self, sketch: Sketch) -> tuple[RestLine, ...]:
        """Lines (start, end) across the body. [m]"""
        ...


@dataclass(frozen=True, slots=True, kw_only=True)
class Free:
    """Not held: hung on threads or lying on soft foam at its nodes."""

    kind: ClassVar[str] = "free"

    def hold(self, sketch: Sketch) -> Hold | None:  # noqa: ARG002
        """None."""
        return None


@dataclass(frozen=True, slots=True, kw_only=True)
class Clamped:
    """Rigidly held."""

    kind: ClassVar[str] = "clamped"

    edges: str = choice(_EDGES_DOC, _EDGE_WORDS, default="root")
    jaw_depth_m: float | None = quantity(
        "m", _DEPTH_DOC, default=None, show="mm", above=0.0, plausible=(5e-4, 0.2)
    )
    area_m: tuple[tuple[float, float], ...] = points(_AREA_DOC, default=())

    def problems(self) -> Iterable[Fault]:
        """Return faults of a held area."""
        return _area_problems(self.jaw_depth_m, self.area_m)

    def hold(self, sketch: Sketch) -> Hold | None:
        """Rigid hold."""
        if sketch.solid is not None:
            return _held_solid(sketch, self, None, 1.0)
        return _held_place(sketch, self.edges, self.jaw_depth_m, self.area_m)


@dataclass(frozen=True, slots=True, kw_only=True)
class ElasticClamp:
    """Held by faces that give way in proportion to the stress on them."""

    kind: ClassVar[str] = "elastic clamp"

    stiffness_n_per_m3: float = quantity(
        "N/m**3",
        "Normal stiffness of the holding face per area.",
        above=0.0,
        plausible=(1e8, 1e16),
    )
    shear_ratio: float = quantity(
        "1", "Tangential over normal stiffness.", default=0.8, above=0.0, plausible=(0.1, 1.0)
    )
    edges: str = choice(_EDGES_DOC, _EDGE_WORDS, default="root")
    jaw_depth_m: float | None = quantity(
        "m", _DEPTH_DOC, default=None, show="mm", above=0.0, plausible=(5e-4, 0.2)
    )
    area_m: tuple[tuple[float, float], ...] = points(_AREA_DOC, default=())

    def problems(self) -> Iterable[Fault]:
        """Return faults of a held area."""
        return _area_problems(self.jaw_depth_m, self.area_m)

    def hold(self, sketch: Sketch) -> Hold | None:
        """Elastic hold."""
        if sketch.solid is not None:
            return _held_solid(sketch, self, self.stiffness_n_per_m3, self.shear_ratio)
        return replace(
            _held_place(sketch, self.edges, self.jaw_depth_m, self.area_m),
            stiffness_n_per_m3=self.stiffness_n_per_m3,
            shear_ratio=self.shear_ratio,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class CentralStud:
    """Both faces held between the washers of a stud; the usual hold of discs and flat bells."""

    kind: ClassVar[str] = "central stud"

    diameter_m: float = quantity(
        "m", "Diameter of the washers that hold it.", show="mm", above=0.0, plausible=(1e-3, 0.1)
    )
    centre_m: tuple[float, float] | None = point(
        "Middle of the stud; the centroid of the outer contour if left out.", default=None
    )
    stiffness_n_per_m3: float | None = quantity(
        "N/m**3", "Normal stiffness of each washer per area; rigid if left out.", default=None,
        above=0.0, plausible=(1e8, 1e16),
    )  # fmt: skip
    shear_ratio: float = quantity(
        "1", "Tangential over normal stiffness.", default=0.8, above=0.0, plausible=(0.1, 1.0)
    )

    def hold(self, sketch: Sketch) -> Hold | None:
        """Hold of a round area."""
        x, y = centroid_m(sketch.outline.outer) if self.centre_m is None else self.centre_m
        return Hold(
            edges_m=np.zeros((0, 2, 2)),
            areas=(circle((float(x), float(y)), self.diameter_m),),
            stiffness_n_per_m3=self.stiffness_n_per_m3,
            shear_ratio=self.shear_ratio,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class NodalSupports:
    """A bar along x that lies on two cords or pads near the nodes of its lowest mode."""

    kind: ClassVar[str] = "nodal supports"

    from_ends_m: float | None = quantity(
        "m",
        "From each end to the nearest support; 0.224 of the length, right for a bar of one "
        "thickness and width, if left out.",
        default=None,
        show="mm",
        above=0.0,
        plausible=(1e-3, 0.5),
    )
    own_nodes: bool = flag(
        "Whether they stand where this very bar stands still in its lowest bending, found from its "
        "widths and thicknesses (thin beam, masses left out); from_ends then stays out.",
        default=False,
    )
    stiffness_n_per_m3: float | None = quantity(
        "N/m**3", "Stiffness of the pads per area; if left out, too soft to matter.", default=None,
        above=0.0, plausible=(1e5, 1e12),
    )  # fmt: skip
    shear_ratio: float = quantity(
        "1", "Tangential over normal stiffness of the pads.", default=0.3, above=0.0,
        plausible=(0.01, 1.0),
    )  # fmt: skip
    loss_factor: float = quantity(
        "1", "Loss factor of the pads, if they have a stiffness: cork 0.13 to 0.17 (Cremer and "
        "Heckl, Structure-Borne Sound, ch. III; from memory), rubber and felt 0.05 to 0.3 (common "
        "practice).", default=0.1, above=0.0, plausible=(0.01, 1.0),
    )  # fmt: skip
    pad_width_m: float = quantity(
        "m", "Width of each pad along the bar, if it has a stiffness.", default=2e-3, show="mm",
        above=0.0, plausible=(2e-4, 0.05),
    )  # fmt: skip

    def problems(self) -> Iterable[Fault]:
        """Return the fault of places given twice."""
        if self.own_nodes and self.from_ends_m is not None:
            yield Fault(key="own_nodes", expected="either from_ends or own_nodes", got="both")

    def hold(self, sketch: Sketch) -> Hold | None:
        """See `hold_at`; at the places of a bar of one thickness if none are given."""
        return self.hold_at(sketch, self._stations_m(sketch))

    def hold_at(self, sketch: Sketch, stations_m: tuple[float, float]) -> Hold | None:
        """None, or two strips with half the stiffness on either face."""
        if self.stiffness_n_per_m3 is None:
            return None
        low, high = bounding_box_m(sketch.outline.outer)
        over, half = _OVERHANG * float(high[1] - low[1]), self.pad_width_m / 2
        bottom, top = float(low[1]) - over, float(high[1]) + over
        strips = [rectangle((x - half, bottom), (x + half, top)) for x in stations_m]
        return Hold(
            edges_m=np.zeros((0, 2, 2)),
            areas=tuple(strips),
            stiffness_n_per_m3=self.stiffness_n_per_m3 / 2,
            shear_ratio=self.shear_ratio,
            loss_factor=self.loss_factor,
        )

    def rests_m(self, sketch: Sketch) -> tuple[RestLine, ...]:
        """See `rests_at`."""
        return self.rests_at(sketch, self._stations_m(sketch))

    def rests_at(self, sketch: Sketch, stations_m: tuple[float, float]) -> tuple[RestLine, ...]:
        """Two lines across the bar."""
        low, high = bounding_box_m(sketch.outline.outer)
        bottom, top = float(low[1]), float(high[1])
        return tuple(((x, bottom), (x, top)) for x in stations_m)

    def _stations_m(self, sketch: Sketch) -> tuple[float, float]:
        low, high = bounding_box_m(sketch.outline.outer)
        length = float(high[0] - low[0])
        inset = _FREE_BAR_NODE * length if self.from_ends_m is None else self.from_ends_m
        if inset >= length / 2:
            raise GeometryError(
                f"support: expected supports less than half the length, {length * 500:.3f} mm, "
                f"from the ends, got {inset * 1e3:.3f} mm.",
                hint="Make from_ends smaller.",
            )
        return float(low[0]) + inset, float(high[0]) - inset


@dataclass(frozen=True, slots=True, kw_only=True)
class SupportsAt:
    """Nodal supports whose places have been found.

    Parameters
    ----------
    supports : NodalSupports
    stations_m : tuple of two floats
        x of each. [m]
    """

    kind: ClassVar[str] = "nodal supports"

    supports: NodalSupports
    stations_m: tuple[float, float]

    def hold(self, sketch: Sketch) -> Hold | None:
        """See `NodalSupports.hold_at`."""
        return self.supports.hold_at(sketch, self.stations_m)

    def rests_m(self, sketch: Sketch) -> tuple[RestLine, ...]:
        """See `NodalSupports.rests_at`."""
        return self.supports.rests_at(sketch, self.stations_m)


SUPPORTS: tuple[type[Support], ...] = (Clamped, ElasticClamp, CentralStud, NodalSupports, Free)


def _held_solid(
    sketch: Sketch, clamp: Clamped | ElasticClamp, stiffness: float | None, shear_ratio: float
) -> Hold:
    """Hold of the faces of a solid."""
    if clamp.jaw_depth_m is not None or clamp.area_m:
        raise GeometryError(
            "support: expected faces of the solid to hold, got jaws or an area.",
            hint="Leave jaw_depth and area out.",
        )
    if clamp.edges == "root" and sketch.root_faces is None:
        raise GeometryError(
            "support: expected faces of the solid to hold, got none.",
            hint='Name them or give a box in [resonator], or write kind = "free".',
        )
    if clamp.edges != "root":
        raise GeometryError(
            f"support: expected the root of the solid to be held, got {clamp.edges}.",
            hint="Leave edges out; for a STEP solid choose all held faces in [resonator].",
        )
    return Hold(
        edges_m=np.zeros((0, 2, 2)),
        faces=sketch.root_faces,
        stiffness_n_per_m3=stiffness,
        shear_ratio=shear_ratio,
    )


def _area_problems(
    jaw_depth_m: float | None, area_m: tuple[tuple[float, float], ...]
) -> Iterable[Fault]:
    if area_m and jaw_depth_m is not None:
        yield Fault(key="area", expected="either jaw_depth or area", got="both")
    if area_m and len(area_m) < 3:
        yield Fault(key="area", expected="three or more corners", got=str(len(area_m)))


def _held_place(
    sketch: Sketch,
    edges: str,
    jaw_depth_m: float | None,
    area_m: tuple[tuple[float, float], ...],
) -> Hold:
    """Rigid hold of edges or areas."""
    no_edges = np.zeros((0, 2, 2))
    if area_m:
        return Hold(edges_m=no_edges, areas=(Loop.polygon(area_m),))
    if jaw_depth_m is not None:
        return Hold(edges_m=no_edges, areas=(*_jaws(sketch, jaw_depth_m), *sketch.root_areas))
    if edges == "root":
        if len(sketch.root_edges_m) == 0 and not sketch.root_areas:
            raise GeometryError(
                "support: expected a root to hold, got an outline without one.",
                hint='Draw lines or areas on layer CLAMP, give an area, or write kind = "free".',
            )
        return Hold(
            edges_m=sketch.root_edges_m,
            edge_bulge=sketch.root_edge_bulge,
            areas=sketch.root_areas,
        )
    found = _EDGES_OF[edges](sketch)
    if len(found) == 0:
        raise GeometryError(f"support: expected {edges} to hold, got an outline without any.")
    return Hold(edges_m=found)


def _jaws(sketch: Sketch, depth_m: float) -> tuple[Loop, ...]:
    """A rectangle inwards from each root edge, a little over its ends where the body is cut off."""
    if len(sketch.root_edges_m) == 0:
        raise GeometryError(
            "support: expected a root edge for jaw_depth, got an outline without one.",
            hint="Draw the edge on layer CLAMP, or give an area.",
        )
    if sketch.root_edge_bulge is not None and np.any(sketch.root_edge_bulge):
        raise GeometryError(
            "support: expected a straight root edge for jaw_depth, got a round one.",
            hint="Draw the area between the jaws on layer CLAMP, or give it as area.",
        )
    jaws: list[Loop] = []
    for start, end in sketch.root_edges_m:
        along = (end - start) / np.hypot(*(end - start))
        inwards = np.array([-along[1], along[0]])
        if not contains(sketch.outline, (start + end) / 2 + _PROBE_M * inwards)[0]:
            inwards = -inwards
        over = _OVERHANG * (end - start)
        low, high = start - over, end + over
        jaws.append(Loop.polygon([low, high, high + depth_m * inwards, low + depth_m * inwards]))
    return tuple(jaws)


def _both_ends(sketch: Sketch) -> NDArray[np.float64]:
    if len(sketch.root_edges_m) == 0 or len(sketch.tip_edges_m) == 0:
        return np.zeros((0, 2, 2))
    return np.concatenate([sketch.root_edges_m, sketch.tip_edges_m])


_EDGES_OF: dict[str, Callable[[Sketch], NDArray[np.float64]]] = {
    "both ends": _both_ends,
    "all straight edges": lambda sketch: straight_edges_m(sketch.outline.outer),
}
