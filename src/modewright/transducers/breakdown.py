"""Voltage at which the air of a gap breaks down."""

from __future__ import annotations

__all__ = ["PASCHEN_MINIMUM_V", "breakdown_v"]

PASCHEN_MINIMUM_V = 327.0
"""Below it no gap in air sparks, however narrow; found at 7.5 µm of dry air at 1013 hPa. [V]"""

_FIELD_V_PER_M = 3e6


def breakdown_v(gap_m: float) -> float:
    """Voltage to expect sparks from between smooth faces in dry air at sea level. [V]

    Parameters
    ----------
    gap_m : float
        At its narrowest. [m]

    Notes
    -----
    3 kV/mm is common practice for gaps of some millimetres. Narrower ones withstand more per length
    (Paschen's law, 5 kV/mm at 0.5 mm), burrs, dust and thin air less, so that the figure is a
    warning and no promise.

    References
    ----------
    Y. P. Raizer, Gas Discharge Physics, Springer 1991, section 7.2: Paschen curve of air, minimum
    of about 327 V at 0.567 Torr cm (from memory).

    Examples
    --------
    >>> breakdown_v(0.5e-3), breakdown_v(20e-6)
    (1500.0, 327.0)
    """
    return max(PASCHEN_MINIMUM_V, _FIELD_V_PER_M * gap_m)
