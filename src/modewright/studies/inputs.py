"""Tolerances of a design file as numbers: which values move, how far, and in what company."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from modewright.chain.parameter import number_value
from modewright.design.address import find_number
from modewright.design.read import section_keys
from modewright.errors import DesignError, Problem
from modewright.materials.choice import MaterialChoice
from modewright.materials.table import material_named
from modewright.tolerances.draws import sigma_share
from modewright.tolerances.settings import Amount, StripThickness
from modewright.tolerances.strip_thickness import strip_limit_m, strip_source
from modewright.units import UnitError, format_quantity, parse_quantity

if TYPE_CHECKING:
    from modewright.design.address import Address
    from modewright.design.schema import Design
    from modewright.materials.model import Sourced
    from modewright.tolerances.settings import MaterialSpread, Tolerance

__all__ = ["Input", "Move", "inputs_of", "trim_move"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Move:
    """One number of the design.

    Parameters
    ----------
    address : str
    value : float
        As designed, in SI units.
    limit : float
        Change at the limit of the tolerance, with its sign.
    is_length : bool
        Whether it may change the mesh.
    """

    address: str
    value: float
    limit: float
    is_length: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Input:
    """One tolerance.

    Parameters
    ----------
    name, source : str
    amount : str
        The limit, to read.
    moves : tuple of Move
    distribution : str
    batch_share : float
    """

    name: str
    source: str
    amount: str
    moves: tuple[Move, ...]
    distribution: str
    batch_share: float

    @property
    def sigma_share(self) -> float:
        """Standard deviation over the limit."""
        return sigma_share(self.distribution)

    @property
    def keeps_mesh(self) -> bool:
        """Whether solved pieces differ by nothing but what the tolerance does."""
        return not any(move.is_length for move in self.moves)

    def values(self, share: float) -> tuple[tuple[str, float], ...]:
        """Addresses and values at a share of the limit."""
        return tuple((move.address, move.value + share * move.limit) for move in self.moves)


def inputs_of(design: Design, tolerances: tuple[Tolerance, ...]) -> tuple[Input, ...]:
    """Read tolerances against the numbers they are about.

    Raises
    ------
    DesignError
        If one names no number, an amount has another unit, or a number is named twice.
    """
    found = tuple(_input(design, number, entry) for number, entry in enumerate(tolerances, 1))
    seen: set[str] = set()
    for number, entry in enumerate(found, 1):
        for move in entry.moves:
            if move.address in seen:
                raise _fault(f"spread.tolerances[{number}]", "each number once", move.address)
            seen.add(move.address)
    return found


def _input(design: Design, number: int, tolerance: Tolerance) -> Input:
    if isinstance(tolerance, Amount):
        return _amount(design, number, tolerance)
    if isinstance(tolerance, StripThickness):
        return _strip(design, tolerance)
    return _material(design, number, tolerance)


def _strip(design: Design, tolerance: StripThickness) -> Input:
    thickness_m = design.stock.thickness_m
    limit_m = strip_limit_m(thickness_m, tolerance.grade)
    return Input(
        name="strip thickness",
        source=strip_source(thickness_m, tolerance.grade),
        amount=format_quantity(limit_m, "m", show="mm", digits=4),
        moves=(Move(address="stock.thickness", value=thickness_m, limit=limit_m, is_length=True),),
        distribution=tolerance.distribution,
        batch_share=tolerance.batch_share,
    )


def _material(design: Design, number: int, tolerance: MaterialSpread) -> Input:
    """A constant and its spread; what the maker entered was measured and spreads no more."""
    address = find_number(design, f"material.{tolerance.constant}")
    if address.value is not None:
        what, entered = f"spread.tolerances[{number}].constant", address.shown(address.value)
        raise DesignError(
            [
                Problem(
                    what=what,
                    expected="a constant that comes from the table of materials",
                    got=f"{address.text} = {entered}, entered in the design",
                    hint='Give its tolerance by hand, with kind = "amount".',
                )
            ]
        )
    field, _ = section_keys(MaterialChoice)[tolerance.constant]
    constant: Sourced = getattr(material_named(design.material.name), field.name)
    return Input(
        name=tolerance.constant.replace("youngs_", "").replace("_", " "),
        source=f"table of materials: {constant.source}",
        amount=f"{100 * constant.spread:g} %",
        moves=(
            Move(
                address=address.text,
                value=constant.value,
                limit=constant.spread * constant.value,
                is_length=False,
            ),
        ),
        distribution=tolerance.distribution,
        batch_share=tolerance.batch_share,
    )


def _amount(design: Design, number: int, tolerance: Amount) -> Input:
    entry = f"spread.tolerances[{number}]"
    signed = [
        (f"{entry}.{key}[{place}]", path, sign)
        for key, paths, sign in (("paths", tolerance.paths, 1), ("opposed", tolerance.opposed, -1))
        for place, path in enumerate(paths, 1)
    ]
    return Input(
        name=tolerance.name,
        source=tolerance.source,
        amount=tolerance.plus_minus,
        moves=tuple(
            _move(
                design, find_number(design, path, key=key), sign, f"{entry}.plus_minus", tolerance
            )
            for key, path, sign in signed
        ),
        distribution=tolerance.distribution,
        batch_share=tolerance.batch_share,
    )


def _move(design: Design, address: Address, sign: int, key: str, tolerance: Amount) -> Move:
    value = _given(design, address)
    text = tolerance.plus_minus
    try:
        is_share = text.rstrip().endswith("%") and address.spec.unit != "1"
        limit = (
            parse_quantity(text, "1") * value
            if is_share
            else parse_quantity(text, address.spec.unit)
        )
    except UnitError as error:
        raise _fault(key, f"{error.expected}, or a share in %", text) from error
    if not limit > 0:
        raise _fault(key, "an amount above 0", text)
    is_length = address.spec.unit == "m"
    return Move(address=address.text, value=value, limit=sign * limit, is_length=is_length)


def trim_move(design: Design, path: str) -> Move:
    """The number that is trimmed, its step a thousandth of its value."""
    address = find_number(design, path, key="spread.trim")
    value = _given(design, address)
    if value == 0:
        raise _fault("spread.trim", "a number other than 0, to take shares of", f"{path} = 0")
    is_length = address.spec.unit == "m"
    return Move(address=path, value=value, limit=1e-3 * value, is_length=is_length)


def _given(design: Design, address: Address) -> float:
    value = number_value(design, address)
    if value is None:
        raise _fault(address.text, "a number that the design gives", "nothing")
    return value


def _fault(what: str, expected: str, got: str) -> DesignError:
    return DesignError([Problem(what=what, expected=expected, got=f'"{got}"')])
