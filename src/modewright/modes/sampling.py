"""Read finite-element modes at places: node values for the sheet shapes, strains for the losses.

A door to the finite-element library, whose Python side carries few types: hence the switches below.
"""

# pyright: reportUnknownMemberType=false, reportUnknownVariableType=false
# pyright: reportUnknownArgumentType=false

from __future__ import annotations

from typing import TYPE_CHECKING

import ngsolve as ng
import numpy as np

from modewright.modes.basis import BendingStrain
from modewright.modes.sheet_shapes import SheetShapes, lattice

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    from modewright.modes.elasticity import ElasticSystem
    from modewright.modes.plane_mesh import PlaneMesh
    from modewright.modes.regions import PlaneRegions

__all__ = ["bending_strain", "sheet_shapes"]

# Sample points are drawn this share towards the middle of their element, so that round-off never
# puts one outside; the displacement error is of the same share.
_INWARD = 1e-7

# Interior points of a rule that integrates polynomials of degree 4 over a triangle:
# Dunavant, Int. J. Numer. Meth. Eng. 21 (1985) 1129, p. 1140.
_RULE = np.array(
    [[a, b, 1 - a - b]
     for u in (0.445948490915965, 0.091576213509771)
     for a, b in ((u, u), (u, 1 - 2 * u), (1 - 2 * u, u))]
)  # fmt: skip
_RULE_WEIGHTS = np.repeat([0.223381589678011, 0.109951743655322], 3)


def sheet_shapes(
    system: ElasticSystem,
    shapes: NDArray[np.float64],
    plane: PlaneMesh,
    regions: PlaneRegions,
    order: int,
) -> SheetShapes:
    """Displacements of the lower face as polynomials on the plane triangles.

    Parameters
    ----------
    system : ElasticSystem
    shapes : float array, shape (unknowns, modes)
        Mass-normalised. [1/sqrt(kg)]
    plane, regions : PlaneMesh, PlaneRegions
        Of the same body.
    order : int
        Polynomial order of the displacements.

    Returns
    -------
    SheetShapes
    """
    corners = plane.points_m[plane.triangles]
    nodes = np.einsum("nc,tcd->tnd", lattice(order), corners)
    middle = corners.mean(axis=1, keepdims=True)
    nodes = nodes + _INWARD * (middle - nodes)
    bottom = np.array([r.bottom_m for r in regions.regions])[plane.region]
    top = np.array([r.top_m for r in regions.regions])[plane.region]
    height = np.repeat(bottom + _INWARD * (top - bottom), nodes.shape[1])
    places = _places(system, nodes.reshape(-1, 2), height)
    field = ng.GridFunction(system.space)
    values = _per_mode(field, shapes, lambda: np.asarray(field(places)))
    return SheetShapes(
        corners_m=corners,
        order=order,
        node_values=values.reshape(*nodes.shape[:2], 3, shapes.shape[1]),
    )


def bending_strain(
    system: ElasticSystem,
    shapes: NDArray[np.float64],
    omega2_rad2_s2: NDArray[np.float64],
    plane: PlaneMesh,
    regions: PlaneRegions,
) -> BendingStrain:
    """Dilatation that is odd through the thickness, for each thickness of the sheet.

    In each column the odd part is taken as linear, e(z) = e' z; its square integrates over the
    thickness h to h e(h/√12)², and over the plane by a rule of degree 4.

    Parameters
    ----------
    system, shapes, plane, regions
        As for `sheet_shapes`.
    omega2_rad2_s2 : float array, shape (modes,)
        Twice the strain energy of each mass-normalised mode. [rad²/s²]

    Returns
    -------
    BendingStrain
    """
    corners = plane.points_m[plane.triangles]
    points = np.einsum("nc,tcd->tnd", _RULE, corners)
    a, b = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    area = np.abs(a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]) / 2
    thickness = np.array([r.top_m - r.bottom_m for r in regions.regions])[plane.region]
    centre = np.array([(r.top_m + r.bottom_m) / 2 for r in regions.regions])[plane.region]
    reach = thickness / np.sqrt(12)
    count = points.shape[1]
    flat = points.reshape(-1, 2)
    over = _places(system, flat, np.repeat(centre + reach, count))
    under = _places(system, flat, np.repeat(centre - reach, count))
    field = ng.GridFunction(system.space)
    dilatation = ng.div(field)

    def odd_part() -> NDArray[np.float64]:
        return (np.asarray(dilatation(over)) - np.asarray(dilatation(under))) / 2

    odd = _per_mode(field, shapes, odd_part).reshape(len(corners), count, -1)
    per_triangle = np.einsum("n,tnm->tm", _RULE_WEIGHTS, odd**2) * (area * thickness)[:, None]
    kinds = np.asarray(np.unique(np.round(thickness, 9)), dtype=np.float64)
    which = np.argmin(np.abs(thickness[:, None] - kinds), axis=1)
    sums = np.array([per_triangle[which == i].sum(axis=0) for i in range(len(kinds))])
    return BendingStrain(thickness_m=kinds, dilatation_per_pa=sums / omega2_rad2_s2)


def _places(
    system: ElasticSystem, points_m: NDArray[np.float64], height_m: NDArray[np.float64]
) -> NDArray[np.void]:
    return system.space.mesh(points_m[:, 0], points_m[:, 1], height_m)


def _per_mode(
    field: ng.GridFunction,
    shapes: NDArray[np.float64],
    read: Callable[[], NDArray[np.float64]],
) -> NDArray[np.float64]:
    """Stack what `read` finds for every mode along a last axis."""
    vector = field.vec.FV().NumPy()
    found: list[NDArray[np.float64]] = []
    for column in shapes.T:
        vector[:] = column
        found.append(read())
    return np.stack(found, axis=-1)
