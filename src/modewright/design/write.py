"""A design as data to print: every key with its value, unit, default mark and explanation."""

from __future__ import annotations

import dataclasses
import json
import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from modewright.design.read import is_required, kind_of, section_keys
from modewright.design.suggest import listed
from modewright.units import format_quantity, parse_quantity

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator

    from modewright.design.lines import Path
    from modewright.parameters import FieldSpec

__all__ = ["ShownEntry", "ShownSection", "shown_sections", "value_text"]

_BARE_KEY = re.compile(r"^[A-Za-z0-9_-]+$")
_SHORT_DIGITS, _EXACT_DIGITS = 12, 17


@dataclass(frozen=True, slots=True, kw_only=True)
class ShownEntry:
    """One key of a section.

    Parameters
    ----------
    key : str
        As written in the file.
    value_text : str
        As written in the file, quotes included; empty if there is no value.
    unit : str
        Unit in which it is shown; empty where there is none.
    is_default : bool
        Whether the value was filled in.
    doc : str
        One sentence of explanation.
    """

    key: str
    value_text: str
    unit: str
    is_default: bool
    doc: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ShownSection:
    """One table of a design file.

    Parameters
    ----------
    heading : str
        With its brackets, such as ``[[loop.modes]]``.
    doc : str
        One sentence of explanation.
    is_default : bool
        Whether the whole section was filled in.
    entries : tuple of ShownEntry
        In the order of the section.
    """

    heading: str
    doc: str
    is_default: bool
    entries: tuple[ShownEntry, ...]


def shown_sections(design: object, written: Collection[Path] | None = None) -> list[ShownSection]:
    """List all sections of a design in the order in which TOML wants them.

    Parameters
    ----------
    design : dataclass of sections
        Complete, with defaults filled in.
    written : collection of paths or None
        What stood in the file; everything else is marked as default. None marks the values that
        equal their default.

    Returns
    -------
    list of ShownSection
    """
    return list(_tables(design, (), "", written))


def _tables(
    section: object,
    path: Path,
    name: str,
    written: Collection[Path] | None,
) -> Iterator[ShownSection]:
    for key, (field, spec) in section_keys(type(section)).items():
        value: Any = getattr(section, field.name)
        inner_name = f"{name}.{key}" if name else key
        is_default = _is_default((*path, key), field, value, written)
        if spec.kind == "section" and value is not None:
            heading = f"[{inner_name}]"
            yield _shown(value, heading, spec, (*path, key), is_default, written)
            yield from _tables(value, (*path, key), inner_name, written)
        elif spec.kind == "sections":
            for number, entry in enumerate(_entries(section, field.name)):
                place = (*path, key, number)
                yield _shown(entry, f"[[{inner_name}]]", spec, place, is_default, written)
                yield from _tables(entry, place, inner_name, written)


def _entries(section: object, field_name: str) -> tuple[object, ...]:
    return getattr(section, field_name)


def _shown(
    section: object,
    heading: str,
    table: FieldSpec,
    path: Path,
    is_default: bool,
    written: Collection[Path] | None,
) -> ShownSection:
    entries: list[ShownEntry] = []
    kind = kind_of(type(section))
    if kind:
        kinds = [kind_of(member) for member in table.members]
        doc_of_kind = f"One of {listed(kinds)}." if len(kinds) > 1 else "The only kind there is."
        entries.append(
            ShownEntry(
                key="kind", value_text=_quoted(kind), unit="", is_default=False, doc=doc_of_kind
            )
        )
    for key, (field, spec) in section_keys(type(section)).items():
        value = getattr(section, field.name)
        if spec.kind == "section" or (spec.kind == "sections" and _has_own_tables(value, field)):
            continue
        entries.append(
            ShownEntry(
                key=key,
                value_text=value_text(value, spec),
                unit=spec.show,
                is_default=_is_default((*path, key), field, value, written),
                doc=spec.doc,
            )
        )
    return ShownSection(
        heading=heading, doc=table.doc, is_default=is_default, entries=tuple(entries)
    )


def _has_own_tables(value: tuple[object, ...], field: dataclasses.Field[Any]) -> bool:
    return bool(value) or field.default == ()


def _is_default(
    path: Path,
    field: dataclasses.Field[Any],
    value: object,
    written: Collection[Path] | None,
) -> bool:
    if written is None:
        return not is_required(field) and value == field.default
    return path not in written


def value_text(value: Any, spec: FieldSpec) -> str:  # noqa: ANN401 (any field)
    """Write a value as the design file does; empty for None.

    Parameters
    ----------
    value : object
        As the section holds it.
    spec : FieldSpec
        Its description.

    Returns
    -------
    str
        TOML that reads back to the same value.
    """
    if value is None:
        return ""
    match spec.kind:
        case "quantity":
            return _quantity_text(value, spec)
        case "quantities" | "point":
            return _list_text(_quantity_text(entry, spec) for entry in value)
        case "points":
            places = (_list_text(_quantity_text(entry, spec) for entry in place) for place in value)
            return _list_text(places)
        case "texts" | "modes":
            return _list_text(_word_text(entry) for entry in value)
        case "flag":
            return "true" if value else "false"
        case "count" | "mode":
            return _word_text(value)
        case "sections":
            return "[]"
        case _:
            return _quoted(value)


def _word_text(word: int | str) -> str:
    return str(word) if isinstance(word, int) else _quoted(word)


def _list_text(entries: Iterator[str]) -> str:
    return f"[{', '.join(entries)}]"


def _quoted(text: str) -> str:
    # JSON escapes are a subset of those of TOML. What does not print could drive a terminal.
    escaped = json.dumps(text, ensure_ascii=False)
    return "".join(c if c.isprintable() else f"\\U{ord(c):08X}" for c in escaped)


def _quantity_text(value: float, spec: FieldSpec) -> str:
    tries = [(spec.show, _SHORT_DIGITS), (spec.show, _EXACT_DIGITS), (spec.unit, _EXACT_DIGITS)]
    text = ""
    for show, digits in tries:
        text = format_quantity(value, spec.unit, show=show, digits=digits)
        if parse_quantity(text, spec.unit) == value:
            break
    return text if spec.unit == spec.show == "1" else _quoted(text)
