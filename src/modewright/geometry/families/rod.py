"""Round rod, plain, tapered or stepped, turned from stock."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

import numpy as np

from modewright.geometry.blank import NamedPoint, Outline
from modewright.geometry.loop import Loop
from modewright.geometry.sketch import Sketch
from modewright.geometry.solid_shape import FaceChoice, TurnedRod
from modewright.parameters import Fault, quantity, sections

if TYPE_CHECKING:
    import pathlib
    from collections.abc import Iterable

    from numpy.typing import NDArray

__all__ = ["Rod", "RodStretch"]

_ROOM = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class RodStretch:
    """Stretch of one diameter, or tapering straight from one to another."""

    length_m: float = quantity("m", "Length along x.", show="mm", above=0.0, plausible=(5e-4, 2.0))
    diameter_m: float = quantity(
        "m", "Diameter where it begins.", show="mm", above=0.0, plausible=(2e-4, 0.1)
    )
    end_diameter_m: float | None = quantity(
        "m", "Diameter where it ends; the same if left out.", default=None, show="mm", above=0.0,
        plausible=(2e-4, 0.1),
    )  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class Rod:
    """Stretches one after the other along x; the thickness of the stock plays no part."""

    kind: ClassVar[str] = "rod"

    stretches: tuple[RodStretch, ...] = sections("From root to tip.", RodStretch)

    def problems(self) -> Iterable[Fault]:
        """Return the fault of a rod without stretches."""
        if not self.stretches:
            yield Fault(key="stretches", expected="at least one", got="none")

    def sketch(self, folder: pathlib.Path) -> Sketch:  # noqa: ARG002
        """Plan of the rod, the root face at x = 0."""
        ends = np.cumsum([stretch.length_m for stretch in self.stretches])
        starts = np.concatenate([[0.0], ends[:-1]])
        stations: list[tuple[float, float]] = []
        for start, end, stretch in zip(starts, ends, self.stretches, strict=True):
            last = stretch.diameter_m if stretch.end_diameter_m is None else stretch.end_diameter_m
            for station in ((float(start), stretch.diameter_m / 2), (float(end), last / 2)):
                if not stations or station != stations[-1]:
                    stations.append(station)
        places, radii = np.array(stations).T
        length = float(places[-1])
        none = np.zeros((0, 2, 2))
        named = {
            "tip": (length, 0.0),
            "middle": (length / 2, 0.0),
            "root": (0.0, 0.0),
        }
        return Sketch(
            outline=Outline(outer=_plan(places, radii)),
            root_edges_m=none,
            tip_edges_m=none,
            named_points=tuple(NamedPoint(name=n, point_m=p) for n, p in named.items()),
            solid=TurnedRod(places_m=places, radii_m=radii),
            root_faces=_end_face(0.0, float(radii.max())),
        )


def _plan(places: NDArray[np.float64], radii: NDArray[np.float64]) -> Loop:
    upper = np.stack([places, radii], axis=1)
    lower = upper * np.array([1.0, -1.0])
    return Loop.polygon(np.concatenate([lower, upper[::-1]]))


def _end_face(x_m: float, radius_m: float) -> FaceChoice:
    """Face across the rod, which lies on z = 0."""
    reach = radius_m + _ROOM
    return FaceChoice(low_m=(x_m - _ROOM, -reach, -_ROOM), high_m=(x_m + _ROOM, reach, 2 * reach))
