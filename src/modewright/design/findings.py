"""Where the reader is in the file, and what it has found so far."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from modewright.design.lines import Path, path_text
from modewright.design.source import Source
from modewright.errors import Problem

if TYPE_CHECKING:
    from modewright.design.toml_types import Toml

__all__ = ["Findings", "Place", "shown_value"]

_MAX_SHOWN = 60
_MAX_MESSAGE = 300
_MAX_BITS = 64


@dataclass(slots=True)
class Findings:
    """Problems that forbid the use of a design, and doubts that do not."""

    problems: list[Problem] = field(default_factory=list[Problem])
    warnings: list[Problem] = field(default_factory=list[Problem])


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """A path in the file being read.

    Parameters
    ----------
    source : Source
        The file.
    path : tuple
        Keys and list positions from the root.
    findings : Findings
        Collects what is wrong here.
    """

    source: Source
    path: Path
    findings: Findings

    def inner(self, *parts: str | int) -> Place:
        """Place further inside."""
        return dataclasses.replace(self, path=(*self.path, *parts))

    @property
    def is_unreadable(self) -> bool:
        """Whether the notation of this value was damaged, which has been reported already."""
        return self.source.lines.of(self.path) in self.source.unreadable

    def fault(self, expected: str, got: str, hint: str = "") -> None:
        """Note a problem here."""
        self.findings.problems.append(self._problem(expected, got, hint))

    def doubt(self, expected: str, got: str, hint: str = "") -> None:
        """Note a warning here."""
        self.findings.warnings.append(self._problem(expected, got, hint))

    def _problem(self, expected: str, got: str, hint: str) -> Problem:
        return Problem(
            file=self.source.file,
            line=self.source.lines.of(self.path),
            what=shortened(path_text(self.path), _MAX_MESSAGE) or self.source.what,
            expected=expected,
            got=shortened(got, _MAX_MESSAGE),
            hint=shortened(hint, _MAX_MESSAGE),
        )


def shown_value(value: Toml) -> str:
    """Describe a TOML value in a message, briefly whatever its size.

    Examples
    --------
    >>> shown_value("1 mm"), shown_value(3), shown_value([1, 2]), shown_value(True)
    ('"1 mm"', '3', 'a list of 2', 'true')
    """
    match value:
        case bool():
            return "true" if value else "false"
        case int() if value.bit_length() > _MAX_BITS:
            return "a very large whole number"
        case str():
            return f'"{shortened(value, _MAX_SHOWN)}"'
        case list():
            return f"a list of {len(value)}"
        case dict():
            return "a table"
        case _:
            return shortened(str(value), _MAX_SHOWN)


def shortened(text: str, limit: int) -> str:
    """Text that is safe and short enough to print in a message."""
    cut = text if len(text) <= limit else f"{text[:limit]}…"
    return "".join(c if c.isprintable() else "\N{REPLACEMENT CHARACTER}" for c in cut)
