"""How far apart bare copper must lie for a voltage."""

from __future__ import annotations

import math

from modewright.errors import ModewrightError

__all__ = ["ALTITUDES", "clearance_m"]

ALTITUDES = ("up to 3050 m", "above 3050 m")

# IPC-2221, Generic Standard on Printed Board Design, table 6-1, outer conductors without coating:
# column B2 up to 3050 m above the sea, B3 above (from memory; the standard in force decides).
# Highest voltage of each row in volts, direct or peak; distances in millimetres.
_ROWS_V = (15.0, 30.0, 50.0, 100.0, 150.0, 170.0, 250.0, 300.0, 500.0)
_COLUMNS_MM = {
    "up to 3050 m": (0.1, 0.1, 0.6, 0.6, 0.6, 1.25, 1.25, 1.25, 2.5),
    "above 3050 m": (0.1, 0.1, 0.6, 1.5, 3.2, 3.2, 6.4, 12.5, 12.5),
}


def clearance_m(voltage_v: float, altitude: str) -> float:
    """Least distance of bare outer conductors. [m]

    Parameters
    ----------
    voltage_v : float
        Largest direct or peak voltage between them; the sign does not matter. [V]
    altitude : str
        One of `ALTITUDES`.

    Returns
    -------
    float

    Raises
    ------
    ModewrightError
        Above 500 V, where the table gives a slope and this tool no longer answers.

    References
    ----------
    IPC-2221, table 6-1, columns B2 and B3 (from memory).

    Examples
    --------
    >>> clearance_m(100.0, "up to 3050 m"), clearance_m(-160.0, "up to 3050 m")
    (0.0006, 0.00125)
    """
    if not math.isfinite(voltage_v) or abs(voltage_v) > _ROWS_V[-1]:
        raise ModewrightError(
            f"voltage: expected at most {_ROWS_V[-1]:g} V between conductors of a board, got "
            f"{voltage_v:g} V.",
            hint="Lower the bias, or have the board designed by somebody licensed for it.",
        )
    row = next(i for i, highest in enumerate(_ROWS_V) if abs(voltage_v) <= highest)
    return float(f"{_COLUMNS_MM[altitude][row] * 1e-3:.6g}")
