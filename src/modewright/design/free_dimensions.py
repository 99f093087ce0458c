"""The free dimensions of a design: from shares of their ranges to a design, and back."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeVar

import numpy as np

from modewright.design.address import check_design, find_number, replaced
from modewright.errors import DesignError, Problem
from modewright.parameters import Fault
from modewright.units import UnitError, format_quantity, parse_quantity

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from numpy.typing import NDArray

    from modewright.design.address import Address
    from modewright.parameters import FieldSpec
    from modewright.tune.settings import FreeDimension, TuneSettings

__all__ = [
    "Dimension",
    "dimensions_of",
    "free_faults",
    "position_of",
    "with_position",
    "written_position",
]

SectionT = TypeVar("SectionT")

# Digits with which a found value is written: fine enough for a hundredth of a cent.
_DIGITS = 6


@dataclass(frozen=True, slots=True, kw_only=True)
class Dimension:
    """A value that the search may change.

    Parameters
    ----------
    addresses : tuple of str
        Where it stands in the design; all take the same value.
    lowest, highest : float
        Range. [unit]
    unit : str
        SI unit.
    show : str
        Unit in which the file writes it.
    """

    addresses: tuple[str, ...]
    lowest: float
    highest: float
    unit: str
    show: str

    @property
    def name(self) -> str:
        """The first of its addresses."""
        return self.addresses[0]

    @property
    def short_name(self) -> str:
        """The last word of its address, with the place in a list."""
        return self.name.rpartition(".")[2].replace("_", " ")

    def text(self, value: float) -> str:
        """Value as a design file writes it."""
        return format_quantity(value, self.unit, show=self.show, digits=_DIGITS)

    def at(self, share: float) -> float:
        """Value at a share of the range. [unit]"""
        return self.lowest + share * (self.highest - self.lowest)

    def share_of(self, value: float) -> float:
        """Where a value lies in the range, 0 to 1 inside."""
        return (value - self.lowest) / (self.highest - self.lowest)


def dimensions_of(design: object, settings: TuneSettings) -> tuple[Dimension, ...]:
    """Find the free dimensions in a design.

    Parameters
    ----------
    design : Design
        Read, and so without `free_faults`.
    settings : TuneSettings
    """
    return tuple(
        _dimension(design, free, f"tune.free[{number}]")
        for number, free in enumerate(settings.free, 1)
    )


def free_faults(design: object, settings: TuneSettings) -> Iterator[Fault]:
    """Find every address that names nothing, and every range that is none.

    Parameters
    ----------
    design : Design
    settings : TuneSettings
    """
    for number, free in enumerate(settings.free, 1):
        try:
            _dimension(design, free, f"tune.free[{number}]")
        except _FaultError as error:
            yield error.fault


class _FaultError(Exception):
    def __init__(self, key: str, expected: str, got: str, hint: str = "") -> None:
        super().__init__(key)
        self.fault = Fault(key=key, expected=expected, got=got, hint=hint)


def _dimension(design: object, free: FreeDimension, where: str) -> Dimension:
    keys = [f"{where}.path", *(f"{where}.alike[{i}]" for i in range(1, len(free.alike) + 1))]
    found = [
        _number(design, text, key) for text, key in zip((free.path, *free.alike), keys, strict=True)
    ]
    spec = found[0].spec
    for other, key in zip(found[1:], keys[1:], strict=True):
        if other.spec.unit != spec.unit:
            raise _FaultError(key, f"a value in {spec.show}, like {free.path}", f'"{other.text}"')
    lowest = _bound(free.lowest, spec, f"{where}.lowest")
    highest = _bound(free.highest, spec, f"{where}.highest")
    if lowest >= highest:
        raise _FaultError(
            f"{where}.highest", f"more than lowest, {free.lowest}", f'"{free.highest}"'
        )
    return Dimension(
        addresses=tuple(address.text for address in found),
        lowest=lowest,
        highest=highest,
        unit=spec.unit,
        show=spec.show,
    )


def _number(design: object, text: str, key: str) -> Address:
    try:
        address = find_number(design, text)
    except DesignError as error:
        hints = [found.hint for found in error.problems if isinstance(found, Problem)]
        raise _FaultError(key, "a number of the design", f'"{text}"', hints[0]) from error
    if address.value is None:
        raise _FaultError(key, "a number that the design gives", f'"{text}"', "Write it out first.")
    return address


def _bound(text: str, spec: FieldSpec, key: str) -> float:
    try:
        return parse_quantity(text, spec.unit)
    except UnitError as error:
        raise _FaultError(key, error.expected, f'"{text}"', error.hint) from error


def position_of(design: object, dimensions: Sequence[Dimension]) -> NDArray[np.float64]:
    """Where a design lies in the ranges of its free dimensions; below 0 or above 1 if outside."""
    values = [find_number(design, dimension.name).value or 0.0 for dimension in dimensions]
    shares = [d.share_of(value) for d, value in zip(dimensions, values, strict=True)]
    return np.array(shares)


def written_position(
    dimensions: Sequence[Dimension], position: NDArray[np.float64]
) -> NDArray[np.float64]:
    """The position next to one whose values can be written with few digits."""
    values = [d.text(d.at(float(share))) for d, share in zip(dimensions, position, strict=True)]
    read = [parse_quantity(text, d.unit) for d, text in zip(dimensions, values, strict=True)]
    return np.clip([d.share_of(v) for d, v in zip(dimensions, read, strict=True)], 0.0, 1.0)


def with_position(
    design: SectionT, dimensions: Sequence[Dimension], position: NDArray[np.float64]
) -> SectionT:
    """The design with its free dimensions at a position of their ranges.

    Raises
    ------
    DesignError
        If the values do not fit together.
    """
    for dimension, share in zip(dimensions, position, strict=True):
        for address in dimension.addresses:
            design = replaced(design, address, dimension.at(float(share)))
    check_design(design)
    return design
