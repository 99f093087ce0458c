"""Signals and curves as the core reads them: one number for each lane beside the other.

A long run goes through buffers that are used again for each piece. Fresh memory for a whole signal
in eight lanes would cost a fifth of the computing time just to be handed out.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from modewright.sound.engine_library import EngineLibrary
    from modewright.sound.voice_program import ControlCurves

__all__ = ["PieceBuffers", "control_table"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PieceBuffers:
    """Memory for one piece of a run.

    Parameters
    ----------
    inputs : dict of arrays, each of shape (samples, lanes)
        By name.
    output, command : arrays, shape (samples, lanes)
    level : array, shape (blocks, observed, lanes)
    """

    inputs: dict[str, NDArray[np.floating]]
    output: NDArray[np.floating]
    command: NDArray[np.floating]
    level: NDArray[np.floating]

    @classmethod
    def sized(
        cls, library: EngineLibrary, names: Sequence[str], samples: int, blocks: int, observed: int
    ) -> PieceBuffers:
        """Buffers of zeros for pieces of at most this length."""
        shape = (samples, library.lanes)
        return cls(
            inputs={name: np.zeros(shape, library.dtype) for name in names},
            output=np.zeros(shape, library.dtype),
            command=np.zeros(shape, library.dtype),
            level=np.zeros((blocks, observed, library.lanes), library.dtype),
        )

    def take(self, given: dict[str, NDArray[np.floating]], first: int, last: int) -> None:
        """Copy the samples from `first` to `last` of every input into its lanes."""
        for name, values in given.items():
            self.inputs[name][: last - first, : values.shape[1]] = values[first:last]


def control_table(
    library: EngineLibrary, curves: Sequence[ControlCurves], regulated: int, first: int, last: int
) -> NDArray[np.floating]:
    """Curves of all voices in the order of `mw_run` (engine.h).

    Parameters
    ----------
    library : EngineLibrary
    curves : sequence of ControlCurves
        One for each voice.
    regulated : int
        Regulators of the voice that has most.
    first, last : int
        Blocks from the first up to but not including the last.

    Returns
    -------
    array, shape (last - first + 1, controls, regulated, lanes)
        The last row holds only what the ramps of the last block end at.
    """
    shape = (last - first + 1, library.controls, regulated, library.lanes)
    table = np.zeros(shape, library.dtype)
    for lane, curve in enumerate(curves):
        column = table[:, :, : curve.target_m.shape[1], lane]
        edges = (curve.target_m, curve.gain)
        steering = (curve.steering.real, curve.steering.imag)
        steps = (curve.feedforward, curve.integral_gain, *steering)
        for at, values in enumerate(edges):
            column[:, at] = values[first : last + 1]
        for at, values in enumerate(steps, start=len(edges)):
            column[:-1, at] = values[first:last]
    return table
