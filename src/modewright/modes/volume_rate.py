"""How the modes of a solid follow its dimensions, its material and its hold.

The mesh moves with the body by a field V, displacements go with it. Then

    dλ = ∫ T : ∇V dx,   T = (σ : ε - λ ρ u·u) 1 - 2 ∇uᵀ σ

for the shape (volume form of the derivative; Eshelby's tensor: J. Elasticity 5 (1975) 321; M. C.
Delfour & J.-P. Zolésio, Shapes and Geometries, SIAM 2001; from memory), besides what the constants
of the material and the springs of the hold do. T is worked out once for each mode, after which a
parameter costs a scalar product. On meshes made of polynomials, as here, this is the derivative of
the discretised body.

One of the doors to the finite-element library, whose Python side carries few types: hence the
switches below.
"""

# pyright: reportUnknownMemberType=false, reportUnknownVariableType=false
# pyright: reportUnknownArgumentType=false, reportAttributeAccessIssue=false
# pyright: reportUnknownParameterType=false, reportMissingTypeStubs=false

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import ngsolve as ng
import numpy as np

from modewright.errors import SolveError
from modewright.geometry.solid_shape import TurnedRod
from modewright.modes.rod_mesh import RodMesh
from modewright.modes.volume_matrices import over_held, over_metal

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from numpy.typing import NDArray

    from modewright.geometry.blank import Blank, Hold
    from modewright.modes.body_change import BodyChange
    from modewright.modes.volume_solution import VolumeSolution

__all__ = [
    "VolumeRate",
    "check_volume_change",
    "volume_matrices_of",
    "volume_pulls",
    "volume_rates",
]

_MM = 1e-3
_PER_MM3, _PRESSURE = 1e-9, 1e-3


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class VolumeRate:
    """What one parameter changes, per unit of it, in millimetres, kilograms and seconds.

    Parameters
    ----------
    motion : float array, shape (unknowns,)
        Of the mesh.
    lame, shear, density : float
        Of the material.
    springs : tuple of two floats
        Of the normal and the tangential stiffness of the hold.
    """

    motion: NDArray[np.float64]
    lame: float
    shear: float
    density: float
    springs: tuple[float, float]


def check_volume_change(solution: VolumeSolution, change: BodyChange) -> None:
    """See whether there are derivatives by a change.

    Raises
    ------
    GeometryError
        If the steps of a rod come to go otherwise.
    SolveError
        If a solid from a file would hold other faces.
    """
    _motion(solution, change)


def volume_rates(solution: VolumeSolution, changes: Sequence[BodyChange]) -> tuple[VolumeRate, ...]:
    """Find what every parameter changes.

    Raises
    ------
    GeometryError, SolveError
        As for `check_volume_change`.
    """
    return tuple(_rate(solution, change) for change in changes)


def _rate(solution: VolumeSolution, change: BodyChange) -> VolumeRate:
    below, above = change.lower_material, change.upper_material
    low, high = (_spring_pair(blank.hold) for blank in (change.lower, change.upper))
    return VolumeRate(
        motion=_motion(solution, change),
        lame=change.rate(below.first_lame_pa, above.first_lame_pa) * _PRESSURE,
        shear=change.rate(below.shear_modulus_pa, above.shear_modulus_pa) * _PRESSURE,
        density=change.rate(below.density_kg_per_m3, above.density_kg_per_m3) * _PER_MM3,
        springs=(change.rate(low[0], high[0]), change.rate(low[1], high[1])),
    )


def _spring_pair(hold: Hold | None) -> tuple[float, float]:
    """Normal and tangential stiffness; N/m³ is kg/(m² s²)."""
    stiffness = 0.0 if hold is None else (hold.stiffness_n_per_m3 or 0.0) * _MM**2
    return stiffness, stiffness * (0.0 if hold is None else hold.shear_ratio)


def _motion(solution: VolumeSolution, change: BodyChange) -> NDArray[np.float64]:
    mesh, order = solution.mesh, solution.order
    low, high = change.lower.solid, change.upper.solid
    if isinstance(mesh, RodMesh) and isinstance(low, TurnedRod) and isinstance(high, TurnedRod):
        below, above = (mesh.motion(rod, order) for rod in (low, high))
        return (above - below) / (2 * change.step)
    if _choice(change.lower) != _choice(change.upper):
        raise SolveError(
            "derivatives: expected the same faces of the solid to be held, got a box that moves.",
            hint="A box holds whole faces: it changes the body by leaps or not at all.",
        )
    return np.zeros_like(solution.vectors[:, 0])


