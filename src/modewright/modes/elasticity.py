"""Linear elasticity of the solid mesh: stiffness, mass, holds.

The weak form is that of any text, e.g. Hughes, The Finite Element Method, 1987, ch. 2.7: strain
energy λ (div u)² + 2 µ ε:ε and kinetic energy ρ u·u. A door to the finite-element library, whose
Python side carries few types: hence the switches below.
"""

# pyright: reportUnknownMemberType=false, reportUnknownVariableType=false
# pyright: reportUnknownArgumentType=false

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import ngsolve as ng
import numpy as np

from modewright.modes.prisms import HELD_FACE

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.geometry.blank import Hold
    from modewright.materials.solid import IsotropicSolid

__all__ = ["ElasticSystem", "assemble"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ElasticSystem:
    """Assembled matrices of a body.

    Parameters
    ----------
    space : ngsolve.VectorH1
        Displacements.
    stiffness, mass : ngsolve bilinear forms
        K and M; the mass of attached bodies is not in M. [N/m], [kg]
    is_free : bool array, shape (unknowns,)
        Which unknowns are not held.
    """

    space: Any
    stiffness: Any
    mass: Any
    is_free: NDArray[np.bool_]

    @property
    def size(self) -> int:
        """Number of unknowns, held ones included."""
        return len(self.is_free)


def assemble(
    mesh: ng.Mesh, material: IsotropicSolid, hold: Hold | None, order: int
) -> ElasticSystem:
    """Assemble stiffness and mass.

    Parameters
    ----------
    mesh : ngsolve.Mesh
        From `modewright.modes.prisms.extrude`.
    material : IsotropicSolid
    hold : Hold or None
        Rigid if it has no stiffness, otherwise springs on the held faces.
    order : int
        Polynomial order of the displacements.

    Returns
    -------
    ElasticSystem
    """
    is_rigid = hold is not None and hold.stiffness_n_per_m3 is None
    space = ng.VectorH1(mesh, order=order, dirichlet=HELD_FACE if is_rigid else "")
    u, v = space.TnT()
    lame, shear = material.first_lame_pa, material.shear_modulus_pa
    strain_u, strain_v = _strain(u), _strain(v)
    stiffness = ng.BilinearForm(space, symmetric=True)
    energy = lame * ng.div(u) * ng.div(v) + 2 * shear * ng.InnerProduct(strain_u, strain_v)
    stiffness += energy * ng.dx
    if hold is not None and hold.stiffness_n_per_m3 is not None:
        stiffness += _springs(u, v, hold.stiffness_n_per_m3, hold.shear_ratio) * ng.ds(HELD_FACE)
    mass = ng.BilinearForm(material.density_kg_m3 * ng.InnerProduct(u, v) * ng.dx, symmetric=True)
    stiffness.Assemble()
    mass.Assemble()
    return ElasticSystem(
        space=space,
        stiffness=stiffness,
        mass=mass,
        is_free=np.array([bool(free) for free in space.FreeDofs()]),
    )


def _strain(u: Any) -> Any:  # noqa: ANN401 - a symbolic expression of the library
    gradient = ng.Grad(u)
    return (gradient + gradient.trans) / 2


def _springs(u: Any, v: Any, stiffness_n_per_m3: float, shear_ratio: float) -> Any:  # noqa: ANN401
    """Normal and tangential springs on the held faces."""
    normal = ng.specialcf.normal(3)
    along = (u.Trace() * normal) * (v.Trace() * normal)
    across = ng.InnerProduct(u.Trace(), v.Trace()) - along
    return stiffness_n_per_m3 * (along + shear_ratio * across)
