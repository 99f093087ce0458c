"""What stands at digital full scale, so that a file can be measured and is never too loud."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np

from modewright.checks import frozen_array

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["Scale", "Sound", "scale_for", "scaled_sound"]

_SILENCE = 1e-12


@dataclass(frozen=True, slots=True, kw_only=True)
class Scale:
    """How samples of a file are read.

    Parameters
    ----------
    rate_hz : float
        [Hz]
    full_scale : float
        What stands at 1. [`unit`]
    unit : {"V", "m"}
        Voltage of a pickup, or displacement of the reference point.
    lowered_db : float
        By how much the whole was lowered to stay below the ceiling, >= 0; already contained in
        `full_scale`. [dB]
    """

    rate_hz: float
    full_scale: float
    unit: Literal["V", "m"]
    lowered_db: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Sound(Scale):
    """Samples for a file.

    Parameters
    ----------
    samples : float array, shape (samples,)
        Between -1 and 1.
    """

    samples: NDArray[np.float64]

    def __post_init__(self) -> None:
        object.__setattr__(self, "samples", frozen_array(self.samples))


def scale_for(
    peak: float,
    rate_hz: float,
    full_scale: float | None,
    unit: Literal["V", "m"],
    ceiling_db: float,
) -> Scale:
    """Find what has to stand at full scale.

    Parameters
    ----------
    peak : float
        Largest magnitude of the signal. [`unit`]
    rate_hz : float
        Sampling rate. [Hz]
    full_scale : float or None
        What should stand at 1; None lets the peak stand at the ceiling. [`unit`]
    unit : {"V", "m"}
    ceiling_db : float
        Highest level allowed, relative to full scale. [dB]

    Returns
    -------
    Scale
        Where the peak would pass the ceiling, the whole is lowered and what stands at full scale is
        raised accordingly, so that the file stays calibrated.
    """
    least = peak / 10 ** (ceiling_db / 20)
    wanted = max(least, _SILENCE) if full_scale is None else full_scale
    used = max(wanted, least)
    return Scale(
        rate_hz=rate_hz,
        full_scale=used,
        unit=unit,
        lowered_db=float(20 * np.log10(used / wanted)),
    )


def scaled_sound(
    output: NDArray[np.float64],
    rate_hz: float,
    full_scale: float | None,
    unit: Literal["V", "m"],
    ceiling_db: float,
) -> Sound:
    """Scale a signal, shape (samples,) in `unit`; everything else as for `scale_for`."""
    peak = float(np.abs(output).max(initial=0.0))
    scale = scale_for(peak, rate_hz, full_scale, unit, ceiling_db)
    return Sound(
        samples=output / scale.full_scale,
        rate_hz=rate_hz,
        full_scale=scale.full_scale,
        unit=unit,
        lowered_db=scale.lowered_db,
    )
