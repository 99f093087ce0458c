"""Thickness that a cold-rolled stainless narrow strip may have.

Source: ISO 9445, tolerances on thickness of continuously cold-rolled stainless narrow strip, widths
below 125 mm; 0.05 to 0.40 mm from the summary of the British Stainless Steel Association, thicker
strip from memory of the same table. The reprint leaves open to which band an edge belongs; here it
belongs to the thicker one.
"""

from __future__ import annotations

from modewright.errors import ModewrightError

__all__ = ["STRIP_CLASSES", "strip_limit_m", "strip_source"]

STRIP_CLASSES = ("normal", "fine", "precision")
_SOURCE = "ISO 9445, cold-rolled stainless narrow strip, width below 125 mm"
_MEMORY_M = 0.40e-3

# Upper end of the band and limits of the three classes. [mm]
_THINNEST_MM, _RELATIVE_BELOW_MM = 0.05, 0.10
_RELATIVE = (0.10, 0.06, 0.04)
_BANDS_MM = (
    (0.15, (0.010, 0.008, 0.006)),
    (0.20, (0.015, 0.010, 0.008)),
    (0.25, (0.015, 0.012, 0.008)),
    (0.30, (0.017, 0.012, 0.009)),
    (0.40, (0.020, 0.015, 0.010)),
    (0.50, (0.025, 0.020, 0.012)),
    (0.60, (0.030, 0.025, 0.014)),
    (0.80, (0.030, 0.025, 0.015)),
    (1.00, (0.030, 0.025, 0.018)),
    (1.20, (0.035, 0.030, 0.020)),
    (1.50, (0.040, 0.030, 0.020)),
    (2.00, (0.050, 0.035, 0.025)),
    (3.00, (0.060, 0.045, 0.030)),
)


def strip_limit_m(thickness_m: float, grade: str) -> float:
    """Largest deviation from the ordered thickness.

    Parameters
    ----------
    thickness_m : float
        Ordered. [m]
    grade : {"normal", "fine", "precision"}

    Returns
    -------
    float
        [m]

    Raises
    ------
    ModewrightError
        If the standard has no such strip.
    """
    column, thickness_mm = STRIP_CLASSES.index(grade), thickness_m * 1e3
    if _THINNEST_MM <= thickness_mm < _RELATIVE_BELOW_MM:
        return _RELATIVE[column] * thickness_m
    for upper_mm, limits_mm in _BANDS_MM:
        if _RELATIVE_BELOW_MM <= thickness_mm < upper_mm:
            return limits_mm[column] * 1e-3
    raise ModewrightError(
        f"spread.tolerances: expected strip of 0.05 mm to below 3 mm, got {thickness_mm:.3g} mm.",
        hint='Give the tolerance by hand, with kind = "amount".',
    )


def strip_source(thickness_m: float, grade: str) -> str:
    """Where the limit comes from."""
    memory = ", row from memory" if thickness_m >= _MEMORY_M else ""
    return f"{_SOURCE}, class {grade}{memory}"
