"""Read tables of a design file into the section dataclasses that describe themselves.

One reader for every section: it knows nothing about resonators or pickups, only the descriptions
in `modewright.parameters`.
"""

from __future__ import annotations

import dataclasses
from functools import cache
from typing import TYPE_CHECKING, Any, TypeVar

from modewright.design.findings import Findings, Place, shown_value
from modewright.design.lines import path_of
from modewright.design.source import MAX_DRAWING_BYTES, Source, path_fault
from modewright.design.suggest import did_you_mean, listed, near_miss
from modewright.design.values import UNREADABLE, example, read_value
from modewright.errors import Problem
from modewright.parameters import FieldSpec, SelfChecking, spec_of

if TYPE_CHECKING:
    from modewright.design.toml_types import Toml, TomlTable

__all__ = ["is_required", "kind_of", "read_design", "section_keys"]

SectionT = TypeVar("SectionT")

MAX_LISTED = 100


def read_design(source: Source, root: type[SectionT]) -> tuple[SectionT | None, Findings]:
    """Read a whole file into its root dataclass.

    Parameters
    ----------
    source : Source
        Values and line numbers.
    root : type
        Dataclass whose fields are sections.

    Returns
    -------
    design : instance of `root` or None
        None if any problem was found.
    findings : Findings
        Every problem and every doubt.
    """
    findings = Findings(problems=list(source.problems))
    design = _read_table(source.values, root, Place(source=source, path=(), findings=findings))
    sorted_findings = Findings(
        problems=_first(findings.problems, source.file),
        warnings=_first(findings.warnings, source.file),
    )
    return (None if findings.problems else design), sorted_findings


def _first(problems: list[Problem], file: str) -> list[Problem]:
    """Sort by line and cut a list that nobody would read to its end."""
    ordered = sorted(problems, key=lambda problem: problem.line)
    if len(ordered) <= MAX_LISTED:
        return ordered
    rest = f"{len(ordered) - MAX_LISTED} more"
    more = Problem(file=file, what="file", expected="fewer problems", got=rest)
    return [*ordered[:MAX_LISTED], more]


@cache
def section_keys(member: type) -> dict[str, tuple[dataclasses.Field[Any], FieldSpec]]:
    """Keys of a section as written in the file, each with its field and description.

    Parameters
    ----------
    member : type
        Dataclass of the section.
    """
    found: dict[str, tuple[dataclasses.Field[Any], FieldSpec]] = {}
    for field in dataclasses.fields(member):
        spec = spec_of(field)
        if spec is not None:
            found[spec.key(field.name)] = (field, spec)
    return found


def _read_table(table: TomlTable, member: type[SectionT], at: Place) -> SectionT | None:
    keys = section_keys(member)
    tagged = bool(kind_of(member))
    _report_unknown(table, member, at)
    faults_so_far = len(at.findings.problems)
    values: dict[str, Any] = {}
    for key, (field, spec) in keys.items():
        place = at.inner(key)
        if key in table and not (tagged and key == "kind"):
            values[field.name] = _read_field(table[key], spec, place)
        elif is_required(field):
            place.fault(_required_text(spec), "nothing", f"{spec.doc.rstrip('.')}.")
            values[field.name] = UNREADABLE
    if UNREADABLE in values.values():
        return None
    section = member(**values)
    # A section may rely on the parts it checks against each other being sound.
    if isinstance(section, SelfChecking) and len(at.findings.problems) == faults_so_far:
        for fault in section.problems():
            at.inner(*path_of(fault.key)).fault(fault.expected, fault.got, fault.hint)
    return section


def _report_unknown(table: TomlTable, member: type, at: Place) -> None:
    known = {key: field.name for key, (field, _) in section_keys(member).items()}
    if kind_of(member):
        known["kind"] = "kind"
    # Keys that are taken already cannot be what a misspelt one was meant to be.
    free = [key for key in known if key not in table]
    for key in table:
        if key in known:
            continue
        internal = [name for name, field_name in known.items() if field_name == key]
        hint = f'Write "{internal[0]}".' if internal else did_you_mean(key, free)
        what = "section" if _is_table(table[key]) else "key"
        all_keys = f"one of {', '.join(known)}" if known else f"no {what} here"
        at.inner(key).fault(all_keys, f"the unknown {what} {shown_value(key)}", hint)


