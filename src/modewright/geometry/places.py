"""Places in the words of a message."""

from __future__ import annotations

import numpy as np

__all__ = ["place_mm"]


def place_mm(point_m: object) -> str:
    """Coordinates of a place as ``(12.000, -3.500) mm``.

    Parameters
    ----------
    point_m : two floats
        [m]
    """
    x_mm, y_mm = np.round(np.asarray(point_m, dtype=float) * 1e3, 3)
    # Adding zero turns -0.0 into 0.0, which reads better.
    return f"({x_mm + 0.0:.3f}, {y_mm + 0.0:.3f}) mm"
