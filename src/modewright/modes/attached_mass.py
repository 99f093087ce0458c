"""Rigid masses on round footprints: a mass matrix of rank six each.

The footprint moves, in the mean, like the rigid body on it: translation is the mean displacement
of the face, rotation its least-squares fit. Spreading the mass over a finite area matters: a mass
on a point of a solid would slip away from it as the mesh is refined.
"""

# pyright: reportUnknownMemberType=false, reportUnknownVariableType=false
# pyright: reportUnknownArgumentType=false

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import ngsolve as ng
import numpy as np

from modewright.errors import GeometryError
from modewright.modes.prisms import footprint_face

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.geometry.blank import AttachedMass
    from modewright.modes.elasticity import ElasticSystem

__all__ = ["mass_factor"]


def mass_factor(system: ElasticSystem, masses: tuple[AttachedMass, ...]) -> NDArray[np.float64]:
    """Factor F of the added mass matrix F Fᵀ.

    Parameters
    ----------
    system : ElasticSystem
        On a mesh whose faces carry the footprints' names.
    masses : tuple of AttachedMass

    Returns
    -------
    float array, shape (unknowns, 6 * masses)
        [sqrt(kg)]
    """
    columns = [_one_mass(system, number, mass) for number, mass in enumerate(masses)]
    return np.concatenate(columns, axis=1) if columns else np.zeros((system.size, 0))


def _one_mass(system: ElasticSystem, number: int, mass: AttachedMass) -> NDArray[np.float64]:
    face = ng.ds(footprint_face(number, mass.side))
    x, y = ng.x - mass.centre_m[0], ng.y - mass.centre_m[1]
    mesh = system.space.mesh
    area, xx, yy = (float(ng.Integrate(f * face, mesh)) for f in (1 + 0 * x, x * x, y * y))
    if area <= 0:
        raise GeometryError(
            f"tip mass {number + 1}: expected a footprint on the sheet, got none at "
            f"({mass.centre_m[0] * 1e3:.2f}, {mass.centre_m[1] * 1e3:.2f}) mm.",
            hint="Move it onto the sheet.",
        )
    v = system.space.TestFunction()
    # Mean translation and fitted rotation of the footprint, then carried to the centre of mass.
    u_x, u_y, u_z = (_functional(system, v[i] / area * face) for i in range(3))
    turn_x = _functional(system, v[2] * y / yy * face)
    turn_y = _functional(system, -v[2] * x / xx * face)
    turn_z = _functional(system, (v[1] * x - v[0] * y) / (xx + yy) * face)
    height_m = mass.height_m if mass.side == "top" else -mass.height_m
    motions = (u_x + height_m * turn_y, u_y - height_m * turn_x, u_z, turn_x, turn_y, turn_z)
    weights = np.sqrt([mass.mass_kg] * 3 + list(mass.inertia_kg_m2))
    return np.stack(motions, axis=1) * weights


def _functional(system: ElasticSystem, integrand: Any) -> NDArray[np.float64]:  # noqa: ANN401
    form = ng.LinearForm(system.space)
    form += integrand
    form.Assemble()
    return np.array(form.vec.FV().NumPy())
