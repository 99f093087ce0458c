"""Sounds as WAV or FLAC files that say which voltage stands at full scale.

The door to the audio file library.
"""

# pyright: reportUnknownMemberType=false

from __future__ import annotations

import io
import math
import shutil
from typing import TYPE_CHECKING, Literal

import numpy as np
import soundfile

from modewright.errors import ModewrightError, ScoreError
from modewright.written import written_beside

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path

    from numpy.typing import NDArray

    from modewright.sound.recording import Recording
    from modewright.sound.scaling import Scale, Sound

__all__ = [
    "check_sound",
    "check_sound_name",
    "pitch_error_cents",
    "write_recording",
    "write_sound",
]

Depth = Literal["24 bit", "32 bit"]
_SUBTYPES = {
    ("WAV", "24 bit"): "PCM_24",
    ("WAV", "32 bit"): "FLOAT",
    ("FLAC", "24 bit"): "PCM_24",
}
# WAV counts its bytes and its Hertz in 32 bits; the library's Hertz have a sign, and the head and
# the comment take some bytes.
_MOST_WAV_BYTES = 2**32 - 4096
_HIGHEST_RATE_HZ = 2**31 - 1


def write_sound(sound: Sound, path: Path, *, depth: Depth = "24 bit", remark: str = "") -> None:
    """Write a sound, beside its destination first.

    Parameters
    ----------
    sound : Sound
    path : Path
        Ends in ``.wav`` or ``.flac``.
    depth : {"24 bit", "32 bit"}
        32 bit is floating point and exists for WAV only.
    remark : str
        Kept in the file's comment together with the calibration.

    Raises
    ------
    ScoreError
        If the ending or the depth is not one of these, or such a file cannot hold the sampling rate
        or so many samples.
    ModewrightError
        If the folder cannot be written to, or has no room.
    """
    check_sound(path, depth, sound.rate_hz, len(sound.samples))
    _write([sound.samples], sound, path, depth, remark)


def write_recording(
    recording: Recording, scale: Scale, path: Path, *, depth: Depth = "24 bit", remark: str = ""
) -> None:
    """Write what was recorded, in `scale`; everything else as for `write_sound`."""
    check_sound(path, depth, scale.rate_hz, recording.samples)
    pieces = (piece / scale.full_scale for piece in recording.pieces())
    _write(pieces, scale, path, depth, remark)


def _write(
    pieces: Iterable[NDArray[np.float64]], scale: Scale, path: Path, depth: Depth, remark: str
) -> None:
    kind = check_sound_name(path, depth)
    comment = f"full scale = {scale.full_scale:.6g} {scale.unit} peak. {remark}".strip()
    off_cents = pitch_error_cents(scale.rate_hz)
    if off_cents:
        comment += f". Sounds {off_cents:+.4f} cents off: the loop runs at {scale.rate_hz:.10g} Hz"
    try:
        with written_beside(path) as part:
            part.touch()  # says what is wrong with a place; the library does not
            with soundfile.SoundFile(
                part,
                "w",
                samplerate=round(scale.rate_hz),
                channels=1,
                format=kind,
                subtype=_SUBTYPES[kind, depth],
            ) as file:
                file.comment = comment
                for piece in pieces:
                    file.write(piece)
    except OSError as error:
        raise ModewrightError(
            f"{path}: expected a place to write to, got: {error.strerror}.",
            hint="Choose another path or make room.",
        ) from error
    except soundfile.LibsndfileError as error:
        free_mb = shutil.disk_usage(path.parent).free / 1e6
        raise ModewrightError(
            f"{path}: expected room for the sound, got a folder that took only a part of it "
            f"({free_mb:.3g} MB are free).",
            hint="Make room, or write to another disk.",
        ) from error


def pitch_error_cents(rate_hz: float) -> float:
    """By how much a file sounds too high, since it can only state whole Hertz. [cents]"""
    return 1200 * math.log2(max(1, round(rate_hz)) / rate_hz)


def check_sound(path: Path, depth: Depth, rate_hz: float, samples: int) -> None:
    """See before playing whether a file can hold a sampling rate and so many samples.

    Parameters
    ----------
    path : Path
    depth : {"24 bit", "32 bit"}
    rate_hz : float
        [Hz]
    samples : int

    Raises
    ------
    ScoreError
        If it cannot.
    """
    kind = check_sound_name(path, depth)
    if not _holds_rate(kind, depth, round(rate_hz)):
        raise ScoreError(
            f"{path.name}: expected a sampling rate that {kind} can hold, got {rate_hz:.10g} Hz.",
            hint="Choose another rate in the section electronics"
            + (", or write to a .wav file." if kind == "FLAC" else "."),
        )
    most = _MOST_WAV_BYTES // (3 if depth == "24 bit" else 4)
    if kind == "WAV" and samples > most:
        raise ScoreError(
            f"{path.name}: expected at most {most / rate_hz:.0f} s at this sampling rate, got "
            f"{samples / rate_hz:.0f} s.",
            hint="Cut the performance into parts.",
        )


def _holds_rate(kind: str, depth: Depth, rate_hz: int) -> bool:
    """Write a little, since the library says no other way."""
    if not 1 <= rate_hz <= _HIGHEST_RATE_HZ:
        return False
    try:
        with soundfile.SoundFile(
            io.BytesIO(), "w", samplerate=rate_hz, channels=1, format=kind,
            subtype=_SUBTYPES[kind, depth],
        ) as file:  # fmt: skip
            file.write(np.zeros(16))
    except soundfile.LibsndfileError:
        return False
    return True


def check_sound_name(path: Path, depth: Depth) -> str:
    """Find the kind of file that a name asks for, before anything is computed for it.

    Parameters
    ----------
    path : Path
    depth : {"24 bit", "32 bit"}

    Returns
    -------
    str
        ``WAV`` or ``FLAC``.

    Raises
    ------
    ScoreError
        If the ending or the depth is not one that can be written.
    """
    kind = path.suffix.lstrip(".").upper()
    if (kind, depth) not in _SUBTYPES:
        raise ScoreError(
            f"{path.name}: expected .wav (24 or 32 bit) or .flac (24 bit), got {depth} "
            f"{path.suffix or 'without ending'}.",
            hint=f"Write to {path.with_suffix('.wav').name}.",
        )
    return kind
