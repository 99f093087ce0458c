"""How the circuit of a transducer acts back on the modes.

Motion makes a voltage, the voltage a charge or current, and that a force again. The modes see a
dynamic stiffness of rank one, ``D(s) = h(s) t tᵀ``; where Im D(jω) > 0 it takes energy.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from modewright.checks import frozen_array

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.transducers.stage import Stage

__all__ = ["Reaction"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Reaction:
    """Dynamic stiffness ``h(s) t tᵀ`` in modal coordinates.

    Parameters
    ----------
    name : str
        Name of the transducer.
    vector : float array, shape (modes,)
        t: modal force per volt [N/(V sqrt(kg))] or per ampere [N/(A sqrt(kg))].
    stage : Stage
        h: charge per volt [F], or s times current per volt [A/(V s)].
    """

    name: str
    vector: NDArray[np.float64]
    stage: Stage

    def __post_init__(self) -> None:
        object.__setattr__(self, "vector", frozen_array(self.vector))

    def stiffness(self, freq_hz: NDArray[np.float64]) -> NDArray[np.complex128]:
        """Modal dynamic stiffness, each entry at the geometric mean of its two modes' frequencies.

        Parameters
        ----------
        freq_hz : float array, shape (modes,)
            [Hz]

        Returns
        -------
        complex array, shape (modes, modes)
            Exact on the diagonal; symmetric. [1/s²]
        """
        between = np.sqrt(np.outer(freq_hz, freq_hz))
        return np.outer(self.vector, self.vector) * self.stage.response(between)