def _is_table(value: Toml) -> bool:
    entries = value if isinstance(value, list) else [value]
    return bool(entries) and isinstance(entries[0], dict)


def is_required(field: dataclasses.Field[Any]) -> bool:
    """Whether a field must be written because it has no default."""
    return field.default is dataclasses.MISSING and field.default_factory is dataclasses.MISSING


def _required_text(spec: FieldSpec) -> str:
    match spec.kind:
        case "quantity":
            return f"a quantity such as {example(spec)}"
        case "choice":
            return listed(spec.choices)
        case "section":
            return "this section"
        case "sections":
            return "at least one such section"
        case _:
            return "a value"


def _read_field(value: Toml, spec: FieldSpec, at: Place) -> object:
    if at.is_unreadable:
        return UNREADABLE
    if spec.kind == "section":
        return _read_section(value, spec, at)
    if spec.kind == "sections":
        return _read_sections(value, spec, at)
    read = read_value(value, spec, at)
    if at.path[-1] == "file" and isinstance(read, str) and read:
        fault = path_fault(at.source.folder / read, MAX_DRAWING_BYTES)
        if fault is not None:
            at.fault(fault.expected, f"{fault.got} at {fault.file}", fault.hint)
            return UNREADABLE
    return read


def _read_section(value: Toml, spec: FieldSpec, at: Place) -> object:
    if not isinstance(value, dict):
        hint = "Write one [ ] around its heading." if isinstance(value, list) else ""
        at.fault("a section of its own", shown_value(value), hint)
        return UNREADABLE
    member = _member(value, spec, at)
    if member is None:
        return UNREADABLE
    section: object = _read_table(value, member, at)
    return UNREADABLE if section is None else section


def kind_of(member: type) -> str:
    """Word that tells a section apart from others that can stand in its place; may be empty."""
    return getattr(member, "kind", "")


def _member(table: TomlTable, spec: FieldSpec, at: Place) -> type[object] | None:
    """Dataclass that fits the ``kind`` of a table, or that probably was meant."""
    by_kind = {kind: member for member in spec.members if (kind := kind_of(member))}
    if len(spec.members) == 1 and "kind" not in table:
        return spec.members[0]
    place = at.inner("kind")
    if not by_kind:
        return spec.members[0]
    if "kind" not in table:
        meant = _kind_from_keys(table, by_kind)
        hint = f'Add kind = "{meant}".' if meant else ""
        place.fault(f"kind = {listed(by_kind)}", "nothing", hint)
        return by_kind.get(meant)
    if place.is_unreadable:
        return None
    kind = table["kind"]
    if isinstance(kind, str) and kind in by_kind:
        return by_kind[kind]
    meant = near_miss(kind, by_kind) if isinstance(kind, str) else ""
    hint = f'Did you mean "{meant}"?' if meant else ""
    place.fault(listed(by_kind), shown_value(kind), hint)
    # Going on as if it were right finds the other faults of the section as well.
    return by_kind.get(meant)


def _kind_from_keys(table: TomlTable, by_kind: dict[str, type]) -> str:
    fitting = [kind for kind, member in by_kind.items() if set(table) <= set(section_keys(member))]
    return fitting[0] if len(fitting) == 1 else ""


def _read_sections(value: Toml, spec: FieldSpec, at: Place) -> object:
    if not isinstance(value, list):
        hint = "Write [[ ]] around its heading." if isinstance(value, dict) else ""
        at.fault("a list of sections", shown_value(value), hint)
        return UNREADABLE
    sections = tuple(
        _read_section(entry, spec, at.inner(number)) for number, entry in enumerate(value)
    )
    names = [_name(entry, part) for entry, part in zip(value, sections, strict=True)]
    for number, name in enumerate(names):
        if name and name in names[:number]:
            at.inner(number, "name").fault(
                "a name of its own", f"{shown_value(name)} again", "Give it another name."
            )
    return UNREADABLE if UNREADABLE in sections else sections


def _name(entry: Toml, part: object) -> str:
    """Name of an entry of a list of sections, empty if it has none."""
    written = entry.get("name") if isinstance(entry, dict) else None
    name = getattr(part, "name", written)
    return name if isinstance(name, str) else ""
