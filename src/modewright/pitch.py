"""Notes, cents and hertz.

Equal temperament with A4 given; ISO 16:1975 sets A4 = 440 Hz. Octaves are counted in scientific
pitch notation: C4 is middle C, and A4 lies above it.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

__all__ = [
    "ISO_A4_HZ",
    "NearestNote",
    "NoteNameError",
    "cents_between",
    "freq_hz_of_note",
    "nearest_note",
    "note_name",
    "note_number",
    "ratio_of_cents",
]

ISO_A4_HZ = 440.0

_SEMITONES = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
_ACCIDENTALS = {"#": 1, "♯": 1, "b": -1, "♭": -1}
_SHARP_NAMES = ("C", "C#", "D", "D#", "E", "F", "F#", "G", "G#", "A", "A#", "B")
_NAME = re.compile(r"^([A-Ga-g])([#♯b♭]{0,2})(-?\d{1,2})$")
_A4_NUMBER = 69
_SHOWN_LETTERS = 20


class NoteNameError(ValueError):
    """A word is not the name of a note.

    Parameters
    ----------
    got : str
        The word; only its beginning is kept if it is long.
    """

    expected = 'a note such as "G3", "F#4" or "Bb2"'
    hint = "Write the letter, # or b if any, and the octave; C4 is middle C."

    def __init__(self, got: str) -> None:
        self.got = got if len(got) <= _SHOWN_LETTERS else got[:_SHOWN_LETTERS] + "…"
        super().__init__(f'expected {self.expected}, got "{self.got}". {self.hint}')


@dataclass(frozen=True, slots=True, kw_only=True)
class NearestNote:
    """The equal-tempered note closest to a frequency.

    Parameters
    ----------
    name : str
        Such as ``F#4``.
    cents : float
        How far the frequency lies above it, within ±50. [cents]
    """

    name: str
    cents: float


def note_number(name: str) -> int:
    """Number of a note counted in semitones; A4 = 69, as in the MIDI 1.0 specification.

    Parameters
    ----------
    name : str
        Letter, up to two accidentals (``#`` or ``b``, also the printed signs), octave.

    Returns
    -------
    int

    Raises
    ------
    NoteNameError
        If the word is not the name of a note.

    Examples
    --------
    >>> note_number("A4"), note_number("Bb2"), note_number("B#3") == note_number("C4")
    (69, 46, True)
    """
    found = _NAME.match(name.strip())
    if found is None:
        raise NoteNameError(name)
    letter, accidentals, octave = found.groups()
    alteration = sum(_ACCIDENTALS[sign] for sign in accidentals)
    return 12 * (int(octave) + 1) + _SEMITONES[letter.upper()] + alteration


def note_name(number: int) -> str:
    """Name of a note by its number, spelled with sharps.

    Examples
    --------
    >>> note_name(55), note_name(66)
    ('G3', 'F#4')
    """
    octave, semitone = divmod(number, 12)
    return f"{_SHARP_NAMES[semitone]}{octave - 1}"


def freq_hz_of_note(name: str, a4_hz: float = ISO_A4_HZ) -> float:
    """Frequency of an equal-tempered note. [Hz]

    Parameters
    ----------
    name : str
        Such as ``G3``.
    a4_hz : float
        Tuning reference, > 0. [Hz]

    Returns
    -------
    float
        ``a4_hz · 2^((n-69)/12)``. [Hz]

    Raises
    ------
    NoteNameError
        If the word is not the name of a note.
    ValueError
        If the reference is not above zero.

    References
    ----------
    ISO 16:1975, Acoustics: standard tuning frequency.

    Examples
    --------
    >>> round(freq_hz_of_note("G3", 442.0), 3)
    196.889
    """
    _check_freq(a4_hz, "a4_hz")
    return a4_hz * 2 ** ((note_number(name) - _A4_NUMBER) / 12)


def nearest_note(freq_hz: float, a4_hz: float = ISO_A4_HZ) -> NearestNote:
    """Equal-tempered note nearest to a frequency, and how far the frequency lies above it.

    Parameters
    ----------
    freq_hz, a4_hz : float
        > 0. [Hz]

    Returns
    -------
    NearestNote

    Examples
    --------
    >>> found = nearest_note(440.0, 442.0)
    >>> found.name, round(found.cents, 2)
    ('A4', -7.85)
    """
    semitones = cents_between(freq_hz, a4_hz) / 100
    nearest = round(semitones)
    return NearestNote(name=note_name(nearest + _A4_NUMBER), cents=100 * (semitones - nearest))


def cents_between(freq_hz: float, reference_hz: float) -> float:
    """Interval from the reference up to a frequency, 1200 log2 of their ratio. [cents]

    References
    ----------
    A. J. Ellis, On the musical scales of various nations, J. Soc. Arts 33 (1885).

    Examples
    --------
    >>> cents_between(880.0, 440.0)
    1200.0
    """
    _check_freq(freq_hz, "freq_hz")
    _check_freq(reference_hz, "reference_hz")
    return 1200 * math.log2(freq_hz / reference_hz)


def ratio_of_cents(cents: float) -> float:
    """Frequency ratio of an interval.

    Examples
    --------
    >>> ratio_of_cents(1200.0)
    2.0
    """
    return 2 ** (cents / 1200)


def _check_freq(freq_hz: float, name: str) -> None:
    if not (math.isfinite(freq_hz) and freq_hz > 0):
        raise ValueError(f"{name}: expected a frequency above zero, got {freq_hz}")
