"""The reference pages of design and instrument files, from the descriptions the reader uses."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING, Any

from modewright.design.instrument_plan import InstrumentPlan
from modewright.design.read import is_required, kind_of, section_keys
from modewright.design.schema import Design
from modewright.design.suggest import range_text
from modewright.design.values import limit_text
from modewright.design.write import value_text

if TYPE_CHECKING:
    from collections.abc import Iterator

    from modewright.parameters import FieldSpec

__all__ = ["guide_text", "instrument_guide_text"]

_INTRODUCTION = """\
# The design file

One file in TOML describes one resonator with everything that drives it, listens to it and treats
its modes. `modewright new PATH` writes one to start from; `modewright check PATH` prints it with
all defaults filled in, or lists every problem with its line.

- Quantities are text with their unit: `"1.2 mm"`, `"440 Hz"`, `"20 degC"`, `"16.5 ppm/K"`. Any
  unit of the right kind will do. Ratios may also be bare numbers: `0.3` or `"30 %"`.
- A place on the sheet is a pair, `["12 mm", "3 mm"]`: x, then y.
- Entries of lists are counted from 1 in messages: `loop.modes[2].level` is the level of the second
  `[[loop.modes]]`.
- A value outside its limits is refused. A value outside the usual range is a warning, and refused
  if it is a hundred times outside, because then the unit is wrong.
- Where a section comes in several kinds, the key `kind` says which.

This page is written by `scripts/write_design_guide.py` from the descriptions in the code.
"""

_INSTRUMENT_INTRODUCTION = """\
# The instrument file

One file in TOML describes an instrument of many notes that are made from one design file: the
scale, what differs from note to note, and all that the notes share. `modewright instrument PLAN`
reads it; how it is meant to be used is told in [the set](the_set.md). Quantities, limits and usual
ranges are written as in [the design file](design_file.md).

This page is written by `scripts/write_design_guide.py` from the descriptions in the code.
"""

_HEAD = "| key | meaning | default | limits | usual range |\n| --- | --- | --- | --- | --- |"


def guide_text() -> str:
    """Markdown page with every section and key, its unit, default and limits."""
    return _INTRODUCTION + "".join(f"\n{block}\n" for block in _blocks(Design, ""))


def instrument_guide_text() -> str:
    """Markdown page of the instrument file, alike."""
    blocks = _blocks(InstrumentPlan, "")
    return _INSTRUMENT_INTRODUCTION + "".join(f"\n{block}\n" for block in blocks)


def _blocks(member: type, name: str) -> Iterator[str]:
    for key, (field, spec) in section_keys(member).items():
        if spec.kind not in ("section", "sections"):
            continue
        inner_name = f"{name}.{key}" if name else key
        heading = f"[[{inner_name}]]" if spec.kind == "sections" else f"[{inner_name}]"
        needed = "Required." if is_required(field) else "May be left out."
        level = "##" if not name else "###"
        yield f"{level} `{heading}`\n\n{_sentence(spec.doc)} {needed}"
        for inner in spec.members:
            yield from _member_blocks(inner, inner_name)


def _member_blocks(member: type, name: str) -> Iterator[str]:
    kind = kind_of(member)
    rows = [
        _row(key, field, spec)
        for key, (field, spec) in section_keys(member).items()
        if spec.kind not in ("section", "sections")
    ]
    parts: list[str] = []
    if kind:
        parts.append(f'**`kind = "{kind}"`** {_first_paragraph(member)}')
    if rows:
        parts.append("\n".join([_HEAD, *rows]))
    if parts:
        yield "\n\n".join(parts)
    yield from _blocks(member, name)


def _first_paragraph(member: type) -> str:
    return " ".join((member.__doc__ or "").strip().split("\n\n")[0].split())


def _row(key: str, field: dataclasses.Field[Any], spec: FieldSpec) -> str:
    cells = [f"`{key}`", _meaning(spec), _default(field, spec), _limits(spec), _usual(spec)]
    return f"| {' | '.join(cell.replace('|', '∣') for cell in cells)} |"


def _meaning(spec: FieldSpec) -> str:
    words = f" One of {', '.join(f'`{w}`' for w in spec.choices)}." if spec.choices else ""
    shape = {
        "quantities": f" A list, in {spec.show}." if spec.show != "1" else " A list.",
        "texts": " A list.",
        "quantity": f" In {spec.show}." if spec.show != "1" else "",
        "point": " A place.",
        "points": " A list of places.",
        "flag": " `true` or `false`.",
        "count": " A whole number.",
        "mode": " A whole number, or a label in quotes.",
        "modes": " A list of whole numbers and labels in quotes.",
    }.get(spec.kind, "")
    return f"{_sentence(spec.doc)}{shape}{words}"


def _default(field: dataclasses.Field[Any], spec: FieldSpec) -> str:
    if is_required(field):
        return "required"
    text = value_text(field.default, spec)
    return f"`{text}`" if text else "not given"


def _limits(spec: FieldSpec) -> str:
    limits = [("> ", spec.above), ("≥ ", spec.at_least), ("< ", spec.below), ("≤ ", spec.at_most)]
    return ", ".join(f"{sign}{limit_text(n, spec)}" for sign, n in limits if n is not None)


def _usual(spec: FieldSpec) -> str:
    return range_text(*spec.plausible, spec) if spec.plausible else ""


def _sentence(doc: str) -> str:
    return f"{doc[:1].upper()}{doc[1:].rstrip('.')}."
