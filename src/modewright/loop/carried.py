"""A controller as it was designed, on a body that has changed since.

Observer and regulators keep their numbers while modes, gaps and couplings of the plant move, as
they do when the room warms up.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from modewright.checks import frozen_array
from modewright.loop.margins import margins_from_response
from modewright.loop.poles import growing_count
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
        In the stated states and with everything damped.
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
    gains = [case.gain for case in (loop.stated, loop.all_damped)]
    stated, all_damped = (
        margins_from_response(grid_hz, terms.response(gain), rate_hz=plant.rate_hz)
        for gain in gains
    )
    growing = [growing_count(plant, loop.observer, loop.regulators, g, terms) for g in gains]
    turned = _commands(loop, plant) / _commands(loop, own)
    return CarriedLoop(
        is_stable=not any(growing),
        stated=stated,
        all_damped=all_damped,
        turn_deg=np.degrees(np.angle(turned)),
    )


def _commands(loop: ClosedLoop, plant: Plant) -> NDArray[np.complex128]:
    """Return ratio of each regulator alone at the frequency of its mode, per unit of its gain."""
    modes = loop.regulators.modes
    terms = loop_terms(plant, loop.observer, loop.regulators, plant.sampled_freq_hz[modes])
    return np.asarray(
        terms.plant * np.diagonal(terms.push_by_innovation) / terms.innovation, dtype=np.complex128
    )
