"""Load a design file: every problem at once, or a complete design with its doubts."""

from __future__ import annotations

import pathlib
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, TypeVar

from modewright.design.hash import content_hash
from modewright.design.lines import path_of
from modewright.design.read import read_design
from modewright.design.schema import Design
from modewright.design.source import parse_source, read_bytes
from modewright.errors import DesignError, Problem, Remark

if TYPE_CHECKING:
    from modewright.design.lines import LineMap, Path

FoundT = TypeVar("FoundT", bound=Problem | Remark)

__all__ = ["LoadedDesign", "load_design", "located", "parse_design"]


@dataclass(frozen=True, slots=True, kw_only=True)
class LoadedDesign:
    """A design, where it came from and what is doubtful in it.

    Parameters
    ----------
    design : Design
        Complete, with defaults filled in.
    file : str
        Path as the user gave it.
    folder : path
        Folder from which file names in the design are counted.
    lines : LineMap
        Where each key stands in the file.
    warnings : tuple of Problem
        Implausible values that may be meant.
    design_hash : str
        Content hash, 64 hexadecimal digits.
    """

    design: Design
    file: str
    folder: pathlib.Path
    lines: LineMap
    warnings: tuple[Problem, ...]
    design_hash: str

    @property
    def written(self) -> frozenset[Path]:
        """Keys that stood in the file."""
        return frozenset(self.lines.lines)

    def located(self, found: FoundT) -> FoundT:
        """What was found later about a key of this design, with its file and line."""
        return located(found, self.file, self.lines)


def located(found: FoundT, file: str, lines: LineMap) -> FoundT:
    """What was found about a key of a file, with the file and its line.

    Parameters
    ----------
    found : Problem or Remark
        Its `key`, or else what it is about, is a key of the file.
    file : str
        Name to use in messages.
    lines : LineMap
        Of that file.

    Returns
    -------
    Problem or Remark
    """
    key = found.key if isinstance(found, Remark) else found.key or found.what
    return replace(found, file=file, line=lines.of(path_of(key)))


def load_design(path: str | pathlib.Path) -> LoadedDesign:
    """Read a design file.

    Parameters
    ----------
    path : str or path
        TOML file.

    Returns
    -------
    LoadedDesign

    Raises
    ------
    DesignError
        With every problem of the file: its line, what was expected, what was found.
    """
    file = pathlib.Path(path)
    return parse_design(read_bytes(file), folder=file.parent, file=str(path))


def parse_design(content: bytes, *, folder: pathlib.Path, file: str = "") -> LoadedDesign:
    """Read a design from the bytes of a file.

    Parameters
    ----------
    content : bytes
        TOML, UTF-8.
    folder : path
        Folder from which file names in the design are counted.
    file : str
        Name to use in messages.

    Returns
    -------
    LoadedDesign

    Raises
    ------
    DesignError
        With every problem found.
    """
    source = parse_source(content, file, folder)
    design, findings = read_design(source, Design)
    if design is None:
        doubts = [replace(w, hint=f"{w.hint} (A warning.)".strip()) for w in findings.warnings]
        raise DesignError(sorted([*findings.problems, *doubts], key=lambda found: found.line))
    return LoadedDesign(
        design=design,
        file=file,
        folder=folder,
        lines=source.lines,
        warnings=tuple(findings.warnings),
        design_hash=content_hash(design, folder),
    )
