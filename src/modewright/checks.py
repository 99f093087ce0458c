"""Checks of array arguments, one wording each."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["check_finite", "check_positive", "check_shape", "frozen_array"]


def check_shape(values: NDArray[np.generic], name: str, shape: tuple[int | None, ...]) -> None:
    """Raise unless `values` has this shape; None stands for any length.

    Raises
    ------
    ValueError
        Naming the argument, the expected and the found shape.
    """
    fits = values.ndim == len(shape) and all(
        want is None or have == want for have, want in zip(values.shape, shape, strict=True)
    )
    if not fits:
        wanted = ", ".join("any" if want is None else str(want) for want in shape)
        raise ValueError(f"{name}: expected shape ({wanted}), got {values.shape}")


def check_finite(values: NDArray[np.floating], name: str) -> None:
    """Raise ValueError unless every entry is finite."""
    if not np.all(np.isfinite(values)):
        raise ValueError(f"{name}: expected finite numbers, got {values[~np.isfinite(values)][:3]}")


def check_positive(values: NDArray[np.floating], name: str) -> None:
    """Raise ValueError unless every entry is finite and greater than zero."""
    check_finite(values, name)
    if not np.all(values > 0):
        raise ValueError(f"{name}: expected numbers above zero, got {values[values <= 0][:3]}")


def frozen_array(values: object, dtype: type[float] | type[complex] = float) -> NDArray[Any]:
    """Copy into a read-only array, so that a frozen dataclass really is frozen."""
    array: NDArray[Any] = np.array(values, dtype=dtype)
    array.setflags(write=False)
    return array
