"""The loop in one set of states, as far as linear theory describes it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from modewright.loop.margins import Margins
    from modewright.loop.poles import LoopPoles

__all__ = ["HeldMode", "LoopCase"]


@dataclass(frozen=True, slots=True, kw_only=True)
class HeldMode:
    """How a held mode swings.

    Parameters
    ----------
    mode : int
        Index in the plant.
    freq_hz : float
        Of its steady swing. [Hz]
    shift_cents : float
        What the loop does to its pitch. [cents]
    level_rate_per_s : float
        Rate at which a deviation of its level dies out; its phase is free. Not a number where the
        pole of the level loop cannot be followed. [1/s]
    """

    mode: int
    freq_hz: float
    shift_cents: float
    level_rate_per_s: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LoopCase:
    """The loop with every treated mode in a given state.

    Parameters
    ----------
    name : str
        What the case stands for.
    states : tuple of str, length regulated
        ``free``, ``held`` or ``damped`` of each treated mode.
    gain : float array, shape (regulated,)
        Linear gains that stand for the regulators. [command/m]
    poles : LoopPoles
        Of every mode. That of a held mode is the one that its linear gain would give, which stands
        for it in the other modes' poles but not in its own: see `held`.
    held : tuple of HeldMode
        The held modes that have a steady swing.
    margins : Margins
    response : complex array, shape (freqs,)
        Open-loop response on the grid of `ClosedLoop.freq_hz`.
    """

    name: str
    states: tuple[str, ...]
    gain: NDArray[np.float64]
    poles: LoopPoles
    held: tuple[HeldMode, ...]
    margins: Margins
    response: NDArray[np.complex128]
