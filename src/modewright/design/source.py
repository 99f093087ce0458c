"""From the bytes of a design file to TOML values with line numbers, whatever the bytes."""

from __future__ import annotations

import pathlib
import re
import tomllib
from dataclasses import dataclass
from typing import TYPE_CHECKING

from modewright.design.lines import LineMap, map_lines
from modewright.errors import DesignError, Problem

if TYPE_CHECKING:
    from modewright.design.toml_types import Toml, TomlTable

__all__ = [
    "MAX_DRAWING_BYTES",
    "Source",
    "parse_source",
    "path_fault",
    "read_bytes",
    "shown_reason",
]

HERE = pathlib.Path()
MAX_BYTES = 1_000_000
MAX_DRAWING_BYTES = 100_000_000
MAX_DEPTH = 16
MAX_LINE = 10_000
_MAX_REPAIRS = 50

# The TOML reader takes a time that grows with the square of the parts of a key.
_LONG_KEY = re.compile(r"""(?<![\w"'-])(?:[\w"'-]+[ \t]*\.[ \t]*){32}""")
_PLACE = re.compile(r" \(at (?:line (\d+), column (\d+)|end of document)\)$")
_PLAIN_VALUE = re.compile(r"""^\s*([A-Za-z0-9_-]+)\s*=\s*([^\s\[{"'#][^#]*?|)\s*(?:#.*)?$""")
_TEXT_CUT = re.compile(r"""Illegal character '\\n'|Unterminated string|Expected "'\"""")
_OPEN_TEXT = re.compile(
    r"""^[^#"']*(?:"(?:[^"\\]|\\.)*"[^#"']*|'[^']*'[^#"']*)*(["'])(?:(?!\1).)*$"""
)
_NUMBER_WITH_UNIT = re.compile(r"^[+-]?\d[\d.,]*(?:[eE][+-]?\d+)?\s*[A-Za-z%µμ°Ω/*. ^0-9-]+$")


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """The values of a design file and where they stand.

    Parameters
    ----------
    file : str
        Path as the user gave it; empty if the text came from no file.
    folder : path
        Folder from which file names in the design are counted.
    what : str
        What the file is called in messages: a design, or a score.
    values : dict
        Tables and values as TOML defines them.
    lines : LineMap
        Line of every key.
    problems : tuple of Problem
        Faults of the notation that could be stepped over.
    unreadable : frozenset of int
        Lines whose value could not be read and stands here as 0.
    """

    file: str
    folder: pathlib.Path
    values: TomlTable
    lines: LineMap
    what: str = "design"
    problems: tuple[Problem, ...] = ()
    unreadable: frozenset[int] = frozenset()


def read_bytes(path: pathlib.Path, max_bytes: int = MAX_BYTES) -> bytes:
    """Content of a file.

    Parameters
    ----------
    path : path
    max_bytes : int
        Largest size that is read.

    Raises
    ------
    DesignError
        If it is missing, no plain file, too large or may not be read.
    """
    fault = path_fault(path, max_bytes)
    if fault is not None:
        raise DesignError([fault])
    try:
        return path.read_bytes()
    except OSError as error:
        got = error.strerror or "an error of the file system"
        raise DesignError([_file_problem(str(path), "a file that can be read", got)]) from error


def path_fault(path: pathlib.Path, max_bytes: int = MAX_BYTES) -> Problem | None:
    """Say why a file cannot be read, or return None if it looks as if it can.

    Parameters
    ----------
    path : path
    max_bytes : int
        Largest size that will be read.
    """
    name = str(path)
    try:
        if not path.exists():
            return _file_problem(name, "a file", "nothing of this name", "Check the spelling.")
        if not path.is_file():
            return _file_problem(name, "a file", "a folder" if path.is_dir() else "no plain file")
        size = path.stat().st_size
    except (OSError, ValueError) as error:
        return _file_problem(name, "the path of a file", shown_reason(error))
    if size > max_bytes:
        return _file_problem(name, f"at most {max_bytes} bytes", f"{size} bytes")
    return None


def shown_reason(error: Exception) -> str:
    """Reason of the operating system in its own words, without the path that it repeats."""
    return str(getattr(error, "strerror", "") or error).lower()


def _file_problem(file: str, expected: str, got: str, hint: str = "") -> Problem:
    return Problem(file=file, what="file", expected=expected, got=got, hint=hint)


def parse_source(
    content: bytes, file: str = "", folder: pathlib.Path = HERE, *, what: str = "design"
) -> Source:
    """Read TOML, keeping every line number and stepping over values that cannot be read.

    Parameters
    ----------
    content : bytes
        Whole file.
    file : str
        Its path, for the messages.
    folder : path
        Folder from which file names in the design are counted.
    what : str
        What the file is called in messages: a design, or a score.

    Returns
    -------
    Source

    Raises
    ------
    DesignError
        If the notation is damaged so that the rest cannot be understood.
    """
    text = _decoded(content, file, what)
    problems: list[Problem] = []
    unreadable: set[int] = set()
    while True:
        try:
            values = tomllib.loads(text)
        except RecursionError as error:
            raise DesignError([*problems, _too_deep(file)]) from error
        except ValueError as error:
            line, problem = _syntax_problem(error, text, file)
            problems.append(problem)
            repaired = _stepped_over(text, line, str(error))
            if repaired is None or len(problems) >= _MAX_REPAIRS:
                raise DesignError(problems) from error
            text = repaired
            unreadable.add(line)
        else:
            break
    if _depth_exceeds(values, MAX_DEPTH):
        raise DesignError([*problems, _too_deep(file)])
    return Source(
        file=file,
        folder=folder,
        what=what,
        values=values,
        lines=map_lines(text),
        problems=tuple(problems),
        unreadable=frozenset(unreadable),
    )


