"""Places and faults in the words of a message."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from modewright.errors import GeometryError

if TYPE_CHECKING:
    from collections.abc import Sequence

__all__ = ["place_mm", "raise_faults"]


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


def raise_faults(faults: Sequence[str]) -> None:
    """Raise one `GeometryError` that tells every fault; do nothing if there is none."""
    if len(faults) == 1:
        raise GeometryError(faults[0])
    if faults:
        lines = "\n".join(f"  {fault}" for fault in faults)
        raise GeometryError(f"{len(faults)} faults of the body:\n{lines}")
