"""What is to be played: strikes, held levels, oscillators, noise, and release into damping."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from modewright.parameters import Fault, choice, count, mode, quantity, section, sections

if TYPE_CHECKING:
    from collections.abc import Iterable

__all__ = ["Change", "Hold", "Noise", "Oscillator", "Score", "Strike"]


def _ends_early(at_s: float, until_s: float) -> Fault:
    return Fault(key="until", expected=f"later than {at_s:g} s", got=f"{until_s:g} s")


@dataclass(frozen=True, slots=True, kw_only=True)
class Strike:
    """One blow on the sheet."""

    at_s: float = quantity("s", "Moment of first contact.", show="s", at_least=0)
    strength: float = quantity(
        "1", "Share of the design's strike force.", default=1.0, show="%", above=0, at_most=1
    )
    width_s: float | None = quantity(
        "s",
        "Duration of the pulse; the design's if not given.",
        default=None,
        show="ms",
        above=0,
        at_most=1,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Oscillator:
    """Slow periodic change of a held level."""

    rate_hz: float = quantity("Hz", "How often it repeats.", show="Hz", above=0, at_most=100)
    depth: float = quantity("1", "Largest change as a share of the level.", show="%", at_least=0)
    phase_deg: float = quantity("deg", "Where it begins.", default=0.0, show="deg")
    shape: Literal["sine", "triangle", "square"] = choice(
        "Course within a period.", ("sine", "triangle", "square"), default="sine"
    )

    def problems(self) -> Iterable[Fault]:
        """Return faults that involve several fields."""
        if self.depth > 1:
            yield Fault(key="depth", expected="at most 100 %", got=f"{self.depth * 100:g} %")


@dataclass(frozen=True, slots=True, kw_only=True)
class Hold:
    """A mode held at a level with an envelope of its own."""

    mode: int | str = mode("A treated mode, by number or label.")
    at_s: float = quantity("s", "When the level begins to rise.", show="s", at_least=0)
    until_s: float | None = quantity(
        "s", "When it is released; the end if not given.", default=None, show="s", above=0
    )
    level_m: float | None = quantity(
        "m",
        "Peak displacement; the design's level if not given.",
        default=None,
        show="um",
        above=0,
        at_most=0.1,
    )
    attack_s: float = quantity("s", "Time to the full level.", default=0.1, show="s", at_least=0)
    decay_s: float = quantity(
        "s", "Time from there to the sustained.", default=0.0, show="s", at_least=0
    )
    sustain: float = quantity(
        "1", "Sustained share of the level.", default=1.0, show="%", at_least=0, at_most=1
    )
    release_s: float = quantity(
        "s", "Time from release to nothing.", default=0.3, show="s", at_least=0
    )
    then: Literal["damped", "free"] = choice(
        "What follows the release.", ("damped", "free"), default="damped"
    )
    oscillator: Oscillator | None = section("Slow change of the level.", Oscillator, default=None)

    def problems(self) -> Iterable[Fault]:
        """Return faults that involve several fields."""
        if self.until_s is not None and self.until_s <= self.at_s:
            yield _ends_early(self.at_s, self.until_s)


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """From here on a treated mode, or all of them, is left free or damped."""

    at_s: float = quantity("s", "When.", show="s", at_least=0)
    mode: int | str = mode("A treated mode, by number or label; 0 for all.", default=0, at_least=0)
    to: Literal["damped", "free"] = choice("New state.", ("damped", "free"))


@dataclass(frozen=True, slots=True, kw_only=True)
class Noise:
    """Noise sent to the driver beside the regulators."""

    at_s: float = quantity("s", "Beginning.", show="s", at_least=0)
    until_s: float = quantity("s", "End.", show="s", above=0)
    level: float = quantity(
        "1", "Root mean square as a share of the command limit.", show="%", above=0, at_most=0.3
    )
    seed: int = count("Number that fixes the noise.", default=1)

    def problems(self) -> Iterable[Fault]:
        """Return faults that involve several fields."""
        if self.until_s <= self.at_s:
            yield _ends_early(self.at_s, self.until_s)


@dataclass(frozen=True, slots=True, kw_only=True)
class Score:
    """A performance on one resonator."""

    length_s: float = quantity(
        "s", "Length of the rendered sound.", show="s", above=0, at_most=3600
    )
    start: Literal["as stated", "free", "damped"] = choice(
        "State of the treated modes at the beginning.",
        ("as stated", "free", "damped"),
        default="free",
    )
    strikes: tuple[Strike, ...] = sections("Blows.", Strike, default=())
    holds: tuple[Hold, ...] = sections("Held levels.", Hold, default=())
    changes: tuple[Change, ...] = sections("Changes of state.", Change, default=())
    noises: tuple[Noise, ...] = sections("Noise drives.", Noise, default=())

    @property
    def needs_loop(self) -> bool:
        """Whether it asks for more than blows on a body left free."""
        return self.start != "free" or bool(self.holds or self.changes or self.noises)

    @property
    def late_events(self) -> tuple[str, ...]:
        """Events that begin after the end and so are never heard, by their place in the file."""
        groups = {
            "strikes": self.strikes,
            "holds": self.holds,
            "changes": self.changes,
            "noises": self.noises,
        }
        return tuple(
            f"{name}[{number}] at {event.at_s:g} s"
            for name, events in groups.items()
            for number, event in enumerate(events, start=1)
            if event.at_s >= self.length_s
        )
