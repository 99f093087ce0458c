"""Sounds as WAV or FLAC files that say which voltage stands at full scale.

The door to the audio file library.
"""

# pyright: reportUnknownMemberType=false

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

import numpy as np
import soundfile

from modewright.errors import ModewrightError, ScoreError
from modewright.written import written_beside

if TYPE_CHECKING:
    from pathlib import Path

    from modewright.sound.performance import Sound

__all__ = ["check_sound_name", "write_sound"]

Depth = Literal["24 bit", "32 bit"]
_SUBTYPES = {
    ("WAV", "24 bit"): "PCM_24",
    ("WAV", "32 bit"): "FLOAT",
    ("FLAC", "24 bit"): "PCM_24",
}


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
        If the ending or the depth is not one of these.
    ModewrightError
        If the folder cannot be written to.
    """
    kind = check_sound_name(path, depth)
    comment = f"full scale = {sound.full_scale:.6g} {sound.unit} peak. {remark}".strip()
    try:
        with (
            written_beside(path) as part,
            soundfile.SoundFile(
                part,
                "w",
                samplerate=round(sound.rate_hz),
                channels=1,
                format=kind,
                subtype=_SUBTYPES[kind, depth],
            ) as file,
        ):
            file.comment = comment
            file.write(np.asarray(sound.samples))
    except (OSError, soundfile.LibsndfileError) as error:
        got = str(error.strerror) if isinstance(error, OSError) else error.error_string
        raise ModewrightError(
            f"{path}: expected a place to write to, got: {got.rstrip('.')}.",
            hint="Choose another path or make room.",
        ) from error


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
