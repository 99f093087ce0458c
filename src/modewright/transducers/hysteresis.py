"""Lag of iron and of piezo ceramics, which grows with the level.

Where fields are small both follow Rayleigh's law: the way up and the way down are two parabolas,
``B = (µ + ν Ĥ) H ± ν (Ĥ² - H²)/2``. The first harmonic lags by ``tan δ = 4 x/(3 π (1 + x))`` with
``x = ν Ĥ/µ``. Iron: R. M. Bozorth, Ferromagnetism, 1951, ch. 11; ceramics: D. Damjanovic,
J. Appl. Phys. 82 (1997) 1788 (both from memory).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["MOST_LAG_RAD", "RayleighLag", "rayleigh_lag"]

_PARABOLAS = 4 / (3 * np.pi)
# What the law allows at any level: 23 degrees.
MOST_LAG_RAD = float(np.arctan(_PARABOLAS))


@dataclass(frozen=True, slots=True, kw_only=True)
class RayleighLag:
    """Lag of a driver's force behind its drive.

    Parameters
    ----------
    full_drive : float
        Peak drive at which the lag is known, > 0. [A or V]
    full_lag_rad : float
        The lag there, >= 0 and less than `MOST_LAG_RAD`. [rad]
    """

    full_drive: float
    full_lag_rad: float

    def at_rad(self, drive: NDArray[np.float64]) -> NDArray[np.float64]:
        """Lag at a peak drive: in proportion to it as long as it is small. [rad]"""
        share = np.tan(self.full_lag_rad) / _PARABOLAS
        x = share / (1 - share) * np.asarray(drive) / self.full_drive
        return np.arctan(_PARABOLAS * x / (1 + x))


def rayleigh_lag(full_drive: float, full_lag_rad: float) -> RayleighLag | None:
    """Lag as a design gives it; None where there is none or nothing is left of the drive."""
    if full_lag_rad == 0 or full_drive <= 0:
        return None
    return RayleighLag(full_drive=full_drive, full_lag_rad=full_lag_rad)
