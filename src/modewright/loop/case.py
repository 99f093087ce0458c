"""The loop in one set of states, as far as linear theory describes it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from modewright.loop.margins import Margins
    from modewright.loop.poles import LoopPoles

__all__ = ["LoopCase"]


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
    margins : Margins
    response : complex array, shape (freqs,)
        Open-loop response on the grid of `ClosedLoop.freq_hz`.
    """

    name: str
    states: tuple[str, ...]
    gain: NDArray[np.float64]
    poles: LoopPoles
    margins: Margins
    response: NDArray[np.complex128]
