"""Shapes of slender beams, as a measure against which the motion of a sheet is named."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from modewright.modes.closed_form import beam_roots

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["clamped_free_shapes", "plate_factors"]


def clamped_free_shapes(place: NDArray[np.float64], count: int) -> NDArray[np.float64]:
    """Bending shapes of a beam held at 0 and free at 1.

    Parameters
    ----------
    place : float array, shape (places,)
        From 0 to 1.
    count : int

    Returns
    -------
    float array, shape (places, count)
        Of mean square 1; shape n has n node points, the held end included.

    References
    ----------
    Blevins, Formulas for Natural Frequency and Mode Shape, 1979, table 8-1 (from memory).
    """
    return _shapes(place, beam_roots("clamped-free", count), is_free_start=False, is_free_end=True)


def plate_factors(
    place: NDArray[np.float64], count: int, *, held: tuple[bool, bool]
) -> NDArray[np.float64]:
    """Shapes along one direction of a plate, of which each next one has one node line more.

    Parameters
    ----------
    place : float array, shape (places,)
        From 0 to 1.
    count : int
        At least 3.
    held : tuple of two bools
        Whether the plate is held at 0 and at 1; an end that is not is free.

    Returns
    -------
    float array, shape (places, count)
        Of mean square 1. Column m has m node lines, held edges not counted; with both ends free the
        first two are the rigid motions.
    """
    if held == (True, True):
        roots = beam_roots("clamped-clamped", count)
        return _shapes(place, roots, is_free_start=False, is_free_end=False)
    if held == (True, False):
        return clamped_free_shapes(place, count)
    if held == (False, True):
        return clamped_free_shapes(1 - place, count)
    roots = beam_roots("free-free", count - 2)
    rigid = np.stack([np.ones_like(place), np.sqrt(3) * (2 * place - 1)], axis=1)
    return np.hstack([rigid, _shapes(place, roots, is_free_start=True, is_free_end=True)])


def _shapes(
    place: NDArray[np.float64],
    roots: NDArray[np.float64],
    *,
    is_free_start: bool,
    is_free_end: bool,
) -> NDArray[np.float64]:
    at = place[:, None] * roots
    sign = 1.0 if is_free_start else -1.0
    # Of the two conditions at the end 1 the first: no deflection, or no bending moment.
    end = 1.0 if is_free_start == is_free_end else -1.0
    even, odd = np.cosh(roots) - end * np.cos(roots), np.sinh(roots) - end * np.sin(roots)
    return np.cosh(at) + sign * np.cos(at) - even / odd * (np.sinh(at) + sign * np.sin(at))
