"""Rigid masses on round footprints: a mass matrix of rank six each.

The footprint moves, in the mean, like the rigid body on it: the rigid motion is the least-squares
fit to the displacement of the face. Spreading the mass over a finite area matters: a mass on a
point of a solid would slip away from it as the mesh is refined.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from modewright.errors import GeometryError
from modewright.modes.plane_space import triangle_factors
from modewright.modes.triangle import basis_values, triangle_rule

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.geometry.blank import AttachedMass
    from modewright.modes.elasticity import ElasticSystem
    from modewright.modes.plane_mesh import PlaneMesh
    from modewright.modes.regions import PlaneRegions

__all__ = ["mass_factor"]


def mass_factor(
    system: ElasticSystem,
    plane: PlaneMesh,
    regions: PlaneRegions,
    masses: tuple[AttachedMass, ...],
) -> NDArray[np.float64]:
    """Factor F of the added mass matrix F Fᵀ.

    Parameters
    ----------
    system : ElasticSystem
    plane, regions : PlaneMesh, PlaneRegions
        Of the same sheet.
    masses : tuple of AttachedMass

    Returns
    -------
    float array, shape (nodes, 3, functions, 6 * masses)
        [sqrt(kg)]

    Raises
    ------
    GeometryError
        If a footprint lies off the sheet.
    """
    factor = np.zeros((*system.shape, 6 * len(masses)))
    for number, mass in enumerate(masses):
        under = np.array([number in r.footprints for r in regions.regions])[plane.region]
        if not np.any(under):
            raise GeometryError(
                f"tip mass {number + 1}: expected a footprint on the sheet, got none at "
                f"({mass.centre_m[0] * 1e3:.2f}, {mass.centre_m[1] * 1e3:.2f}) mm.",
                hint="Move it onto the sheet.",
            )
        added = _one_mass(system, under, mass)
        if system.folded is not None:
            # Worked out along the axes of its panel, which lies where the bends put it.
            frame = system.folded.frames[under][0, 0]
            added = np.einsum("cd,ndfk->ncfk", frame, added)
        factor[..., 6 * number : 6 * number + 6] = added
    return factor


def _one_mass(
    system: ElasticSystem, under: NDArray[np.bool_], mass: AttachedMass
) -> NDArray[np.float64]:
    """Motion of the centre of mass and rotation, times the roots of mass and inertias."""
    space = system.space
    places, shares = triangle_rule(space.order + 2)
    values, _ = basis_values(space.order, places)
    area, _ = triangle_factors(space.corners_m[under])
    nodes = space.element_nodes[under]
    x, y = np.moveaxis(np.einsum("nc,tcd->tnd", places, space.corners_m[under]), -1, 0)
    share = area[:, None] * shares
    motions = _rigid_motions(x - mass.centre_m[0], y - mass.centre_m[1])
    gram = np.einsum("tp,tpck,tpcl->kl", share, motions, motions)
    face = np.einsum("tp,tpck,pn->tnck", share, motions, values)
    sums = np.zeros((space.size, 3, 6))
    np.add.at(sums, nodes, face)
    fitted = np.asarray(sums @ np.linalg.inv(gram), dtype=np.float64)
    height = mass.height_m if mass.side == "top" else -mass.height_m
    fitted[..., 0] += height * fitted[..., 4]
    fitted[..., 1] -= height * fitted[..., 3]
    weights = np.sqrt(np.array([mass.mass_kg] * 3 + list(mass.inertia_kg_m2)))
    fitted = fitted * weights
    result = np.zeros((*system.shape, 6))
    for slab in system.slabs:
        mine = np.unique(space.element_nodes[under & slab.triangles])
        level = slab.layers.stop if mass.side == "top" else slab.layers.start
        result[mine] = fitted[mine][:, :, None] * system.column.at_level(level)[:, None]
    return result


def _rigid_motions(x: NDArray[np.float64], y: NDArray[np.float64]) -> NDArray[np.float64]:
    """Displacements (..., 3 components, 6 motions) of places of the face in rigid motion."""
    motions = np.zeros((*x.shape, 3, 6))
    motions[..., 0, 0] = motions[..., 1, 1] = motions[..., 2, 2] = 1
    motions[..., 2, 3] = y
    motions[..., 2, 4] = -x
    motions[..., 0, 5], motions[..., 1, 5] = -y, x
    return motions
