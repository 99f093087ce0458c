"""What a maker may want of the modes: the ``[[tune.targets]]`` of a design file."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from modewright.parameters import Fault, quantities, quantity, text, texts
from modewright.parameters import mode as one_mode
from modewright.parameters import modes as several_modes
from modewright.pitch import NoteNameError, note_number
from modewright.tune.intervals import IntervalError, parse_ratio, parse_ratios

if TYPE_CHECKING:
    from collections.abc import Iterable

__all__ = [
    "Decay",
    "Interval",
    "KeepAway",
    "ModeAddress",
    "Partials",
    "Pitch",
    "Target",
    "mode_text",
]

ModeAddress = int | str
"""A mode by its number, 1 being the lowest, or by its label, in the design as it is."""

_MODE = "The mode, by number or label as `modewright modes` prints them for this design"
_WITHIN = "How far it may be off."


@dataclass(frozen=True, slots=True, kw_only=True)
class Pitch:
    """A mode sounds a given note or frequency."""

    kind: ClassVar[str] = "pitch"

    mode: ModeAddress = one_mode(f"{_MODE}.")
    note: str = text('Note, such as "G3"; empty for freq, or for the note of [design].', default="")
    freq_hz: float | None = quantity(
        "Hz", "Frequency, if no note is given.", default=None, above=0.0, plausible=(10.0, 20e3)
    )
    offset_cents: float = quantity(
        "cents", "How far above the note or frequency it should lie.", default=0.0,
        plausible=(-1200.0, 1200.0),
    )  # fmt: skip
    within_cents: float = quantity("cents", _WITHIN, default=1.0, above=0.0, plausible=(0.1, 50.0))

    @property
    def modes(self) -> tuple[ModeAddress, ...]:
        """Modes that it is about."""
        return (self.mode,)

    def problems(self) -> Iterable[Fault]:
        """Return what is wrong with the note."""
        if self.note and self.freq_hz is not None:
            yield Fault(key="freq", expected="a note or a frequency", got="both")
        if self.note:
            try:
                note_number(self.note)
            except NoteNameError as error:
                yield Fault(
                    key="note", expected=error.expected, got=f'"{error.got}"', hint=error.hint
                )


@dataclass(frozen=True, slots=True, kw_only=True)
class Interval:
    """A mode lies a given interval above another, whatever their pitch."""

    kind: ClassVar[str] = "interval"

    mode: ModeAddress = one_mode(f"{_MODE}: the upper one.")
    above: ModeAddress = one_mode("The lower mode, named alike.")
    interval: str = text('Such as "octave + fifth", "3 : 1", "tempered fifth" or "702 cents".')
    within_cents: float = quantity("cents", _WITHIN, default=1.0, above=0.0, plausible=(0.1, 50.0))

    @property
    def modes(self) -> tuple[ModeAddress, ...]:
        """Modes that it is about."""
        return (self.mode, self.above)

    def problems(self) -> Iterable[Fault]:
        """Return what is wrong with the interval."""
        yield from _fault_of_same(self.mode, self.above)
        try:
            parse_ratio(self.interval)
        except IntervalError as error:
            yield _interval_fault("interval", error)


@dataclass(frozen=True, slots=True, kw_only=True)
class Partials:
    """Several modes stand in given ratios to each other, whatever their pitch."""

    kind: ClassVar[str] = "partials"

    modes: tuple[ModeAddress, ...] = several_modes("Two or more modes, named alike.")
    ratios: str = text('One number or interval for each mode, such as "1 : 4 : 10".')
    within_cents: float = quantity("cents", _WITHIN, default=1.0, above=0.0, plausible=(0.1, 50.0))

    def problems(self) -> Iterable[Fault]:
        """Return what is wrong with modes and ratios."""
        if len(self.modes) < 2:
            yield Fault(key="modes", expected="two or more modes", got=str(len(self.modes)))
        if len(set(self.modes)) < len(self.modes):
            yield Fault(key="modes", expected="each mode once", got="one of them twice")
        try:
            ratios = parse_ratios(self.ratios)
        except IntervalError as error:
            yield _interval_fault("ratios", error)
            return
        if len(ratios) != len(self.modes):
            yield Fault(
                key="ratios",
                expected=f"{len(self.modes)} numbers, one for each mode",
                got=str(len(ratios)),
            )


@dataclass(frozen=True, slots=True, kw_only=True)
class Decay:
    """A mode rings at least so long by itself, with the losses of the design."""

    kind: ClassVar[str] = "decay"

    mode: ModeAddress = one_mode(f"{_MODE}.")
    least_s: float = quantity("s", "Shortest T60.", above=0.0, plausible=(0.01, 100.0))

    @property
    def modes(self) -> tuple[ModeAddress, ...]:
        """Modes that it is about."""
        return (self.mode,)


@dataclass(frozen=True, slots=True, kw_only=True)
class KeepAway:
    """Other modes keep a distance from wanted ones, or from multiples of them."""

    kind: ClassVar[str] = "keep away"

    distance_cents: float = quantity("cents", "Least distance.", above=0.0, plausible=(5.0, 1200.0))
    wanted: tuple[ModeAddress, ...] = several_modes(
        "Modes to keep away from; all that have a pitch by other targets if left out.", default=()
    )
    multiples: tuple[float, ...] = quantities(
        "1",
        "Multiples of the wanted modes to keep away from; the modes themselves if left out.",
        default=(1.0,),
        above=0.0,
        plausible=(0.1, 20.0),
    )
    unwanted: tuple[str, ...] = texts(
        'Beginnings of the labels of modes that must keep away, such as "torsion"; every mode that '
        "no target names if left out.",
        default=(),
    )

    @property
    def modes(self) -> tuple[ModeAddress, ...]:
        """Modes that it is about."""
        return self.wanted

    def problems(self) -> Iterable[Fault]:
        """Return the fault of an empty list of multiples."""
        if not self.multiples:
            yield Fault(key="multiples", expected="at least one number", got="none")


def mode_text(mode: ModeAddress) -> str:
    """A mode as the reader of a table knows it."""
    return f"mode {mode}" if isinstance(mode, int) else mode


Target = Pitch | Interval | Partials | Decay | KeepAway


def _fault_of_same(mode: ModeAddress, other: ModeAddress) -> Iterable[Fault]:
    if mode == other:
        yield Fault(key="above", expected="another mode", got=f'"{other}" again')


def _interval_fault(key: str, error: IntervalError) -> Fault:
    return Fault(key=key, expected=error.expected, got=f'"{error.got}"', hint=error.hint)
