"""Whether the loop holds in given states, and if not, what grows and which regulator makes it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from modewright.checks import frozen_array
from modewright.loop.authority import WANTED_GAIN_MARGIN_DB
from modewright.loop.growth import growing_motions
from modewright.loop.level_loop import level_loop
from modewright.loop.level_margins import bears_gain, tightened_margins
from modewright.loop.margins import margins_from_response
from modewright.loop.poles import growing_count
from modewright.loop.transfer import frequency_grid_hz, loop_terms

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.loop.growth import GrowingMotion
    from modewright.loop.level_loop import LevelLoop
    from modewright.loop.margins import Margins
    from modewright.loop.observer import Observer
    from modewright.loop.plant import Plant
    from modewright.loop.regulators import Regulators
    from modewright.loop.transfer import LoopTerms

__all__ = ["JudgedStates", "judge_states", "judged_alone", "states_to_judge"]


# The grid of the responses is finer than turns that are followed anyway need it.
_LEVEL_GRID_STEP = 8


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class JudgedStates:
    """Stability and margins with every treated mode in a given state.

    Parameters
    ----------
    name : str
        What the states are.
    states : tuple of str, length regulated
        ``free``, ``held`` or ``damped`` of each treated mode.
    gain : float array, shape (regulated,)
        Linear gains that stand for the regulators. [command/m]
    margins : Margins
        The smaller of those of the linear loop and of the level loops of held modes.
    growing : tuple of GrowingMotion
        Motions that grow, the fastest first; empty for a stable loop.
    cures : tuple of int
        Modes of the plant; the loop is stable if the regulator of any one of them is left out.
    hunting : tuple of int
        Held modes of the plant whose level does not settle.
    """

    name: str
    states: tuple[str, ...]
    gain: NDArray[np.float64]
    margins: Margins
    growing: tuple[GrowingMotion, ...]
    cures: tuple[int, ...]
    hunting: tuple[int, ...]

    def __post_init__(self) -> None:
        object.__setattr__(self, "gain", frozen_array(self.gain))

    @property
    def is_stable(self) -> bool:
        """Whether nothing grows and no level hunts."""
        return not self.growing and not self.hunting


def states_to_judge(regulators: Regulators) -> tuple[tuple[str, tuple[str, ...]], ...]:
    """States that a score may ask for whatever the design states, each with a name.

    Parameters
    ----------
    regulators : Regulators

    Returns
    -------
    tuple of (str, tuple of str)
        As stated, all damped, all held, and each mode held while the others are damped; none twice.
        Without held ones where the method cannot hold.
    """
    count = len(regulators.modes)
    named = [
        ("as stated", regulators.state),
        ("all damped", ("damped",) * count),
        ("all held", ("held",) * count),
    ]
    for row, mode in enumerate(regulators.modes):
        alone = tuple("held" if i == row else "damped" for i in range(count))
        named.append((f"mode {int(mode) + 1} held, the rest damped", alone))
    if not regulators.can_hold:
        named = [(name, states) for name, states in named if "held" not in states]
    # The first two are always told, be they the same or not.
    seen: set[tuple[str, ...]] = set()
    kept: list[tuple[str, tuple[str, ...]]] = []
    for index, (name, states) in enumerate(named):
        if index < 2 or states not in seen:
            kept.append((name, states))
        seen.add(states)
    return tuple(kept)


def judge_states(
    plant: Plant,
    observer: Observer,
    regulators: Regulators,
    terms: LoopTerms,
    name: str,
    states: tuple[str, ...],
    *,
    closely: bool = True,
) -> JudgedStates:
    """Count what grows, and read the margins if nothing does.

    Parameters
    ----------
    plant, observer, regulators : Plant, Observer, Regulators
    terms : LoopTerms
        Of the same loop, from 0 to half the rate on a grid that follows the resonances.
    name : str
    states : tuple of str, length regulated
    closely : bool
        Whether to work out the margins of level loops also where they are no smaller than usual.

    Returns
    -------
    JudgedStates
    """
    gain = regulators.linear_gain(states)
    growing: tuple[GrowingMotion, ...] = ()
    cures: list[int] = []
    margins = margins_from_response(terms.freq_hz, terms.response(gain), rate_hz=plant.rate_hz)
    hunting: list[int] = []
    if growing_count(plant, observer, regulators, gain, terms) > 0:
        growing = growing_motions(plant, observer, regulators, gain, terms)
        for row in np.nonzero(gain)[0]:
            without = np.where(np.arange(len(gain)) == row, 0.0, gain)
            if growing_count(plant, observer, regulators, without, terms) == 0:
                cures.append(int(regulators.modes[row]))
    else:
        grid_hz = terms.freq_hz[::_LEVEL_GRID_STEP]
        for row in (row for row, state in enumerate(states) if state == "held"):
            loop = level_loop(plant, observer, regulators, states, row)
            tighter = _judged_level(loop, margins, grid_hz, closely=closely)
            if tighter is None:
                hunting.append(int(regulators.modes[row]))
            else:
                margins = tighter
    return JudgedStates(
        name=name,
        states=states,
        gain=gain,
        margins=margins,
        growing=growing,
        cures=tuple(cures),
        hunting=tuple(hunting),
    )


def _judged_level(
    loop: LevelLoop, margins: Margins, grid_hz: NDArray[np.float64], *, closely: bool
) -> Margins | None:
    """Margins with those of this level loop; None if it hunts."""
    if not closely and bears_gain(loop, WANTED_GAIN_MARGIN_DB, grid_hz):
        return margins
    swing = loop.swing()
    if swing is None or loop.hunts(swing, grid_hz):
        return None
    return tightened_margins(loop, margins, grid_hz, swing.freq_hz)


def judged_alone(
    plant: Plant,
    observer: Observer,
    regulators: Regulators,
    every: tuple[tuple[str, ...], ...],
) -> tuple[JudgedStates, ...]:
    """Judge states that the design did not foresee, such as those of a score.

    Parameters
    ----------
    plant, observer, regulators : Plant, Observer, Regulators
    every : tuple of (tuple of str, length regulated)
        Sets of states.

    Returns
    -------
    tuple of JudgedStates
        Of each set, named by what each mode does.
    """
    terms = loop_terms(plant, observer, regulators, frequency_grid_hz(plant, observer))
    return tuple(
        judge_states(
            plant, observer, regulators, terms, _named(regulators, states), states, closely=False
        )
        for states in every
    )


def _named(regulators: Regulators, states: tuple[str, ...]) -> str:
    parts: list[str] = []
    for state in ("held", "damped", "free"):
        pairs = zip(regulators.modes, states, strict=True)
        who = [str(int(mode) + 1) for mode, its in pairs if its == state]
        if who:
            parts.append(f"mode{'s' if len(who) > 1 else ''} {', '.join(who)} {state}")
    return "; ".join(parts)
