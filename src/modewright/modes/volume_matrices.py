"""Stiffness and mass of a solid on curved tetrahedra, with what holds it.

One of the doors to the finite-element library, whose Python side carries few types: hence the
switches below. Lengths are in millimetres, masses in kilograms, times in seconds.
"""

# pyright: reportUnknownMemberType=false, reportUnknownVariableType=false
# pyright: reportUnknownArgumentType=false, reportAttributeAccessIssue=false
# pyright: reportUnknownParameterType=false, reportMissingTypeStubs=false

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import ngsolve as ng

from modewright.modes.volume_shape import HELD

if TYPE_CHECKING:
    from modewright.geometry.blank import Hold
    from modewright.materials.solid import IsotropicSolid

__all__ = ["PER_MM3", "VolumeMatrices", "over_held", "over_metal", "volume_matrices"]

PER_MM3 = 1e-9
"""Per cubic millimetre instead of cubic metre."""
_MM = 1e-3
# Of a pressure, kg/(m s²) in kg/(mm s²).
_PRESSURE = 1e-3


@dataclass(frozen=True, slots=True, kw_only=True)
class VolumeMatrices:
    """Space of a solid's motions and the matrices over it.

    ``shifted`` is the stiffness with its hold and, if the body is free, some mass.
    """

    mesh: Any
    space: Any
    shifted: Any
    mass: Any


def volume_matrices(
    mesh: ng.Mesh, material: IsotropicSolid, hold: Hold | None, order: int, shift_rad2_s2: float
) -> VolumeMatrices:
    """Assemble stiffness and mass of a curved mesh."""
    is_rigid = hold is not None and hold.stiffness_n_per_m3 is None
    space = ng.VectorH1(mesh, order=order, dirichlet=HELD if is_rigid else "")
    u, v = space.TnT()
    density = material.density_kg_per_m3 * PER_MM3
    shifted = ng.BilinearForm(space, symmetric=True)
    inside = over_metal(order)
    shifted += (_strain_energy(u, v, material) + shift_rad2_s2 * density * u * v) * inside
    if hold is not None and hold.stiffness_n_per_m3 is not None:
        shifted += _springs(u, v, hold) * over_held(order)
    mass = ng.BilinearForm(space, symmetric=True)
    mass += density * u * v * inside
    shifted.Assemble()
    mass.Assemble()
    return VolumeMatrices(mesh=mesh, space=space, shifted=shifted.mat, mass=mass.mat)


def over_metal(order: int) -> Any:  # noqa: ANN401 - untyped library
    """Integral over the solid, by one rule for all forms: derivatives are those of these sums."""
    return ng.dx(intrules={ng.TET: ng.IntegrationRule(ng.TET, 2 * order)})


def over_held(order: int) -> Any:  # noqa: ANN401 - untyped library
    """Integral over the held faces, by one rule for all forms."""
    return ng.ds(HELD, intrules={ng.TRIG: ng.IntegrationRule(ng.TRIG, 2 * order)})


def _strain_energy(u: Any, v: Any, material: IsotropicSolid) -> Any:  # noqa: ANN401
    lame = material.first_lame_pa * _PRESSURE
    shear = material.shear_modulus_pa * _PRESSURE

    def strain(w: Any) -> Any:  # noqa: ANN401 - untyped library
        return 0.5 * (ng.Grad(w) + ng.Grad(w).trans)

    return 2 * shear * ng.InnerProduct(strain(u), strain(v)) + lame * ng.div(u) * ng.div(v)


def _springs(u: Any, v: Any, hold: Hold) -> Any:  # noqa: ANN401 - untyped library
    normal = ng.specialcf.normal(3)
    # N/m³ is kg/(m² s²).
    stiffness = (hold.stiffness_n_per_m3 or 0.0) * _MM**2
    tangential = stiffness * hold.shear_ratio
    return (stiffness - tangential) * (u * normal) * (v * normal) + tangential * u * v
