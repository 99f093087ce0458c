"""Score files: read before anything long begins, finished when the modes are known."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from modewright.chain.mode_numbers import numbered_score
from modewright.design.lines import LineMap
from modewright.design.load import located
from modewright.design.read import read_design
from modewright.design.source import parse_source, read_bytes
from modewright.errors import DesignError, ModeProblemsError
from modewright.sound.midi_score import MidiPerformance, read_midi, score_from_midi
from modewright.sound.score import Score

if TYPE_CHECKING:
    from pathlib import Path

    from modewright.workflows.analysis import Analysis

__all__ = ["ReadScore", "finished_score", "read_score"]

_MIDI_ENDINGS = (".mid", ".midi")


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadScore:
    """A score as its file has it.

    Parameters
    ----------
    content : Score or MidiPerformance
    file : str
        Path as the user gave it.
    lines : LineMap
        Where each key stands; empty for MIDI.
    """

    content: Score | MidiPerformance
    file: str
    lines: LineMap

    @property
    def needs_loop(self) -> bool:
        """Whether it can only be played on a design with a loop."""
        return isinstance(self.content, MidiPerformance) or self.content.needs_loop


def read_score(path: Path) -> ReadScore:
    """Read a score from a TOML or a standard MIDI file.

    Parameters
    ----------
    path : Path

    Returns
    -------
    ReadScore

    Raises
    ------
    DesignError
        With every problem of a TOML score.
    ScoreError
        If a MIDI file cannot be read.
    """
    content = read_bytes(path)  # says properly what is wrong with a missing or unreadable file
    if path.suffix.lower() in _MIDI_ENDINGS:
        return ReadScore(content=read_midi(path), file=str(path), lines=LineMap(lines={}))
    source = parse_source(content, str(path), path.parent, what="score")
    score, findings = read_design(source, Score)
    if score is None:
        raise DesignError(findings.problems)
    return ReadScore(content=score, file=str(path), lines=source.lines)


def finished_score(read: ReadScore, found: Analysis) -> Score:
    """A score with every mode by its number.

    Parameters
    ----------
    read : ReadScore
    found : Analysis
        The design that plays it.

    Returns
    -------
    Score

    Raises
    ------
    DesignError
        With every mode that the design does not have or does not treat.
    LoopError
        If it needs a loop and the design has none.
    """
    if isinstance(read.content, MidiPerformance):
        return score_from_midi(read.content, found.loop.regulators)
    if not read.content.needs_loop:
        return read.content
    treated = [int(mode) + 1 for mode in found.loop.regulators.modes]
    try:
        return numbered_score(read.content, found.loop.plant.labels, treated)
    except ModeProblemsError as error:
        problems = [located(problem, read.file, read.lines) for problem in error.problems]
        raise DesignError(problems) from error
