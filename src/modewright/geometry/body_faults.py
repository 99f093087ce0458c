"""Faults of a body as they are found, part by part."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from modewright.errors import BodyError, GeometryError, Problem, Remark

if TYPE_CHECKING:
    from shapely import Polygon

__all__ = ["MIN_WEB_M", "BodyFaults", "Part", "span_text"]

# Metal narrower than this between two cuts burns away or bends off.
MIN_WEB_M = 5e-5


@dataclass(frozen=True, slots=True)
class Part:
    """What a message calls a part, and the section of the design file that brings it along."""

    key: str
    name: str


@dataclass(frozen=True, slots=True)
class BodyFaults:
    """What is wrong, fault by fault, and what to do about it."""

    found: list[Problem | Remark] = field(default_factory=list[Problem | Remark])

    def add(self, part: Part, expected: str, got: str, hint: str) -> None:
        """Take a fault of a part."""
        self.found.append(
            Problem(key=part.key, what=part.name, expected=expected, got=got, hint=hint)
        )

    def told(self, key: str, error: GeometryError) -> None:
        """Take what another function says of a section."""
        self.found.append(Remark(key=key, text=str(error).removeprefix(f"{key}: ")))

    def raise_if_any(self) -> None:
        """Raise a BodyError with everything taken."""
        if self.found:
            raise BodyError(self.found)


def span_text(body: Polygon) -> str:
    """How far a sheet reaches, in mm."""
    low_x, low_y, high_x, high_y = (round(v * 1e3, 3) + 0.0 for v in body.bounds)
    return f"x {low_x:g} to {high_x:g} mm, y {low_y:g} to {high_y:g} mm"
