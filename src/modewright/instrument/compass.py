"""The ``[compass]`` section: which degrees of the scale become notes, and what stays even."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from modewright.parameters import Fault, flag, quantity, text, texts
from modewright.parameters import modes as several_modes

if TYPE_CHECKING:
    from collections.abc import Iterator

    from modewright.instrument.scale import Scale, ScaleNote

__all__ = ["Compass", "compass_notes"]

_MOST_NOTES = 128


@dataclass(frozen=True, slots=True, kw_only=True)
class Compass:
    """The notes of an instrument: all degrees from first to last, or those listed."""

    first: str = text("Lowest degree, by number or name.", default="1")
    last: str = text("Highest degree; empty if notes are listed.", default="")
    notes: tuple[str, ...] = texts(
        "Degrees in rising order, by number or name, in place of first and last.", default=()
    )
    even_modes: tuple[int | str, ...] = several_modes(
        "Modes of the base design that keep, on every note, the interval to the tuned mode that "
        "they have on the first note.",
        default=(),
    )
    even_within_cents: float = quantity(
        "cents", "How far these intervals may be off.", default=2.0, above=0.0,
        plausible=(0.1, 100.0),
    )  # fmt: skip
    on_base: bool = flag(
        "Whether the pitch is meant on the base that gives way; on one that stands still if not.",
        default=True,
    )

    def problems(self) -> Iterator[Fault]:
        """Return the fault of notes given twice or not at all."""
        if bool(self.last.strip()) == bool(self.notes):
            yield Fault(
                key="last",
                expected="either first and last, or a list of notes",
                got="both" if self.notes else "neither",
            )


def compass_notes(
    compass: Compass, scale: Scale, a4_hz: float
) -> tuple[tuple[ScaleNote, ...], tuple[Fault, ...]]:
    """Notes of a compass, or what is wrong with it.

    Parameters
    ----------
    compass : Compass
    scale : Scale
    a4_hz : float
        Tuning reference. [Hz]

    Returns
    -------
    notes : tuple of ScaleNote
        Rising.
    faults : tuple of Fault
        Degrees that are none, fall, or are too many.
    """
    written = (
        [(f"notes[{i}]", word) for i, word in enumerate(compass.notes, 1)]
        if compass.notes
        else [("first", compass.first), ("last", compass.last)]
    )
    faults: list[Fault] = []
    degrees: list[int] = []
    for key, word in written:
        degree = scale.find_degree(word, a4_hz)
        if degree is None:
            faults.append(Fault(key=key, expected="a number or name of a degree", got=f'"{word}"'))
        elif degrees and degree <= degrees[-1]:
            faults.append(Fault(key=key, expected="a higher degree", got=f'"{word}"'))
        else:
            degrees.append(degree)
    if not faults and not compass.notes:
        degrees = list(range(degrees[0], degrees[1] + 1))
    if len(degrees) > _MOST_NOTES:
        faults.append(
            Fault(key="last", expected=f"at most {_MOST_NOTES} notes", got=str(len(degrees)))
        )
    if faults:
        return (), tuple(faults)
    return tuple(scale.note_of_degree(degree, a4_hz) for degree in degrees), ()
