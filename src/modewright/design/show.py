"""Write a design as a design file: complete and marked, bare to save, or explained to start."""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING

from modewright.design.write import ShownEntry, ShownSection, shown_sections

if TYPE_CHECKING:
    from collections.abc import Callable, Collection, Iterable

    from modewright.design.lines import Path

__all__ = ["complete_text", "saved_text", "starter_text"]

_MARK_COLUMN = 44
_WIDTH = 100
_ABOVE = "## "


def complete_text(design: object, written: Collection[Path]) -> str:
    """Every value of a design, those filled in marked ``# default``.

    Parameters
    ----------
    design : dataclass of sections
        As read.
    written : collection of paths
        What stood in the file.

    Returns
    -------
    str
        TOML that reads back to the same design.
    """
    return _text(shown_sections(design, written), _marked_heading, _marked)


def saved_text(design: object) -> str:
    """Design file of a design without comments; values equal to their defaults are left out.

    Parameters
    ----------
    design : dataclass of sections

    Returns
    -------
    str
    """
    sections = shown_sections(design)
    return _text((s for s in sections if not s.is_default), _bare_heading, _bare)


def starter_text(design: object) -> str:
    """Design file that explains every key; values equal to their defaults are commented out.

    Parameters
    ----------
    design : dataclass of sections

    Returns
    -------
    str
    """
    return _text(shown_sections(design), _explained_heading, _explained)


def _text(
    sections: Iterable[ShownSection],
    heading: Callable[[ShownSection], str],
    line: Callable[[ShownEntry], str],
) -> str:
    blocks = (
        "\n".join([heading(section), *filter(None, map(line, section.entries))])
        for section in sections
    )
    return "\n\n".join(blocks) + "\n"


def _marked_heading(section: ShownSection) -> str:
    return _beside(section.heading, "default") if section.is_default else section.heading


def _marked(entry: ShownEntry) -> str:
    if not entry.value_text:
        return _beside(f"# {entry.key}", "not given")
    text = f"{entry.key} = {entry.value_text}"
    return _beside(text, "default") if entry.is_default else text


def _beside(text: str, remark: str) -> str:
    return f"{text:<{_MARK_COLUMN}} # {remark}"


def _bare_heading(section: ShownSection) -> str:
    return section.heading


def _bare(entry: ShownEntry) -> str:
    is_needed = entry.value_text and not entry.is_default
    return f"{entry.key} = {entry.value_text}" if is_needed else ""


def _explained_heading(section: ShownSection) -> str:
    return f"# {_sentence(section.doc)}\n{section.heading}"


def _explained(entry: ShownEntry) -> str:
    doc = _sentence(entry.doc)
    if not entry.value_text:
        unit = f' "… {entry.unit}"' if entry.unit and entry.unit != "1" else ""
        return _with_doc(f"# {entry.key} ={unit}", doc)
    text = f"{entry.key} = {entry.value_text}"
    return _with_doc(f"# {text}" if entry.is_default else text, doc)


def _with_doc(text: str, doc: str) -> str:
    beside = _beside(text, doc)
    if len(beside) <= _WIDTH:
        return beside
    above = textwrap.wrap(doc, _WIDTH, initial_indent=_ABOVE, subsequent_indent=_ABOVE)
    return "\n".join([*above, text])


def _sentence(doc: str) -> str:
    return f"{doc[:1].upper()}{doc[1:].rstrip('.')}."