def _choice(blank: Blank) -> object:
    return None if blank.hold is None else blank.hold.faces


def volume_matrices_of(
    solution: VolumeSolution, rates: Sequence[VolumeRate]
) -> Callable[[NDArray[np.int64]], NDArray[np.float64]]:
    """What gives Φᵀ (dK/dp - λ dM/dp) Φ of a cluster of modes, (parameters, members, members)."""
    forms = _Forms(solution)
    # What no parameter changes need not be worked out.
    moves = any(rate.motion.any() for rate in rates)
    is_other_metal = any(rate.lame or rate.shear or rate.density for rate in rates)

    def projected(members: NDArray[np.int64]) -> NDArray[np.float64]:
        eigenvalue = float(solution.omega2[members].mean())
        size = len(members)
        found = np.zeros((len(rates), size, size))
        for i in range(size):
            for j in range(i + 1):
                pair = int(members[i]), int(members[j])
                form = forms.of_pair(pair, eigenvalue, moves=moves, is_other_metal=is_other_metal)
                found[:, i, j] = found[:, j, i] = [form.rate(rate) for rate in rates]
        return found

    return projected


def volume_pulls(
    solution: VolumeSolution, rates: Sequence[VolumeRate]
) -> list[tuple[NDArray[np.float64], NDArray[np.float64]]]:
    """What every parameter does to the modes.

    Returns
    -------
    list of pairs of float arrays, shape (unknowns, modes)
        (dK/dp - λ dM/dp) Φ, λ being that of each mode, and dM/dp Φ.
    """
    forms = _Forms(solution)
    return [forms.pulls(rate, solution.omega2) for rate in rates]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _PairForm:
    """Work of a pair of modes by the motion of the mesh and by each constant."""

    motion: NDArray[np.float64]
    lame: float
    shear: float
    density: float
    springs: tuple[float, float]

    def rate(self, rate: VolumeRate) -> float:
        material = self.lame * rate.lame + self.shear * rate.shear + self.density * rate.density
        springs = self.springs[0] * rate.springs[0] + self.springs[1] * rate.springs[1]
        return float(self.motion @ rate.motion) + material + springs


