"""How the blank is held: not at all, between rigid jaws, or between jaws that give way."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar, Protocol

import numpy as np

from modewright.errors import GeometryError
from modewright.geometry.blank import Hold
from modewright.geometry.edges import straight_edges_m
from modewright.geometry.loop import Loop
from modewright.geometry.planar import contains
from modewright.parameters import Fault, choice, points, quantity

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from numpy.typing import NDArray

    from modewright.geometry.sketch import Sketch

__all__ = ["SUPPORTS", "Clamped", "ElasticClamp", "Free", "Support"]

_EDGE_WORDS = ("root", "both ends", "all straight edges")
_EDGES_DOC = "Edges whose side face is held, if no area is; a drawing's CLAMP layer is its root."
_DEPTH_DOC = "Depth of the jaws that hold both faces, measured from the root edge."
_AREA_DOC = "Corners of an area of which both faces are held; it may reach over the outline."
# Distance from an edge at which its inner side is looked for; the share by which jaws are wider.
_PROBE_M = 5e-6
_OVERHANG = 0.05


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
        edges, areas = _held_place(sketch, self.edges, self.jaw_depth_m, self.area_m)
        return Hold(edges_m=edges, areas=areas)


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
        edges, areas = _held_place(sketch, self.edges, self.jaw_depth_m, self.area_m)
        return Hold(
            edges_m=edges,
            areas=areas,
            stiffness_n_per_m3=self.stiffness_n_per_m3,
            shear_ratio=self.shear_ratio,
        )


SUPPORTS: tuple[type[Support], ...] = (Clamped, ElasticClamp, Free)


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
) -> tuple[NDArray[np.float64], tuple[Loop, ...]]:
    no_edges = np.zeros((0, 2, 2))
    if area_m:
        return no_edges, (Loop.polygon(area_m),)
    if jaw_depth_m is not None:
        return no_edges, (*_jaws(sketch, jaw_depth_m), *sketch.root_areas)
    if edges == "root":
        if len(sketch.root_edges_m) == 0 and not sketch.root_areas:
            raise GeometryError(
                "support: expected a root to hold, got an outline without one.",
                hint='Draw lines or areas on layer CLAMP, give an area, or write kind = "free".',
            )
        return sketch.root_edges_m, sketch.root_areas
    found = _EDGES_OF[edges](sketch)
    if len(found) == 0:
        raise GeometryError(f"support: expected {edges} to hold, got an outline without any.")
    return found, ()


def _jaws(sketch: Sketch, depth_m: float) -> tuple[Loop, ...]:
    """A rectangle inwards from each root edge, a little over its ends where the body is cut off."""
    if len(sketch.root_edges_m) == 0:
        raise GeometryError(
            "support: expected a root edge for jaw_depth, got an outline without one.",
            hint="Draw the edge on layer CLAMP, or give an area.",
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
