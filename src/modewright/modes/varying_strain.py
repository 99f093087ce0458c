"""Bending strain of a body of varying thickness, sorted by thickness."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from modewright.modes.basis import BendingStrain
from modewright.modes.plane_space import triangle_factors
from modewright.modes.triangle import basis_values
from modewright.modes.varying import column_functions, plane_points, slopes_of_body

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.modes.elasticity import ElasticSystem
    from modewright.modes.faces import Faces

__all__ = ["varying_bending_strain"]

# Heat needs a time as the square of the thickness: twelve kinds between thinnest and thickest.
_KINDS = 12


def varying_bending_strain(
    system: ElasticSystem,
    faces: Faces,
    shapes: NDArray[np.float64],
    omega2_rad2_s2: NDArray[np.float64],
) -> BendingStrain:
    """Dilatation that is linear through the thickness; see `modewright.modes.sampling`.

    Parameters
    ----------
    system : ElasticSystem
    faces : Faces
        Of that system.
    shapes : float array, shape (nodes, 3, functions, modes)
        Mass-normalised. [1/sqrt(kg)]
    omega2_rad2_s2 : float array, shape (modes,)
        Twice the strain energy of each mass-normalised mode. [rad²/s²]

    Returns
    -------
    BendingStrain
        For a number of thicknesses between the least and the greatest.
    """
    space = system.space
    thickness_m = float(system.column.levels_m[-1])
    volume, _ = slopes_of_body(space, faces, thickness_m)
    height = volume * thickness_m
    _, shares = plane_points(space)
    area, _ = triangle_factors(space.corners_m)
    moment = _moments(system, faces, shapes) * (height**2)[..., None]
    squares = (12 / height**3 * area[:, None] * shares)[..., None] * moment**2
    edges = np.linspace(float(height.min()), float(height.max()), _KINDS + 1)
    kind = np.clip(np.searchsorted(edges, height, side="right") - 1, 0, _KINDS - 1).ravel()
    squares = squares.reshape(len(kind), -1)
    sums = np.stack([np.bincount(kind, column, minlength=_KINDS) for column in squares.T], axis=1)
    return BendingStrain(
        thickness_m=(edges[:-1] + edges[1:]) / 2, dilatation_per_pa=sums / omega2_rad2_s2
    )


def _moments(
    system: ElasticSystem, faces: Faces, shapes: NDArray[np.float64]
) -> NDArray[np.float64]:
    """∫ e (ζ - 1/2) dζ of the dilatation e, shape (triangles, points, modes)."""
    space = system.space
    thickness_m = float(system.column.levels_m[-1])
    _, slopes = slopes_of_body(space, faces, thickness_m)
    weights, functions = column_functions(system.column)
    _, _, _, heights = system.column.samples(range(len(system.column.levels_m) - 1))
    lever = weights / thickness_m * (heights / thickness_m - 0.5)
    places, _ = plane_points(space)
    values, local = basis_values(space.order, places)
    _, to_local = triangle_factors(space.corners_m)
    nodes = space.element_nodes
    total = np.zeros((len(nodes), len(places), shapes.shape[-1]))
    for slope in slopes:
        through = lever @ functions[slope.column]
        summed = np.einsum("f,nfm->nm", through, shapes[:, slope.direction])[nodes]
        if slope.plane == "1":
            total += slope.weight[..., None] * np.einsum("pn,tnm->tpm", values, summed)
        else:
            turn = to_local[:, :, slope.direction]
            total += np.einsum("pna,ta,tnm->tpm", local, turn, summed, optimize=True)
    return total
