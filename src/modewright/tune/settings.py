"""The ``[tune]`` section of a design: what may change, what is wanted, and how to search."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from modewright.parameters import Fault, choice, count, quantity, section, sections, text, texts
from modewright.tune.targets import Decay, Interval, KeepAway, Partials, Pitch

if TYPE_CHECKING:
    from collections.abc import Iterable

    from modewright.tune.targets import Target

__all__ = ["FreeDimension", "TuneLimits", "TuneSettings"]


@dataclass(frozen=True, slots=True, kw_only=True)
class FreeDimension:
    """A value of the design that the search may change."""

    path: str = text('Where it stands in this file, such as "resonator.arms[2].length".')
    lowest: str = text('Smallest value allowed, with its unit, such as "30 mm".')
    highest: str = text("Largest value allowed, with its unit.")
    alike: tuple[str, ...] = texts(
        "Other places of the file that always take the same value.", default=()
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class TuneLimits:
    """What the workshop can make; the search keeps every outline within it."""

    narrowest_metal_m: float | None = quantity(
        "m", "Narrowest strip of metal between two cuts.", default=None, show="mm", above=0.0,
        plausible=(2e-4, 0.1),
    )  # fmt: skip
    narrowest_slot_m: float | None = quantity(
        "m", "Narrowest slot.", default=None, show="mm", above=0.0, plausible=(5e-5, 0.05)
    )
    smallest_radius_m: float | None = quantity(
        "m", "Smallest radius of an inner corner.", default=None, show="mm", above=0.0,
        plausible=(2e-5, 0.05),
    )  # fmt: skip
    stock_length_m: float | None = quantity(
        "m", "Longest blank, measured along x.", default=None, show="mm", above=0.0,
        plausible=(5e-3, 3.0),
    )  # fmt: skip
    stock_width_m: float | None = quantity(
        "m", "Widest blank, measured along y.", default=None, show="mm", above=0.0,
        plausible=(1e-3, 3.0),
    )  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class TuneSettings:
    """Inverse design: free dimensions, targets and limits."""

    free: tuple[FreeDimension, ...] = sections("A value that the search may change.", FreeDimension)
    targets: tuple[Target, ...] = sections(
        "Something wanted of the modes.", Pitch, Interval, Partials, Decay, KeepAway
    )
    limits: TuneLimits = section("What the workshop can make.", TuneLimits, default=TuneLimits())
    sounding: Literal["auto", "as it sounds", "in vacuum"] = choice(
        "Which frequencies are meant: in air with bias and magnets acting, or those of the body "
        "alone; `auto` is the former if the design has a pickup or a driver.",
        ("auto", "as it sounds", "in vacuum"),
        default="auto",
    )
    accuracy: Literal["draft", "normal", "fine"] = choice(
        "Accuracy of the modes at which the targets must be met.",
        ("draft", "normal", "fine"),
        default="normal",
    )
    modes: int = count(
        "How many of the lowest modes to follow.", default=12, at_least=1, at_most=64
    )
    solutions: int = count(
        "How many distinct solutions to look for.", default=3, at_least=1, at_most=20
    )
    starts: int = count(
        "How many further starts, spread over the ranges, to try besides the design as it is.",
        default=8,
        at_most=200,
    )
    seed: int = count("Seed of the spread of starts.", default=1, at_most=1_000_000)

    def problems(self) -> Iterable[Fault]:
        """Return lists that are empty, values that are free twice, and what keeps from nothing."""
        for key, entries in (("free", self.free), ("targets", self.targets)):
            if not entries:
                yield Fault(key=key, expected="at least one such section", got="none")
        seen: set[str] = set()
        for number, free in enumerate(self.free, 1):
            for path in (free.path, *free.alike):
                if path in seen:
                    yield Fault(
                        key=f"free[{number}].path",
                        expected="each value once",
                        got=f'"{path}" again',
                    )
                seen.add(path)
        voices = any(isinstance(target, Pitch | Interval | Partials) for target in self.targets)
        for number, target in enumerate(self.targets, 1):
            if isinstance(target, KeepAway) and not (voices or target.wanted):
                yield Fault(
                    key=f"targets[{number}].wanted",
                    expected="modes to keep away from, since no target gives one a pitch",
                    got="none",
                )
