"""One self-contained page: text, tables, pictures and sounds, nothing loaded from elsewhere."""

from __future__ import annotations

import base64
import re
from dataclasses import dataclass
from html import escape
from importlib import resources
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

__all__ = [
    "Chapter",
    "audio",
    "caution",
    "page",
    "paragraph",
    "picture",
    "table",
    "to_paste",
    "vector",
]

_STEP = re.compile(r"\.(?=[a-z])")
# A cell with more letters may be broken into lines.
_LONG_TEXT = 36
_STYLE = resources.files("modewright.report").joinpath("page.css").read_text("utf-8")


@dataclass(frozen=True, slots=True, kw_only=True)
class Chapter:
    """A heading with its already escaped content."""

    title: str
    blocks: tuple[str, ...]

    @property
    def anchor(self) -> str:
        """Name to link to."""
        return "".join(c if c.isalnum() else "-" for c in self.title.lower())


def page(title: str, lead: str, chapters: Sequence[Chapter], footer: str) -> str:
    """Whole page as text."""
    links = "".join(f'<a href="#{c.anchor}">{escape(c.title)}</a>' for c in chapters)
    body = "".join(
        f'<section><h2 id="{c.anchor}">{escape(c.title)}</h2>{"".join(c.blocks)}</section>'
        for c in chapters
    )
    return (
        '<!doctype html>\n<html lang="en"><head><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        f"<title>{escape(title)}</title><style>{_STYLE}</style></head><body><main>"
        f'<h1>{escape(title)}</h1><p class="lead">{escape(lead)}</p><nav>{links}</nav>'
        f'{body}<p class="small">{escape(footer)}</p></main></body></html>\n'
    )


def paragraph(text: str) -> str:
    """A paragraph."""
    return f"<p>{escape(text)}</p>"


def to_paste(text: str) -> str:
    """Lines to copy as they are."""
    return f"<pre>{escape(text)}</pre>"


def caution(sentences: Sequence[str]) -> str:
    """A box of cautions."""
    return f'<div class="caution">{"".join(paragraph(s) for s in sentences)}</div>'


def table(columns: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    """A table; columns of numbers stand on the right, those of long text are wrapped."""
    kinds = [_kind([row[i] for row in rows]) for i in range(len(columns))]
    head = "".join(f"<th{k}>{_heading(c)}</th>" for c, k in zip(columns, kinds, strict=True))
    lines = "".join(f"<tr>{_cells(row, kinds)}</tr>" for row in rows)
    return (
        f'<div class="wide"><table><thead><tr>{head}</tr></thead>'
        f"<tbody>{lines}</tbody></table></div>"
    )


def _heading(text: str) -> str:
    """Text that may be broken between the steps of an address."""
    return _STEP.sub(".<wbr>", escape(text))


def _kind(cells: Sequence[str]) -> str:
    if cells and all(_is_number(cell) for cell in cells):
        return ' class="n"'
    return ' class="t"' if max(map(len, cells), default=0) > _LONG_TEXT else ""


def _cells(row: Sequence[str], kinds: Sequence[str]) -> str:
    return "".join(f"<td{k}>{escape(v)}</td>" for v, k in zip(row, kinds, strict=True))


def _is_number(text: str) -> bool:
    return not text or text[0] in "+-−.0123456789∞"


def picture(content: bytes, kind: str, caption: str) -> str:
    """An image inside the page, with its caption as alternative text too."""
    data = base64.b64encode(content).decode("ascii")
    alt = escape(caption, quote=True)
    return (
        f'<figure><img src="data:image/{kind};base64,{data}" alt="{alt}">'
        f"<figcaption>{escape(caption)}</figcaption></figure>"
    )


def vector(svg: str, caption: str) -> str:
    """A drawing inside the page."""
    inner = svg[svg.index("<svg") :]
    return f"<figure>{inner}<figcaption>{escape(caption)}</figcaption></figure>"


def audio(content: bytes, caption: str) -> str:
    """A sound inside the page with controls; it never starts by itself."""
    data = base64.b64encode(content).decode("ascii")
    return (
        f"<figure><figcaption>{escape(caption)}</figcaption>"
        f'<audio controls preload="none" src="data:audio/wav;base64,{data}"></audio></figure>'
    )
