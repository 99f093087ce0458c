"""How a parameter describes itself, so that one reader serves every section of the design file.

A section of the design file is a frozen dataclass whose fields are made with the functions of this
module. Each field carries its unit, limits and a sentence of explanation; the reader, the printed
design and the starter file are all derived from them. A field named ``length_m`` is written
``length`` in the file, because there the value carries its unit.

The dataclass of a section may define ``problems(self) -> Iterable[Fault]`` for checks that involve
several of its fields.
"""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal, Protocol, runtime_checkable

from modewright.units import field_suffix

if TYPE_CHECKING:
    from collections.abc import Iterable

__all__ = [
    "Fault",
    "FieldSpec",
    "SelfChecking",
    "choice",
    "count",
    "flag",
    "mode",
    "modes",
    "point",
    "points",
    "quantities",
    "quantity",
    "section",
    "sections",
    "spec_of",
    "text",
    "texts",
]

Kind = Literal[
    "quantity",
    "quantities",
    "count",
    "flag",
    "text",
    "texts",
    "choice",
    "mode",
    "modes",
    "point",
    "points",
    "section",
    "sections",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class Fault:
    """A fault of a section that only the section can see; the reader adds file and line.

    Parameters
    ----------
    key : str
        Key of the field as written in the file, without the section.
    expected, got, hint : str
        As in `modewright.errors.Problem`.
    """

    key: str
    expected: str
    got: str
    hint: str = ""


@runtime_checkable
class SelfChecking(Protocol):
    """A section that checks its fields against each other."""

    def problems(self) -> Iterable[Fault]:
        """Return every fault, none if the section is sound."""
        ...


@dataclass(frozen=True, slots=True, kw_only=True)
class FieldSpec:
    """What the reader needs to know about one field.

    Parameters
    ----------
    kind : str
        Shape of the value in the file.
    doc : str
        One sentence for the printed design and the starter.
    unit : str
        SI unit of the value; empty where there is none.
    show : str
        Unit used when the value is printed.
    above, at_least, below, at_most : float or None
        Hard limits; outside is an error. [unit]
    plausible : tuple of two floats or None
        Range outside which the reader suspects a slip of units. [unit]
    choices : tuple of str
        Allowed words, for ``choice``.
    length : int or None
        Exact number of entries, for ``quantities``.
    members : tuple of types
        For ``section``/``sections``: the dataclasses that can stand here. Several members are told
        apart by the key ``kind``, matched with each class's ``kind`` class variable.
    """

    kind: Kind
    doc: str
    unit: str = ""
    show: str = ""
    above: float | None = None
    at_least: float | None = None
    below: float | None = None
    at_most: float | None = None
    plausible: tuple[float, float] | None = None
    choices: tuple[str, ...] = ()
    length: int | None = None
    members: tuple[type, ...] = ()

    def key(self, field_name: str) -> str:
        """Key in the design file of the field called `field_name`."""
        if self.kind in ("quantity", "quantities", "point", "points") and self.unit:
            return field_name.removesuffix(field_suffix(self.unit))
        return field_name


def spec_of(field: dataclasses.Field[Any]) -> FieldSpec | None:
    """Description of a dataclass field, or None if it is not a parameter."""
    return field.metadata.get("spec")


def _field(spec: FieldSpec, default: Any) -> Any:
    if default is dataclasses.MISSING:
        return dataclasses.field(metadata={"spec": spec})
    return dataclasses.field(default=default, metadata={"spec": spec})


# No sheet is larger; squares of coordinates beyond would leave the range of numbers.
_FAR_M = 100.0
_REQUIRED: Any = dataclasses.MISSING


def quantity(
    unit: str,
    doc: str,
    *,
    default: float | None = _REQUIRED,
    show: str = "",
    above: float | None = None,
    at_least: float | None = None,
    below: float | None = None,
    at_most: float | None = None,
    plausible: tuple[float, float] | None = None,
) -> Any:
    """Field holding one quantity, written as a string with its unit. `None` means "not given"."""
    return _field(
        FieldSpec(
            kind="quantity",
            doc=doc,
            unit=unit,
            show=show or unit,
            above=above,
            at_least=at_least,
            below=below,
            at_most=at_most,
            plausible=plausible,
        ),
        default,
    )


def quantities(
    unit: str,
    doc: str,
    *,
    default: tuple[float, ...] = _REQUIRED,
    show: str = "",
    above: float | None = None,
    at_least: float | None = None,
    below: float | None = None,
    plausible: tuple[float, float] | None = None,
    length: int | None = None,
) -> Any:
    """Field holding a list of quantities; each entry obeys the limits."""
    return _field(
        FieldSpec(
            kind="quantities",
            doc=doc,
            unit=unit,
            show=show or unit,
            above=above,
            at_least=at_least,
            below=below,
            plausible=plausible,
            length=length,
        ),
        default,
    )


def count(
    doc: str, *, default: int | None = _REQUIRED, at_least: int = 0, at_most: int | None = None
) -> Any:
    """Field holding a whole number."""
    return _field(FieldSpec(kind="count", doc=doc, at_least=at_least, at_most=at_most), default)


def flag(doc: str, *, default: bool = _REQUIRED) -> Any:
    """Field holding true or false."""
    return _field(FieldSpec(kind="flag", doc=doc), default)


def mode(doc: str, *, default: int | str = _REQUIRED, at_least: int = 1) -> Any:
    """Field holding a mode: its number, 1 being the lowest, or its label, such as ``torsion 1``."""
    return _field(FieldSpec(kind="mode", doc=doc, at_least=at_least), default)


def modes(doc: str, *, default: tuple[int | str, ...] = _REQUIRED) -> Any:
    """Field holding a list of modes, each its number or its label."""
    return _field(FieldSpec(kind="modes", doc=doc, at_least=1), default)


def text(doc: str, *, default: str = _REQUIRED) -> Any:
    """Field holding free text."""
    return _field(FieldSpec(kind="text", doc=doc), default)


def texts(doc: str, *, default: tuple[str, ...] = _REQUIRED) -> Any:
    """Field holding a list of free texts."""
    return _field(FieldSpec(kind="texts", doc=doc), default)


def choice(doc: str, choices: tuple[str, ...], *, default: str = _REQUIRED) -> Any:
    """Field holding one of a few words."""
    return _field(FieldSpec(kind="choice", doc=doc, choices=choices), default)


def point(doc: str, *, default: tuple[float, float] | None = _REQUIRED) -> Any:
    """Field holding a place on the sheet, ``["12 mm", "3 mm"]`` in the file. [m]

    Name the field with the suffix ``_m``.
    """
    return _field(
        FieldSpec(kind="point", doc=doc, unit="m", show="mm", at_least=-_FAR_M, at_most=_FAR_M),
        default,
    )


def points(doc: str, *, default: tuple[tuple[float, float], ...] = _REQUIRED) -> Any:
    """Field holding a list of places, such as the corners of a polygon. [m]"""
    return _field(
        FieldSpec(kind="points", doc=doc, unit="m", show="mm", at_least=-_FAR_M, at_most=_FAR_M),
        default,
    )


def section(doc: str, *members: type, default: Any = _REQUIRED) -> Any:
    """Field holding a table; several `members` are told apart by their ``kind``."""
    return _field(FieldSpec(kind="section", doc=doc, members=members), default)


def sections(doc: str, *members: type, default: tuple[Any, ...] = _REQUIRED) -> Any:
    """Field holding a list of tables (``[[...]]``), each one of `members`."""
    return _field(FieldSpec(kind="sections", doc=doc, members=members), default)
