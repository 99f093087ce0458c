"""A controller as it was designed, on a body that has changed since.

Observer and regulators keep their numbers while modes, gaps and couplings of the plant move, as
they do when the room warms up.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from modewright.checks import frozen_array
from modewright.loop.judge import judge_states
from modewright.loop.transfer import frequency_grid_hz, loop_terms

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.loop.close import ClosedLoop
    from modewright.loop.margins import Margins
    from modewright.loop.plant import Plant

__all__ = ["CarriedLoop", "carry_controller"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CarriedLoop:
    """What a controller does on another plant than its own.

    Parameters
    ----------
    is_stable : bool
        In all states that are judged for the loop on its own plant.
    stated, all_damped : Margins
    turn_deg : float array, shape (regulated,)
        By how much the command for each mode, at that mode's own frequency, is turned against the
        one on the controller's own plant: pickup, converters, delay, observer and driver together;
        -180 to 180. At 90 and beyond, what should damp a mode feeds it. [deg]
    """

    is_stable: bool
    stated: Margins
    all_damped: Margins
    turn_deg: NDArray[np.float64]

    def __post_init__(self) -> None:
        object.__setattr__(self, "turn_deg", frozen_array(self.turn_deg))


def carry_controller(loop: ClosedLoop, plant: Plant) -> CarriedLoop:
    """Judge the controller of a loop on another plant.

    Parameters
    ----------
    loop : ClosedLoop
    plant : Plant
        The same body at another time: as many modes, in the same order, and the same delay.

    Returns
    -------
    CarriedLoop

    Raises
    ------
    ValueError
        If the plant has more or fewer modes, or another delay.
    """
    own = loop.plant
    if (plant.mode_count, plant.delay_samples) != (own.mode_count, own.delay_samples):
        raise ValueError(
            f"plant: expected {own.mode_count} modes and a delay of {own.delay_samples} samples, "
            f"got {plant.mode_count} and {plant.delay_samples}"
        )
    grid_hz = np.union1d(loop.freq_hz, frequency_grid_hz(plant, loop.observer))
    terms = loop_terms(plant, loop.observer, loop.regulators, grid_hz)
    judged = [
        judge_states(
            plant,
            loop.observer,
            loop.regulators,
            terms,
            case.name,
            case.states,
            closely=case.states == loop.stated.states,
        )
        for case in loop.judged
    ]
    turned = _commands(loop, plant) / _commands(loop, own)
    return CarriedLoop(
        is_stable=all(case.is_stable for case in judged),
        stated=judged[0].margins,
        all_damped=judged[1].margins,
        turn_deg=np.degrees(np.angle(turned)),
    )


def _commands(loop: ClosedLoop, plant: Plant) -> NDArray[np.complex128]:
    """Return ratio of each regulator alone at the frequency of its mode, per unit of its gain."""
    modes = loop.regulators.modes
    terms = loop_terms(plant, loop.observer, loop.regulators, plant.sampled_freq_hz[modes])
    return np.asarray(
        terms.plant * np.diagonal(terms.push_by_innovation) / terms.innovation, dtype=np.complex128
    )
