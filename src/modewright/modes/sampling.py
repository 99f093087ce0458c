"""What is read from the solution: node values of faces and middle plane, and the bending strain."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from modewright.modes.basis import BendingStrain
from modewright.modes.folded_strain import folded_bending_strain
from modewright.modes.plane_space import triangle_factors
from modewright.modes.sheet_shapes import SheetShapes
from modewright.modes.triangle import basis_values, triangle_rule
from modewright.modes.varying_strain import varying_bending_strain

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.modes.elasticity import ElasticSystem

__all__ = ["bending_strain", "sheet_shapes"]

_SAME_THICKNESS_M = 1e-9


def sheet_shapes(system: ElasticSystem, shapes: NDArray[np.float64]) -> SheetShapes:
    """Displacements of lower face and middle plane as polynomials on the plane triangles.

    Parameters
    ----------
    system : ElasticSystem
    shapes : float array, shape (nodes, 3, functions, modes)
        Mass-normalised. [1/sqrt(kg)]

    Returns
    -------
    SheetShapes
    """
    space = system.space
    below, middle = np.zeros((2, *space.element_nodes.shape, 3, shapes.shape[-1]))
    for slab in system.slabs:
        nodes = space.element_nodes[slab.triangles]
        levels = slab.layers.start, slab.layers.stop
        lower, upper = (
            np.einsum("f,ncfm->ncm", system.column.at_level(level), shapes) for level in levels
        )
        below[slab.triangles] = lower[nodes]
        middle[slab.triangles] = (lower + upper)[nodes] / 2
    if system.folded is not None:
        # Where sheet is bent, motion is told along its own axes: pickups face the sheet.
        frames = system.folded.frames
        below, middle = (np.einsum("tncd,tncm->tndm", frames, v) for v in (below, middle))
    return SheetShapes(
        corners_m=space.corners_m, order=space.order, node_values=below, middle_values=middle
    )


def bending_strain(
    system: ElasticSystem,
    shapes: NDArray[np.float64],
    omega2_rad2_s2: NDArray[np.float64],
) -> BendingStrain:
    """Dilatation that is odd through the thickness, for each thickness of the sheet.

    Of the dilatation e in each column the part that is linear about its middle counts, as in bent
    sheet: its square integrates over the thickness h to 12 (∫ e ζ dζ)² / h³.

    Parameters
    ----------
    system : ElasticSystem
    shapes : float array, shape (nodes, 3, functions, modes)
        Mass-normalised. [1/sqrt(kg)]
    omega2_rad2_s2 : float array, shape (modes,)
        Twice the strain energy of each mass-normalised mode. [rad²/s²]

    Returns
    -------
    BendingStrain
    """
    if system.faces is not None:
        return varying_bending_strain(system, system.faces, shapes, omega2_rad2_s2)
    if system.folded is not None:
        return folded_bending_strain(system, system.folded, shapes, omega2_rad2_s2)
    levels = system.column.levels_m
    thickness = [levels[s.layers.stop] - levels[s.layers.start] for s in system.slabs]
    sums = [
        12 * _squared_moment(system, slab.triangles, slab.layers, shapes) / h**3
        for slab, h in zip(system.slabs, thickness, strict=True)
    ]
    kinds: list[float] = []
    totals: list[NDArray[np.float64]] = []
    for h, part in sorted(zip(thickness, sums, strict=True), key=lambda pair: pair[0]):
        if kinds and h - kinds[-1] < _SAME_THICKNESS_M:
            totals[-1] = totals[-1] + part
        else:
            kinds.append(float(h))
            totals.append(part)
    return BendingStrain(
        thickness_m=np.array(kinds), dilatation_per_pa=np.array(totals) / omega2_rad2_s2
    )


def _squared_moment(
    system: ElasticSystem,
    triangles: NDArray[np.bool_],
    layers: range,
    shapes: NDArray[np.float64],
) -> NDArray[np.float64]:
    """∫ (∫ e ζ dζ)² over some triangles, shape (modes,)."""
    space = system.space
    value_moments, slope_moments = system.column.first_moments(layers)
    within = np.einsum("f,ncfm->ncm", value_moments, shapes[:, :2])
    across = np.einsum("f,nfm->nm", slope_moments, shapes[:, 2])
    places, weights = triangle_rule(space.order + 1)
    values, slopes = basis_values(space.order, places)
    area, to_local = triangle_factors(space.corners_m[triangles])
    nodes = space.element_nodes[triangles]
    turned = np.einsum("tad,tndm->tnam", to_local, within[nodes])
    moment = np.einsum("pna,tnam->tpm", slopes, turned, optimize=True)
    moment += np.einsum("pn,tnm->tpm", values, across[nodes], optimize=True)
    return np.einsum("t,p,tpm->m", area, weights, moment**2, optimize=True)