def _decoded(content: bytes, file: str, what: str) -> str:
    expected = f"a {what} written as text (TOML, UTF-8)"
    if len(content) > MAX_BYTES:
        raise DesignError(
            [_file_problem(file, f"at most {MAX_BYTES} bytes", f"{len(content)} bytes")]
        )
    if not content.strip():
        hint = "Start one with: modewright new PATH" if what == "design" else ""
        raise DesignError([_file_problem(file, expected, "an empty file", hint)])
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        got = f"the byte 0x{content[error.start]:02x} at position {error.start}"
        raise DesignError([_encoding_fault(content, error.start, file, expected, got)]) from error
    if "\0" in text:
        got = "bytes of zero, as other encodings and programs' own formats have them"
        raise DesignError([_encoding_fault(content, content.index(0), file, expected, got)])
    if _LONG_KEY.search(text):
        raise DesignError([_too_deep(file)])
    text = text.replace("\r\n", "\n")
    for number, line in enumerate(text.split("\n"), start=1):
        if len(line) > MAX_LINE:
            expected = f"at most {MAX_LINE} characters in a line"
            fault = Problem(
                file=file, line=number, what="file", expected=expected, got=str(len(line))
            )
            raise DesignError([fault])
    return text


def _encoding_fault(content: bytes, position: int, file: str, expected: str, got: str) -> Problem:
    line = content.count(b"\n", 0, position) + 1
    hint = "Save the file as UTF-8 in your editor."
    return Problem(file=file, line=line, what="file", expected=expected, got=got, hint=hint)


def _syntax_problem(error: ValueError, text: str, file: str) -> tuple[int, Problem]:
    message = str(error)
    place = _PLACE.search(message)
    total = text.rstrip("\n").count("\n") + 1
    line = int(place.group(1)) if place and place.group(1) else total if place else 0
    column = f"column {place.group(2)}: " if place and place.group(2) else ""
    reason = _PLACE.sub("", message)
    written = text.split("\n")[line - 1] if line else ""
    expected, hint = _advice(reason, written)
    got = f"{column}{reason[:1].lower()}{reason[1:]}"
    return line, Problem(
        file=file, line=line, what="notation", expected=expected, got=got, hint=hint
    )


def _advice(reason: str, written: str) -> tuple[str, str]:
    if "overwrite" in reason or "twice" in reason:
        return "each key and table once", "Remove one of the two."
    quote = _unclosed_quote(reason, written)
    if quote:
        return "a closing quote in the same line", f"Add {quote} at the end of the text."
    found = _PLAIN_VALUE.match(written)
    if found is None:
        return "TOML notation", ""
    key, value = found.groups()
    if not value:
        return "a value after the equals sign", ""
    if _NUMBER_WITH_UNIT.match(value):
        return "a quantity in quotes", f'Write {key} = "{value.replace(",", ".")}".'
    if re.fullmatch(r"[A-Za-z][\w .-]*", value):
        return "text in quotes", f'Write {key} = "{value}".'
    return "TOML notation", ""


def _unclosed_quote(reason: str, written: str) -> str:
    """The quote that opens a text and has no partner in its line, or nothing."""
    opened = _OPEN_TEXT.match(written)
    if opened is None or re.search("\"{3}|'{3}", written) or not _TEXT_CUT.match(reason):
        return ""
    return opened.group(1)


def _stepped_over(text: str, line: int, reason: str) -> str | None:
    """Same text with the faulty line made harmless, or None if that could hide what follows."""
    rows = text.split("\n")
    if not 0 < line <= len(rows):
        return None
    found = _PLAIN_VALUE.match(rows[line - 1])
    if found is None:
        return None
    rows[line - 1] = "" if "overwrite" in reason else f"{found.group(1)} = 0"
    repaired = "\n".join(rows)
    return repaired if repaired != text else None


def _depth_exceeds(values: TomlTable, limit: int) -> bool:
    level: list[Toml] = [values]
    for _ in range(limit):
        level = [inner for outer in level for inner in _inner(outer)]
        if not level:
            return False
    return True


def _inner(value: Toml) -> list[Toml]:
    if isinstance(value, dict):
        return list(value.values())
    return value if isinstance(value, list) else []


def _too_deep(file: str) -> Problem:
    return _file_problem(
        file, f"tables and lists nested at most {MAX_DEPTH} deep", "deeper nesting"
    )
