"""Damping and mass of the air that is squeezed out of the gaps of pickups and drivers."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from modewright.losses.films import film_resistance_n_s_per_m
from modewright.losses.mechanism import Mechanism

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.losses.films import FilmCells
    from modewright.losses.mechanism import LossBody
    from modewright.materials.air import Air
    from modewright.modes.basis import ModeShapes

__all__ = ["MECHANISM", "squeeze_film_reaction"]


def squeeze_film_reaction(
    freq_hz: NDArray[np.float64], shapes: ModeShapes, cells: FilmCells, air: Air
) -> NDArray[np.complex128]:
    """Loss factor of each mode by one air film, and the mass of air that it moves.

    Parameters
    ----------
    freq_hz : float array, shape (modes,)
        [Hz]
    shapes : ModeShapes
        Mass-normalised; every point of the film lies under the sheet.
    cells : FilmCells
        From `modewright.losses.films.film_cells`.
    air : Air

    Returns
    -------
    complex array, shape (modes,)
        ∫ p φ dA/ω. Its real part is the loss factor; for a square plate of side a moving evenly and
        viscous flow the damping is 0.42 µ a⁴/g³. Its imaginary part is the mass of the air that
        rushes in and out, over the modal mass; below 0 where the film is compressed instead.

    Raises
    ------
    GeometryError
        If part of the film lies off the sheet.

    Notes
    -----
    Holes are taken as open to the room, without the resistance of their own depth, and only seen if
    wider than a cell, a 28th of the film. Under arches, pockets and rods the gap follows the face.
    The air that the free sheet would move on this side, of the order of gap over width of the
    film's, is not taken off. For the rest see `film_resistance_n_s_per_m`.

    References
    ----------
    J. J. Blech, On isothermal squeeze films, J. Lubr. Technol. 105 (1983) 615, for the film
    equation without inertia.
    """
    normal = shapes.displacement(cells.points_m)[:, 2, :]
    omega = 2 * np.pi * freq_hz
    resistance = [
        film_resistance_n_s_per_m(cells, float(w), normal[:, mode], air)
        for mode, w in enumerate(omega)
    ]
    return np.array(resistance, dtype=np.complex128) / omega


def _of_body(body: LossBody) -> NDArray[np.complex128]:
    each = [
        squeeze_film_reaction(body.modes.freq_hz, body.modes.shapes, film, body.air)
        for film in body.films
    ]
    return np.sum(each, axis=0) if each else np.zeros(len(body.modes.freq_hz), complex)


MECHANISM = Mechanism(
    name="squeeze film", is_on=lambda settings: settings.squeeze_film, reaction=_of_body
)