class _Forms:
    """Pairs of modes of one solution."""

    def __init__(self, solution: VolumeSolution) -> None:
        material, hold = solution.material, solution.blank.hold
        self._mesh = solution.mesh.curved(solution.order)
        self._space = ng.VectorH1(self._mesh, order=solution.order)
        self._lame = material.first_lame_pa * _PRESSURE
        self._shear = material.shear_modulus_pa * _PRESSURE
        self._density = material.density_kg_per_m3 * _PER_MM3
        self._springs = _spring_pair(hold)
        self._inside, self._held = over_metal(solution.order), over_held(solution.order)
        self._fields: list[Any] = []
        for vector in solution.vectors.T:
            field = ng.GridFunction(self._space)
            field.vec.FV().NumPy()[:] = vector
            self._fields.append(field)

    def of_pair(
        self, pair: tuple[int, int], eigenvalue: float, *, moves: bool, is_other_metal: bool
    ) -> _PairForm:
        """Work of two modes; 0 by the mesh unless it moves, and by constants that stay."""
        u, v = (self._fields[place] for place in pair)
        total = ng.LinearForm(self._space)
        normal = tangential = lame = shear = density = 0.0
        if moves:
            total += self._by_motion(u, v, eigenvalue) * self._inside
        if self._springs[0] > 0:
            normal, tangential = self._spring_work(u, v)
            if moves:
                total += self._springs_by_motion(u, v) * self._held
        total.Assemble()
        if is_other_metal:
            lame = self._integral(ng.div(u) * ng.div(v))
            shear = 2 * self._integral(ng.InnerProduct(_strain(u), _strain(v)))
            density = -eigenvalue * self._integral(u * v)
        return _PairForm(
            motion=np.array(total.vec.FV().NumPy()),
            lame=lame,
            shear=shear,
            density=density,
            springs=(normal, tangential),
        )

    def pulls(
        self, rate: VolumeRate, omega2: NDArray[np.float64]
    ) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """(dK/dp - λ dM/dp) Φ and dM/dp Φ."""
        motion = ng.GridFunction(self._space)
        motion.vec.FV().NumPy()[:] = rate.motion
        test = self._space.TestFunction()
        growth = rate.density + self._density * ng.div(motion)
        forces: list[NDArray[np.float64]] = []
        weighed: list[NDArray[np.float64]] = []
        for field, eigenvalue in zip(self._fields, omega2, strict=True):
            mass = ng.LinearForm(self._space)
            mass += growth * field * test * self._inside
            mass.Assemble()
            stiffness = ng.LinearForm(self._space)
            stiffness += self._stress_rate(field, test, rate, motion) * self._inside
            if self._springs[0] > 0:
                stiffness += self._spring_rate(field, test, rate, motion) * self._held
            stiffness.Assemble()
            weighed.append(np.array(mass.vec.FV().NumPy()))
            forces.append(stiffness.vec.FV().NumPy() - eigenvalue * weighed[-1])
        return np.stack(forces, axis=1), np.stack(weighed, axis=1)

    def _stress_rate(self, u: Any, v: Any, rate: VolumeRate, motion: Any) -> Any:  # noqa: ANN401
        slope = ng.Grad(motion)
        shear, lame = self._shear, self._lame
        stress = 2 * shear * _strain(u) + lame * ng.div(u) * ng.Id(3)
        turned = -ng.Grad(u) * slope
        change = shear * (turned + turned.trans) + lame * ng.Trace(turned) * ng.Id(3)
        change += 2 * rate.shear * _strain(u) + rate.lame * ng.div(u) * ng.Id(3)
        change += ng.Trace(slope) * stress - stress * slope.trans
        return ng.InnerProduct(change, ng.Grad(v))

    def _spring_rate(self, u: Any, v: Any, rate: VolumeRate, motion: Any) -> Any:  # noqa: ANN401
        firm, soft = self._springs
        normal = ng.specialcf.normal(3)
        slope = ng.Grad(motion).Trace()
        turn = -(slope.trans * normal)
        grown = ng.Trace(slope)
        excess = (firm - soft) * grown + rate.springs[0] - rate.springs[1]
        even = soft * grown + rate.springs[1]
        u, v = u.Trace(), v.Trace()
        turned = (u * turn) * (v * normal) + (u * normal) * (v * turn)
        return excess * (u * normal) * (v * normal) + even * u * v + (firm - soft) * turned

    def _integral(self, value: Any) -> float:  # noqa: ANN401 - untyped library
        return float(ng.Integrate(value * self._inside, self._mesh))

    def _by_motion(self, u: Any, v: Any, eigenvalue: float) -> Any:  # noqa: ANN401
        stresses = [
            2 * self._shear * _strain(w) + self._lame * ng.div(w) * ng.Id(3) for w in (u, v)
        ]
        energy = ng.InnerProduct(stresses[0], _strain(v)) - eigenvalue * self._density * u * v
        pull = ng.Grad(v).trans * stresses[0] + ng.Grad(u).trans * stresses[1]
        slope = ng.Grad(self._space.TestFunction())
        return ng.InnerProduct(energy * ng.Id(3) - pull, slope)

    def _springs_by_motion(self, u: Any, v: Any) -> Any:  # noqa: ANN401
        """Held faces grow and turn: n' = -∇Vᵀn along the face."""
        firm, soft = self._springs
        normal = ng.specialcf.normal(3)
        slope = ng.Grad(self._space.TestFunction()).Trace()
        turn = -(slope.trans * normal)
        u, v = u.Trace(), v.Trace()
        energy = (firm - soft) * (u * normal) * (v * normal) + soft * u * v
        turned = (u * turn) * (v * normal) + (u * normal) * (v * turn)
        return ng.Trace(slope) * energy + (firm - soft) * turned

    def _spring_work(self, u: Any, v: Any) -> tuple[float, float]:  # noqa: ANN401
        normal = ng.specialcf.normal(3)
        across = (u * normal) * (v * normal)
        return (
            float(ng.Integrate(across * self._held, self._mesh)),
            float(ng.Integrate((u * v - across) * self._held, self._mesh)),
        )


def _strain(w: Any) -> Any:  # noqa: ANN401 - untyped library
    return 0.5 * (ng.Grad(w) + ng.Grad(w).trans)
