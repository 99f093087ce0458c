"""Modes as plain arrays, to be kept and read back."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from modewright.modes.basis import BendingStrain, Modes
from modewright.modes.sheet_shapes import SheetShapes

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["modes_from_arrays", "modes_to_arrays"]


def modes_to_arrays(modes: Modes) -> dict[str, NDArray[Any]]:
    """Arrays that hold everything about the modes of a sheet body.

    Raises
    ------
    TypeError
        If the shapes are not those of a sheet.
    """
    if not isinstance(modes.shapes, SheetShapes):
        raise TypeError(f"shapes: expected SheetShapes, got {type(modes.shapes).__name__}")
    return {
        "freq_hz": modes.freq_hz,
        "error_cents": modes.error_cents,
        "labels": np.array(modes.labels, dtype=np.str_),
        "corners_m": modes.shapes.corners_m,
        "order": np.array(modes.shapes.order),
        "node_values": modes.shapes.node_values,
        "middle_values": modes.shapes.middle_values,
        "edge_tolerance_m": np.array(modes.shapes.edge_tolerance_m),
        "thickness_m": modes.bending.thickness_m,
        "dilatation_per_pa": modes.bending.dilatation_per_pa,
        "body_mass_kg": np.array(modes.body_mass_kg),
        "source": np.array(modes.source, dtype=np.str_),
    }


def modes_from_arrays(arrays: dict[str, NDArray[Any]]) -> Modes:
    """Modes that `modes_to_arrays` turned into these arrays."""
    return Modes(
        freq_hz=arrays["freq_hz"],
        error_cents=arrays["error_cents"],
        labels=tuple(str(label) for label in arrays["labels"]),
        shapes=SheetShapes(
            corners_m=arrays["corners_m"],
            order=int(arrays["order"]),
            node_values=arrays["node_values"],
            middle_values=arrays["middle_values"],
            edge_tolerance_m=float(arrays["edge_tolerance_m"]),
        ),
        bending=BendingStrain(
            thickness_m=arrays["thickness_m"], dilatation_per_pa=arrays["dilatation_per_pa"]
        ),
        body_mass_kg=float(arrays["body_mass_kg"]),
        source=str(arrays["source"]),
    )
