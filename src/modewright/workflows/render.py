"""Play a score on a design and write the sound."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from modewright.chain.closed_loop import chosen_pickup
from modewright.design.read import read_design
from modewright.design.source import parse_source, read_bytes
from modewright.errors import DesignError
from modewright.sound.audio_file import check_sound_name, write_sound
from modewright.sound.midi_score import score_from_midi
from modewright.sound.performance import Performance, Sound, make_sound, perform
from modewright.sound.score import Score
from modewright.workflows.analysis import Analysis, analyse

if TYPE_CHECKING:
    from collections.abc import Callable

    from modewright.modes.solid import Accuracy

__all__ = ["Rendered", "load_score", "play", "render_score"]

_MIDI_ENDINGS = (".mid", ".midi")


@dataclass(frozen=True, slots=True, kw_only=True)
class Rendered:
    """What was written.

    Parameters
    ----------
    path : Path
    length_s : float
        [s]
    full_scale_v : float
        Voltage at digital full scale. [V]
    lowered_db : float
        By how much the ceiling lowered it. [dB]
    limited_share, clipped_share, contact_share : float
        Shares of time at which the driver's limit and the converter's were reached, and at which
        the sheet may have touched a plate or pole.
    """

    path: Path
    length_s: float
    full_scale_v: float
    lowered_db: float
    limited_share: float
    clipped_share: float
    contact_share: float


def load_score(path: Path, found: Analysis) -> Score:
    """Read a score from a TOML or a standard MIDI file.

    Raises
    ------
    DesignError
        With every problem of a TOML score.
    ScoreError
        If a MIDI file cannot be read.
    """
    if path.suffix.lower() in _MIDI_ENDINGS:
        read_bytes(path)  # says properly what is wrong with a missing or unreadable file
        return score_from_midi(path, found.loop.regulators)
    source = parse_source(read_bytes(path), str(path), path.parent)
    score, findings = read_design(source, Score)
    if score is None:
        raise DesignError(findings.problems)
    return score


def play(
    found: Analysis, score: Score, progress: Callable[[float], None] | None = None
) -> tuple[Performance, Sound]:
    """Play a score on an analysed design."""
    design = found.loaded.design
    point = design.strike.point_m or found.body.reference.point_m
    performance = perform(
        found.loop,
        found.hearing.operating_point.basis.shapes,
        score,
        design.strike,
        point,
        progress=progress,
    )
    full_scale_v = chosen_pickup(design, found.hearing).port.full_scale_v
    return performance, make_sound(performance, design.listening, full_scale_v)


def render_score(
    design: Path,
    score: Path,
    output: Path,
    *,
    depth: Literal["24 bit", "32 bit"] = "24 bit",
    accuracy: Accuracy = "normal",
    progress: Callable[[str], None] | None = None,
) -> Rendered:
    """Render a score on a design file.

    Parameters
    ----------
    design, score : Path
        Files to read.
    output : Path
        ``.wav`` or ``.flac``.
    depth : {"24 bit", "32 bit"}
    accuracy : {"draft", "normal", "fine"}
    progress : callable, optional
        Told what is being done.

    Returns
    -------
    Rendered

    Raises
    ------
    ModewrightError
        If anything of it cannot be; nothing is written then.
    """
    check_sound_name(output, depth)
    found = analyse(design, accuracy=accuracy, progress=progress)
    read = load_score(score, found)

    def tell(share: float) -> None:
        if progress is not None:
            progress(f"playing: {share:.0%}")

    performance, sound = play(found, read, tell)
    write_sound(sound, output, depth=depth, remark=f"design {found.loaded.design_hash[:12]}")
    return Rendered(
        path=output,
        length_s=len(sound.samples) / sound.rate_hz,
        full_scale_v=sound.full_scale_v,
        lowered_db=sound.lowered_db,
        limited_share=performance.limited_share,
        clipped_share=performance.clipped_share,
        contact_share=performance.contact_share,
    )
