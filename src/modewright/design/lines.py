"""Where each key of a design file stands, so that every problem can name its line.

The standard TOML reader gives values without places. This scanner walks a text that the reader has
already accepted and notes the line of every table and key; it need not judge anything.
"""

from __future__ import annotations

import re
import tomllib
from bisect import bisect_right
from collections import Counter
from dataclasses import dataclass

__all__ = ["LineMap", "Path", "map_lines", "path_of", "path_text"]

Path = tuple[str | int, ...]
"""Keys and list positions (from 0) from the root of the file to a value."""

_SKIPPED = re.compile(r"(?:[ \t\n]+|#[^\n]*)*")
_STRING = re.compile(
    r'"""(?:\\.|[^\\])*?"{3,5}' + r"|'''.*?'{3,5}" + r'|"(?:\\.|[^"\\])*"' + r"|'[^']*'",
    re.DOTALL,
)
_BARE_KEY = re.compile(r"[A-Za-z0-9_-]+")
_DOT = re.compile(r"[ \t]*\.[ \t]*")
_SCALAR = re.compile(r"[^,\]}\n#]+")
_POSITION = re.compile(r"\[(\d+)\]")


@dataclass(frozen=True, slots=True, kw_only=True)
class LineMap:
    """Line numbers, from 1, of the tables and keys of one file.

    Parameters
    ----------
    lines : dict from path to int
        Every path that is written in the file.
    """

    lines: dict[Path, int]

    def of(self, path: Path) -> int:
        """Line of a path, or of the nearest enclosing one that is written; 0 if there is none."""
        for length in range(len(path), 0, -1):
            line = self.lines.get(path[:length])
            if line is not None:
                return line
        return 0


def path_text(path: Path) -> str:
    """Write a path the way the messages do, counting list entries from 1.

    Examples
    --------
    >>> path_text(("resonator", "arms", 1, "width"))
    'resonator.arms[2].width'
    """
    text = ""
    for part in path:
        if isinstance(part, int):
            text += f"[{part + 1}]"
        else:
            text += f".{part}" if text else part
    return text


def path_of(text: str) -> Path:
    """Path that a message writes as ``pickups[2].name``, counting list entries from 1.

    Examples
    --------
    >>> path_of("resonator.arms[2].width")
    ('resonator', 'arms', 1, 'width')
    """
    parts: list[str | int] = []
    for word in text.split("."):
        parts.append(word.split("[")[0])
        parts.extend(int(number) - 1 for number in _POSITION.findall(word))
    return tuple(parts)


def map_lines(text: str) -> LineMap:
    r"""Note the line of every table and key.

    Parameters
    ----------
    text : str
        A file that the TOML reader accepts, with ``\n`` line ends, not deeply nested.

    Returns
    -------
    LineMap

    Examples
    --------
    >>> map_lines('[stock]\nthickness = "1 mm"').of(("stock", "thickness"))
    2
    """
    scanner = _Scanner(text)
    scanner.document()
    return LineMap(lines=scanner.lines)


class _Scanner:
    """Position in the text, and what was found so far."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.at = 0
        self.lines: dict[Path, int] = {}
        self.entries: Counter[Path] = Counter()
        self.line_starts = [0, *(found.end() for found in re.finditer("\n", text))]

    def document(self) -> None:
        table: Path = ()
        self._skip()
        while self.at < len(self.text):
            if self.text[self.at] == "[":
                table = self._header()
            else:
                self._key_value(table)
            self._skip()

    def _skip(self) -> None:
        found = _SKIPPED.match(self.text, self.at)
        if found is not None:
            self.at = found.end()

    def _note(self, path: Path, at: int) -> None:
        self.lines.setdefault(path, bisect_right(self.line_starts, at))

    def _header(self) -> Path:
        start = self.at
        is_entry = self.text.startswith("[[", self.at)
        self.at += 2 if is_entry else 1
        keys = self._keys()
        self.at = self.text.index("]", self.at) + (2 if is_entry else 1)
        path = self._resolve(keys[:-1], start)
        path = (*path, keys[-1])
        if is_entry:
            self._note(path, start)
            self.entries[path] += 1
        path = self._last_entry(path)
        self._note(path, start)
        return path

    def _resolve(self, keys: list[str], at: int) -> Path:
        path: Path = ()
        for key in keys:
            path = self._last_entry((*path, key))
            self._note(path, at)
        return path

    def _last_entry(self, path: Path) -> Path:
        count = self.entries.get(path)
        return (*path, count - 1) if count else path

    def _keys(self) -> list[str]:
        keys: list[str] = []
        while True:
            self._skip()
            found = _STRING.match(self.text, self.at) or _BARE_KEY.match(self.text, self.at)
            if found is None:
                raise ValueError(f"no key at offset {self.at}: the text is not valid TOML")
            self.at = found.end()
            word = found.group()
            keys.append(tomllib.loads(f"k={word}")["k"] if word[0] in "\"'" else word)
            dot = _DOT.match(self.text, self.at)
            if dot is None:
                return keys
            self.at = dot.end()

    def _key_value(self, table: Path) -> None:
        start = self.at
        path = table
        for key in self._keys():
            path = (*path, key)
            self._note(path, start)
        self.at = self.text.index("=", self.at) + 1
        self._skip()
        self._value(path)

    def _value(self, path: Path) -> None:
        first = self.text[self.at]
        if first == "[":
            self._list(path)
        elif first == "{":
            self._inline_table(path)
        else:
            found = _STRING.match(self.text, self.at) or _SCALAR.match(self.text, self.at)
            if found is None:
                raise ValueError(f"no value at offset {self.at}: the text is not valid TOML")
            self.at = found.end()

    def _list(self, path: Path) -> None:
        self.at += 1
        position = 0
        while not self._closes("]"):
            entry = (*path, position)
            self._note(entry, self.at)
            self._value(entry)
            position += 1

    def _inline_table(self, path: Path) -> None:
        self.at += 1
        while not self._closes("}"):
            self._key_value(path)

    def _closes(self, bracket: str) -> bool:
        self._skip()
        if self.text[self.at] == ",":
            self.at += 1
            self._skip()
        if self.text[self.at] != bracket:
            return False
        self.at += 1
        return True
