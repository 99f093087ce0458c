"""Load a design file: every problem at once, or a complete design with its doubts."""

from __future__ import annotations

import pathlib
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from modewright.design.hash import content_hash
from modewright.design.read import read_design
from modewright.design.schema import Design
from modewright.design.source import parse_source, read_bytes
from modewright.errors import DesignError

if TYPE_CHECKING:
    from modewright.design.lines import Path
    from modewright.errors import Problem

__all__ = ["LoadedDesign", "load_design", "parse_design"]


@dataclass(frozen=True, slots=True, kw_only=True)
class LoadedDesign:
    """A design, where it came from and what is doubtful in it.

    Parameters
    ----------
    design : Design
        Complete, with defaults filled in.
    folder : path
        Folder from which file names in the design are counted.
    written : frozenset of paths
        Keys that stood in the file.
    warnings : tuple of Problem
        Implausible values that may be meant.
    design_hash : str
        Content hash, 64 hexadecimal digits.
    """

    design: Design
    folder: pathlib.Path
    written: frozenset[Path]
    warnings: tuple[Problem, ...]
    design_hash: str


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
        folder=folder,
        written=frozenset(source.lines.lines),
        warnings=tuple(findings.warnings),
        design_hash=content_hash(design, folder),
    )
