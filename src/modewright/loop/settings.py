"""The ``[loop]`` section of a design: which modes are treated, and how."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from modewright.modes.address import known_number
from modewright.parameters import Fault, choice, count, mode, quantity, sections, text

if TYPE_CHECKING:
    from collections.abc import Iterable

__all__ = ["HOLDING", "LoopSettings", "Method", "ModeControl"]

Method = Literal["joint observer", "band-pass", "position feedback", "velocity feedback"]
# Those whose state measures the level of a mode well enough to hold it.
HOLDING = ("joint observer", "band-pass")


@dataclass(frozen=True, slots=True, kw_only=True)
class ModeControl:
    """How the loop treats one mode of the body."""

    mode: int | str = mode(
        "The mode: its number, 1 being the lowest, or its label, such as `torsion 1`, as "
        "`modewright modes` prints it."
    )
    state: Literal["free", "held", "damped"] = choice(
        "What the loop does with it until a score says otherwise.",
        ("free", "held", "damped"),
        default="damped",
    )
    level_m: float = quantity(
        "m",
        "Peak displacement at the reference point at which the mode is held.",
        default=20e-6,
        show="um",
        above=0,
        plausible=(1e-8, 2e-3),
    )
    decay_s: float = quantity(
        "s",
        "T60 that the loop aims at when it damps the mode.",
        default=0.5,
        show="s",
        above=0,
        plausible=(0.005, 100),
    )
    attack_s: float = quantity(
        "s",
        "Time constant with which a held mode approaches its level.",
        default=0.05,
        show="s",
        above=0,
        plausible=(0.002, 10),
    )

    @property
    def number(self) -> int:
        """Number of the mode; TypeError while its label has not been looked up."""
        return known_number(self.mode)


@dataclass(frozen=True, slots=True, kw_only=True)
class LoopSettings:
    """The controller: one observer for all modelled modes, one level regulator per treated mode."""

    pickup: str = text("Name of the pickup that feeds the loop; empty for the first.", default="")
    driver: str = text("Name of the driver that acts; empty for the first.", default="")
    method: Method = choice(
        "How the controller comes to know the motion that it pushes along. The joint observer "
        "models all modes and the delay. A `band-pass` for each mode only listens to it; `position "
        "feedback` passes it through a low-pass near it, `velocity feedback` pushes all modes by "
        "one differentiator. The last two damp and cannot hold.",
        ("joint observer", "band-pass", "position feedback", "velocity feedback"),
        default="joint observer",
    )
    modelled_modes: int = count(
        "How many of the lowest modes the observer knows, as far as the pickup hears them.",
        default=12,
        at_least=1,
        at_most=64,
    )
    observer_bandwidth_hz: float = quantity(
        "Hz",
        "How fast the observer follows each mode; half the width of a band-pass.",
        default=12.0,
        show="Hz",
        above=0,
        plausible=(0.5, 100),
    )
    highest_mode_hz: float = quantity(
        "Hz",
        "Modes up to here are part of the plant whose margins are shown.",
        default=20e3,
        show="kHz",
        above=0,
        plausible=(1e3, 40e3),
    )
    modes: tuple[ModeControl, ...] = sections(
        "One entry per treated mode.", ModeControl, default=()
    )

    def problems(self) -> Iterable[Fault]:
        """Return faults that involve several fields."""
        for number, times in Counter(m.mode for m in self.modes).items():
            if times > 1:
                name = f'"{number}"' if isinstance(number, str) else f"mode {number}"
                yield Fault(key="modes", expected="each mode once", got=f"{name} {times} times")
        held = [f"mode {m.mode}" for m in self.modes if m.state == "held"]
        if held and self.method not in HOLDING:
            yield Fault(
                key="method",
                expected=f"{' or '.join(HOLDING)}, since {held[0]} is held",
                got=self.method,
                hint="Or give the mode another state.",
            )
        # Which numbers labels stand for is only known with the modes.
        highest = max((m.mode for m in self.modes if isinstance(m.mode, int)), default=0)
        if highest > self.modelled_modes:
            yield Fault(
                key="modelled_modes",
                expected=f"at least {highest}, the highest treated mode",
                got=str(self.modelled_modes),
                hint="The observer must know every mode that it treats.",
            )
