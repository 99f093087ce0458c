"""Thick bar: of one thickness, tapered, or undercut by arches."""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar, Literal

import numpy as np
from scipy.interpolate import CubicSpline

from modewright.geometry.blank import NamedPoint, Outline
from modewright.geometry.edges import edges_at_x
from modewright.geometry.loop import Loop
from modewright.geometry.relief import DepthCurve, Relief
from modewright.geometry.sketch import Sketch
from modewright.parameters import Fault, choice, quantities, quantity, sections
from modewright.units import format_quantity

if TYPE_CHECKING:
    import pathlib
    from collections.abc import Callable, Iterable

    from numpy.typing import NDArray

__all__ = ["Arch", "Bar"]

Side = Literal["top", "bottom"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Arch:
    """Hollow across the whole bar, from which the bar rises to both sides."""

    depth_m: float = quantity(
        "m", "Depth in its middle.", show="mm", above=0.0, plausible=(5e-5, 0.05)
    )
    length_m: float = quantity(
        "m", "Length along the bar.", show="mm", above=0.0, plausible=(1e-3, 0.5)
    )
    centre_m: float | None = quantity(
        "m", "x of its middle; the middle of the bar if left out.", default=None, show="mm"
    )
    shape: str = choice(
        "Course of the depth: `cosine` leaves the face without a kink, `parabola` meets it at an "
        "angle, `given` follows the profile.",
        ("cosine", "parabola", "given"),
        default="cosine",
    )
    flat_m: float = quantity(
        "m", "Length of a flat stretch in its middle, of cosine and parabola.", default=0.0,
        show="mm", at_least=0.0,
    )  # fmt: skip
    profile: tuple[float, ...] = quantities(
        "1", "Depths at evenly spaced places between its ends, as shares of the depth; a smooth "
        "curve joins them and ends at zero.",
        default=(), at_least=0.0, plausible=(0.0, 1.0),
    )  # fmt: skip

    def problems(self) -> Iterable[Fault]:
        """Return faults of a flat stretch or a profile that does not fit."""
        if self.shape == "given" and len(self.profile) < 3:
            yield Fault(key="profile", expected="three or more shares", got=str(len(self.profile)))
        if self.shape != "given" and self.profile:
            yield Fault(key="profile", expected='shape = "given" with a profile', got=self.shape)
        if self.flat_m >= self.length_m:
            yield Fault(
                key="flat", expected=f"less than the arch, {_mm(self.length_m)}",
                got=_mm(self.flat_m),
            )  # fmt: skip

    def curve(self, middle_m: float, side: Side) -> DepthCurve:
        """Depth over x of the arch about this middle. [m]"""
        start, end = middle_m - self.length_m / 2, middle_m + self.length_m / 2
        if self.shape == "given":
            places = np.linspace(start, end, len(self.profile) + 2)
            depths = self.depth_m * np.array([0.0, *self.profile, 0.0])
            spline = CubicSpline(places, depths)
            pieces: list[Callable[[NDArray[np.float64]], NDArray[np.float64]]]
            pieces = [spline] * (len(places) - 1)
            return DepthCurve.of_functions(places.tolist(), pieces, side, has_kinks_inside=False)
        flank = (self.length_m - self.flat_m) / 2

        def depth(x: NDArray[np.float64]) -> NDArray[np.float64]:
            # 0 where the flat stretch ends, 1 where the arch does.
            out = np.maximum(np.abs(x - middle_m) - self.flat_m / 2, 0.0) / flank
            if self.shape == "cosine":
                return self.depth_m * (1 + np.cos(np.pi * out)) / 2
            return self.depth_m * (1 - out**2)

        if self.flat_m == 0:
            return DepthCurve.of_functions([start, end], [depth], side)
        breaks = [start, middle_m - self.flat_m / 2, middle_m + self.flat_m / 2, end]
        return DepthCurve.of_functions(breaks, [depth] * 3, side)


@dataclass(frozen=True, slots=True, kw_only=True)
class Bar:
    """Bar of stock, from x = 0 to its length; its thickness is that of the stock or less."""

    kind: ClassVar[str] = "bar"

    length_m: float = quantity("m", "Length.", show="mm", above=0.0, plausible=(5e-3, 2.0))
    width_m: float = quantity("m", "Width at x = 0.", show="mm", above=0.0, plausible=(1e-3, 0.5))
    tip_width_m: float | None = quantity(
        "m", "Width at the other end; the same if left out.", default=None, show="mm", above=0.0,
        plausible=(1e-3, 0.5),
    )  # fmt: skip
    taper_depth_m: float = quantity(
        "m", "How much thinner the bar is at the other end than at x = 0, evenly in between.",
        default=0.0, show="mm", at_least=0.0, plausible=(0.0, 0.05),
    )  # fmt: skip
    arches: tuple[Arch, ...] = sections(
        "Arches that undercut the bar, in the order of x.", Arch, default=()
    )
    side: Side = choice(
        "Face that is undercut and tapered; pickups listen at the bottom.", ("top", "bottom"),
        default="bottom",
    )  # fmt: skip

    def problems(self) -> Iterable[Fault]:
        """Return faults of arches that overlap or leave the bar."""
        spans: list[tuple[float, float]] = []
        for number, arch in enumerate(self.arches, 1):
            if arch.centre_m is None and len(self.arches) > 1:
                yield Fault(key=f"arches[{number}].centre", expected="a place", got="nothing")
                continue
            middle = self._middle_m(arch)
            spans.append((middle - arch.length_m / 2, middle + arch.length_m / 2))
            if spans[-1][0] <= 0 or spans[-1][1] >= self.length_m:
                yield Fault(
                    key=f"arches[{number}].length",
                    expected=f"an arch between the ends of the bar, 0 mm and {_mm(self.length_m)}",
                    got=f"one from {_mm(spans[-1][0])} to {_mm(spans[-1][1])}",
                )
        for number, (one, next_one) in enumerate(itertools.pairwise(spans), 2):
            if next_one[0] < one[1]:
                yield Fault(
                    key=f"arches[{number}].centre",
                    expected=f"an arch that begins beyond {_mm(one[1])}, where the last one ends",
                    got=_mm(next_one[0]),
                )

    def _middle_m(self, arch: Arch) -> float:
        return self.length_m / 2 if arch.centre_m is None else arch.centre_m

    def sketch(self, folder: pathlib.Path) -> Sketch:  # noqa: ARG002
        """Outline with root edge x = 0, and what is taken off its face."""
        length, root = self.length_m, self.width_m / 2
        tip = root if self.tip_width_m is None else self.tip_width_m / 2
        outer = Loop.polygon([(0.0, -root), (length, -tip), (length, tip), (0.0, root)])
        places = {
            "tip": (length, 0.0),
            "middle": (length / 2, 0.0),
            "root": (0.0, 0.0),
            "corner": (length, tip),
        }
        places |= {f"arch {i}": (self._middle_m(a), 0.0) for i, a in enumerate(self.arches, 1)}
        return Sketch(
            outline=Outline(outer=outer),
            root_edges_m=edges_at_x(outer, 0.0),
            tip_edges_m=edges_at_x(outer, length),
            named_points=tuple(NamedPoint(name=n, point_m=p) for n, p in places.items()),
            relief=self._relief(),
        )

    def _relief(self) -> Relief | None:
        side: Side = self.side
        curves = [arch.curve(self._middle_m(arch), side) for arch in self.arches]
        if self.taper_depth_m > 0:
            slope = self.taper_depth_m / self.length_m
            ends = [0.0, self.length_m]
            curves.append(DepthCurve.of_functions(ends, [lambda x: slope * x], side))
        return Relief(curves=tuple(curves)) if curves else None


def _mm(value_m: float) -> str:
    return format_quantity(value_m, "m", show="mm")
