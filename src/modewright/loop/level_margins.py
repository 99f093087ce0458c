"""How far pickup strength, phase and delay may be off before the level of a held mode hunts.

Every disturbance is put into the plant and the steady swing found anew before its neighbourhood is
judged: what disturbs also moves the swing. Stability is taken to be lost once as a disturbance
grows, so that a search by halves finds where.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    from modewright.loop.level_loop import LevelLoop
    from modewright.loop.margins import Margins

__all__ = ["bears_gain", "disturbed", "tightened_margins"]

_BISECTIONS = 7
# A level loop that bears more than these needs no closer figure.
_MOST_DB, _MOST_DEG = 40.0, 90.0
_JUST_BELOW = 0.99


def disturbed(
    loop: LevelLoop, *, gain_db: float = 0.0, lag_deg: float = 0.0, delay_s: float = 0.0
) -> LevelLoop:
    """The same controller with another pickup path.

    Parameters
    ----------
    loop : LevelLoop
    gain_db : float
        How much stronger every mode is heard. [dB]
    lag_deg : float
        By how much every mode is heard later in phase. [deg]
    delay_s : float
        Further delay, taken at the frequency of each mode. [s]

    Returns
    -------
    LevelLoop
    """
    plant = loop.plant
    turn_rad = np.radians(lag_deg) + np.angle(plant.rotation) * plant.rate_hz * delay_s
    heard = plant.pickup_gain * 10 ** (gain_db / 20) * np.exp(-1j * turn_rad)
    return replace(loop, plant=replace(plant, pickup_gain=heard))


def bears_gain(loop: LevelLoop, gain_db: float, grid_hz: NDArray[np.float64]) -> bool:
    """Whether the level does not hunt with every mode heard so much stronger."""
    return _is_steady(disturbed(loop, gain_db=gain_db), grid_hz)


def tightened_margins(
    loop: LevelLoop, margins: Margins, grid_hz: NDArray[np.float64], freq_hz: float
) -> Margins:
    """Margins with those of a level loop where these are smaller.

    Parameters
    ----------
    loop : LevelLoop
        That does not hunt.
    margins : Margins
        Of the linear loop.
    grid_hz : float array
        Frequencies about which plant or observer change fast. [Hz]
    freq_hz : float
        Of the swing, next to which the level loop's margins are. [Hz]

    Returns
    -------
    Margins
    """

    def louder(gain_db: float) -> LevelLoop:
        return disturbed(loop, gain_db=gain_db)

    def lagging(phase_deg: float) -> LevelLoop:
        return disturbed(loop, lag_deg=phase_deg)

    def leading(phase_deg: float) -> LevelLoop:
        return disturbed(loop, lag_deg=-phase_deg)

    def later(delay_s: float) -> LevelLoop:
        return disturbed(loop, delay_s=delay_s)

    found = margins
    gain_db = _largest(louder, min(margins.gain_db, _MOST_DB), grid_hz)
    if gain_db is not None:
        found = replace(found, gain_db=gain_db, gain_freq_hz=freq_hz)
    for turned in (lagging, leading):
        phase_deg = _largest(turned, min(found.phase_deg, _MOST_DEG), grid_hz)
        if phase_deg is not None:
            found = replace(found, phase_deg=phase_deg, phase_freq_hz=freq_hz)
    most_s = min(margins.delay_s, 1 / (4 * freq_hz))
    delay_s = _largest(later, most_s, grid_hz)
    if delay_s is not None:
        found = replace(found, delay_s=delay_s, delay_freq_hz=freq_hz)
    return found


def _is_steady(loop: LevelLoop, grid_hz: NDArray[np.float64]) -> bool:
    swing = loop.swing()
    return swing is not None and not loop.hunts(swing, grid_hz)


def _largest(
    change: Callable[[float], LevelLoop], most: float, grid_hz: NDArray[np.float64]
) -> float | None:
    """Largest disturbance that is borne; None if `most` is."""
    if _is_steady(change(most * _JUST_BELOW), grid_hz):
        return None
    low, high = 0.0, most
    for _ in range(_BISECTIONS):
        middle = (low + high) / 2
        low, high = (middle, high) if _is_steady(change(middle), grid_hz) else (low, middle)
    return low
