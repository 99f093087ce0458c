"""A standard MIDI file as a score. The door to the MIDI library.

Notes strike: velocity is strength, a new note frees every treated mode, a release damps it, except
modes that a controller holds.
The eight general-purpose controllers of MIDI 1.0 (16 to 19 and 80 to 83) hold the treated modes in
their order: 127 is the level of the design, 0 releases. The library's messages have no types:
hence the switches below.
"""

# pyright: reportUnknownMemberType=false, reportUnknownVariableType=false
# pyright: reportUnknownArgumentType=false

from __future__ import annotations

import io
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal

import mido
from mido.midifiles.meta import KeySignatureError

from modewright.errors import ScoreError
from modewright.sound.score import Change, Hold, Score, Strike

if TYPE_CHECKING:
    from pathlib import Path

    from modewright.loop.regulators import Regulators

__all__ = ["GENERAL_PURPOSE_CONTROLLERS", "MidiPerformance", "read_midi", "score_from_midi"]

GENERAL_PURPOSE_CONTROLLERS = (16, 17, 18, 19, 80, 81, 82, 83)
_TAIL_S = 3.0
_GLIDE_S = 0.05
_LONGEST_S = 3600.0
_MARK, _PLAYED_TYPES = b"MThd", (0, 1)
# What the library lets escape when it meets a damaged file.
_TROUBLES = (
    ArithmeticError, EOFError, KeySignatureError, LookupError, OSError, TypeError, ValueError,
)  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class MidiPerformance:
    """Messages of a MIDI file in order of time, and its length. [s]"""

    messages: tuple[Any, ...]
    end_s: float


def read_midi(path: Path) -> MidiPerformance:
    """Read a standard MIDI file.

    Parameters
    ----------
    path : Path

    Returns
    -------
    MidiPerformance

    Raises
    ------
    ScoreError
        If it is no MIDI file or longer than an hour.
    """
    messages, end_s = _read(path)
    if end_s + _TAIL_S > _LONGEST_S:
        raise ScoreError(
            f"{path}: expected at most an hour, got {end_s:.0f} s.",
            hint="Cut the performance into parts.",
        )
    return MidiPerformance(messages=tuple(messages), end_s=end_s)


def score_from_midi(performance: MidiPerformance, regulators: Regulators) -> Score:
    """Score of a MIDI file.

    Parameters
    ----------
    performance : MidiPerformance
    regulators : Regulators
        Of the loop that plays it.

    Returns
    -------
    Score
        Three seconds longer than the file.
    """
    end_s = performance.end_s
    strikes: list[Strike] = []
    notes: list[tuple[float, Literal["free", "damped"]]] = []
    turns: dict[int, list[tuple[float, int]]] = {}
    now_s = 0.0
    for message in performance.messages:
        now_s += float(message.time)
        if message.type == "note_on" and message.velocity > 0:
            strikes.append(Strike(at_s=now_s, strength=message.velocity / 127))
            notes.append((now_s, "free"))
        elif message.type in ("note_on", "note_off"):
            notes.append((now_s, "damped"))
        elif message.type == "control_change" and message.control in GENERAL_PURPOSE_CONTROLLERS:
            turns.setdefault(message.control, []).append((now_s, message.value))
    holds = _holds(turns, regulators, end_s)
    return Score(
        length_s=end_s + _TAIL_S,
        strikes=tuple(strikes),
        holds=tuple(holds),
        changes=tuple(_changes(notes, holds, regulators)),
    )


def _changes(
    notes: list[tuple[float, Literal["free", "damped"]]],
    holds: list[Hold],
    regulators: Regulators,
) -> list[Change]:
    """Notes free and damp every treated mode that no controller holds at that moment."""
    found: list[Change] = []
    for at_s, to in notes:
        held = {h.mode for h in holds if h.at_s <= at_s and (h.until_s or at_s + 1) > at_s}
        modes = (int(mode) + 1 for mode in regulators.modes)
        found += [Change(at_s=at_s, mode=mode, to=to) for mode in modes if mode not in held]
    return found


def _read(path: Path) -> tuple[list[Any], float]:
    """Messages in order of time, and the length of the file. [s]"""
    try:
        content = path.read_bytes()
        if content and not content.startswith(_MARK):
            raise _refused(path, "no MIDI file, which would begin with the letters MThd")
        file = mido.MidiFile(file=io.BytesIO(content))
        fault = _unusable(file.type, file.ticks_per_beat)
        if fault is None:
            return list(file), float(file.length)
    except _TROUBLES as error:
        raise _refused(path, _reason(error)) from error
    raise _refused(path, fault)


def _refused(path: Path, got: str) -> ScoreError:
    return ScoreError(
        f"{path}: expected a standard MIDI file, got: {got}.",
        hint="Open it in the program that it comes from and save it as a MIDI file of type 0 or 1, "
        "with time in beats.",
    )


def _unusable(kind: int, ticks_per_beat: int) -> str | None:
    """What of the file's head cannot be played."""
    if kind not in _PLAYED_TYPES:
        return f"type {kind}, whose tracks do not sound together"
    if ticks_per_beat == 0:
        return "a beat divided into no parts at all"
    if ticks_per_beat < 0:
        return "time counted in film frames instead of beats"
    return None


def _reason(error: Exception) -> str:
    """Words of our own for what the library stumbled on, whose words speak of its inside."""
    if isinstance(error, EOFError):
        return "a file that ends too early"
    if isinstance(error, OSError) and error.strerror:
        return error.strerror
    return "a damaged file: bytes that MIDI does not know at this place"


def _holds(
    turns: dict[int, list[tuple[float, int]]], regulators: Regulators, end_s: float
) -> list[Hold]:
    found: list[Hold] = []
    for controller, settings in turns.items():
        row = GENERAL_PURPOSE_CONTROLLERS.index(controller)
        if row >= len(regulators.modes):
            continue
        ends = [*(at_s for at_s, _ in settings[1:]), end_s + _TAIL_S]
        for (at_s, value), until_s in zip(settings, ends, strict=True):
            if value > 0 and until_s > at_s:
                found.append(
                    Hold(
                        mode=int(regulators.modes[row]) + 1,
                        at_s=at_s,
                        until_s=until_s,
                        level_m=float(regulators.level_m[row]) * value / 127,
                        attack_s=_GLIDE_S,
                        release_s=_GLIDE_S,
                    )
                )
    return found
