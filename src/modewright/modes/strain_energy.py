"""Strain energy of motions of flat sheet, summed up from the strains themselves.

The stiffness matrix of thin sheet holds shear and stretching, which are as many times stiffer than
bending as length over thickness squared: its round-off is that much larger a share of the energy of
a bending mode. Strains are differences of displacements and lose nothing of the kind.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from modewright.modes.plane_space import triangle_factors
from modewright.modes.term_product import TermProduct
from modewright.modes.triangle import basis_values, triangle_rule

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.materials.solid import IsotropicSolid
    from modewright.modes.elasticity import ElasticSystem, Slab

__all__ = ["accurate_modes", "energy_share"]


def accurate_modes(
    system: ElasticSystem,
    material: IsotropicSolid,
    omega2_rad2_s2: NDArray[np.float64],
    shapes: NDArray[np.float64],
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Modes among combinations of modes, by Rayleigh's principle with the energy of the strains.

    Parameters
    ----------
    system : ElasticSystem
        Flat, with its hold.
    material : IsotropicSolid
    omega2_rad2_s2 : float array, shape (modes,)
        [rad²/s²]
    shapes : float array, shape (nodes, 3, functions, modes)
        Orthonormal in mass. [1/sqrt(kg)]

    Returns
    -------
    omega2_rad2_s2, shapes : float arrays
        Rising; an error of a shape counts by its square.
    """
    scale = np.sqrt(np.abs(omega2_rad2_s2))
    work = sum(_slab_work(system, slab, material, shapes / scale) for slab in system.slabs)
    springs = system.stiffness[len(system.slabs) :]
    if springs:
        pulls = TermProduct(system, springs)(shapes / scale)
        work = work + np.tensordot(shapes / scale, pulls, axes=([0, 1, 2], [0, 1, 2]))
    ratio, turn = np.linalg.eigh(scale[:, None] * np.asarray(work) * scale)
    return ratio, shapes @ turn


def energy_share(
    system: ElasticSystem,
    material: IsotropicSolid,
    omega2_rad2_s2: NDArray[np.float64],
    shapes: NDArray[np.float64],
    triangles: NDArray[np.bool_],
) -> NDArray[np.float64]:
    """Share of each mode's strain energy that lies in some triangles.

    Parameters
    ----------
    system : ElasticSystem
        Flat.
    material : IsotropicSolid
    omega2_rad2_s2 : float array, shape (modes,)
        [rad²/s²]
    shapes : float array, shape (nodes, 3, functions, modes)
        Of unit modal mass. [1/sqrt(kg)]
    triangles : bool array, shape (triangles,)

    Returns
    -------
    float array, shape (modes,)
    """
    work = np.zeros(len(omega2_rad2_s2))
    for slab in system.slabs:
        part = replace(slab, triangles=slab.triangles & triangles)
        if np.any(part.triangles):
            work += np.diag(_slab_work(system, part, material, shapes))
    return work / omega2_rad2_s2


def _slab_work(
    system: ElasticSystem, slab: Slab, material: IsotropicSolid, fields: NDArray[np.float64]
) -> NDArray[np.float64]:
    """∫ λ div u div v + 2 μ ε(u):ε(v) over a slab for all pairs of fields, (fields, fields)."""
    space, mu = system.space, material.shear_modulus_pa
    corners_m = space.corners_m[slab.triangles]
    area, to_local = triangle_factors(corners_m)
    places, shares = triangle_rule(space.order + 1)
    values, slopes = basis_values(space.order, places)
    heights, through, steep, _ = system.column.samples(slab.layers)
    nodal = fields[space.element_nodes[slab.triangles]]
    total = np.zeros((fields.shape[-1], fields.shape[-1]))
    for value, slope, share in zip(values, slopes, shares, strict=True):
        local = np.tensordot(slope[:, :2], nodal, axes=(0, 1))
        along = np.einsum("tax,atcfm->xtcfm", to_local, local)
        here = np.tensordot(value, nodal, axes=(0, 1))
        for height, phi, dphi in zip(heights, through, steep, strict=True):
            x, y = np.tensordot(along, phi, axes=(3, 0))
            z = np.tensordot(here, dphi, axes=(2, 0))
            weight = share * height * area
            strains = (
                (x[:, 0] + y[:, 1] + z[:, 2], material.first_lame_pa),
                (x[:, 0], 2 * mu), (y[:, 1], 2 * mu), (z[:, 2], 2 * mu),
                (x[:, 1] + y[:, 0], mu), (x[:, 2] + z[:, 0], mu), (y[:, 2] + z[:, 1], mu),
            )  # fmt: skip
            for strain, modulus in strains:
                total += (strain.T * (modulus * weight)) @ strain
    return total
