"""Stiffness and mass of a body whose lower and upper face are not parallel.

The functions are those of `modewright.modes.elasticity`, polynomials of the plane times functions
of a column coordinate, but the column is stretched at each place between the two faces:

    z = b + ζ h,   ζ from 0 to 1,   b lower face, h thickness,

so that slopes in the body are those of the plane less what the tilt of the column adds,

    ∂/∂x = ∂/∂x|ζ - (b,x + ζ h,x)/h ∂/∂ζ,   ∂/∂z = 1/h ∂/∂ζ.

Each is a sum of products of a function of the plane and one of ζ; the weights that the tilt brings
depend on the plane alone. So the integrals are again products of one over the plane, now by a rule
of integration, and one through the column. The faces themselves are given by their values at the
nodes of the plane: z is then a function of the space, and rigid motions stay free of strain
(isoparametric elements: Zienkiewicz & Taylor, The Finite Element Method, 4th ed., vol. 1, ch. 8;
from memory).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeAlias

import numpy as np

from modewright.modes.elasticity import ElasticSystem, Slab, Term
from modewright.modes.faces import faces_at_nodes
from modewright.modes.plane_space import (
    element_products,
    lower_pattern,
    plane_space,
    triangle_factors,
)
from modewright.modes.triangle import basis_values, triangle_rule

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.geometry.relief import Relief
    from modewright.materials.solid import IsotropicSolid
    from modewright.modes.column import Column
    from modewright.modes.faces import Faces
    from modewright.modes.plane_mesh import PlaneMesh
    from modewright.modes.plane_space import PlaneSpace

__all__ = ["Slope", "assemble_varying", "column_functions", "plane_points", "slopes_of_body"]

# Points beyond those that parallel faces need: tilt and thickness are polynomials and quotients.
_MORE_POINTS = 2
_Kind: TypeAlias = tuple[str, str, tuple[int, ...]]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Slope:
    """One product in a slope of the body: direction, plane factor, weight, function of the column.

    ``plane`` is "x" or "y" for a slope of the plane function, whose weight is one, or "1" for the
    function itself; ``column`` numbers the functions of `column_functions`.
    """

    direction: int
    plane: str
    weight: NDArray[np.float64]
    column: int


def assemble_varying(
    plane: PlaneMesh, relief: Relief, material: IsotropicSolid, column: Column, order: int
) -> ElasticSystem:
    """Assemble stiffness and mass of a body with a relief, without its hold.

    Parameters
    ----------
    plane : PlaneMesh
        Follows the kinks of the relief.
    relief : Relief
        Leaves some metal everywhere.
    material : IsotropicSolid
    column : Column
        Not mirrored, from 0 to the thickness of the stock: its height over that thickness is ζ.
    order : int
        Polynomial order in the plane.

    Returns
    -------
    ElasticSystem
    """
    space = plane_space(plane, order)
    pattern = lower_pattern(space)
    thickness_m = float(column.levels_m[-1])
    faces = faces_at_nodes(space, relief, thickness_m)
    layers = range(len(column.levels_m) - 1)
    everywhere = np.ones(len(space.corners_m), dtype=bool)
    volume, slopes = slopes_of_body(space, faces, thickness_m)
    weights, functions = column_functions(column)
    grams = np.einsum("z,kza,lzb->klab", weights, functions, functions, optimize=True)
    products, blocks = _stiffness(space, slopes, volume, grams, material)
    mass = _plane_products(space, {(): volume}, [("1", "1", ())])
    block = np.zeros((1, 3, column.function_count, 3, column.function_count))
    for component in range(3):
        block[0, component, :, component] = material.density_kg_per_m3 * grams[0, 0]
    return ElasticSystem(
        space=space,
        column=column,
        pattern=pattern,
        slabs=(
            Slab(
                layers=layers,
                triangles=everywhere,
                products=pattern.sums(element_products(space), everywhere),
            ),
        ),
        stiffness=(Term(products=pattern.sums(products, everywhere), blocks=blocks),),
        mass=(Term(products=pattern.sums(mass, everywhere), blocks=block),),
        is_free=np.ones((space.size, 3, column.function_count), dtype=bool),
        faces=faces,
    )


def column_functions(column: Column) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """What the slopes of a body are made of, at the places of a rule through the column.

    Returns
    -------
    weights : float array, shape (places,)
        They add up to the column's height. [m]
    functions : float array, shape (4, places, functions)
        φ, φ', (1 - ζ) φ' and ζ φ'.
    """
    weights, values, slopes, heights = column.samples(range(len(column.levels_m) - 1))
    share = (heights / column.levels_m[-1])[:, None]
    return weights, np.stack([values, slopes, (1 - share) * slopes, share * slopes])


def slopes_of_body(
    space: PlaneSpace, faces: Faces, thickness_m: float
) -> tuple[NDArray[np.float64], list[Slope]]:
    """Products that make up the slopes of a function of the body.

    Parameters
    ----------
    space : PlaneSpace
    faces : Faces
    thickness_m : float
        Height of the column. [m]

    Returns
    -------
    volume : float array, shape (triangles, points)
        Thickness of the body over the height of the column, at the points of `plane_points`.
    slopes : list of Slope
    """
    places, _ = plane_points(space)
    values, local_slopes = basis_values(space.order, places)
    _, to_local = triangle_factors(space.corners_m)
    nodes = space.element_nodes
    bottom, top = faces.bottom_m[nodes], faces.top_m[nodes]
    tilts = np.einsum(
        "ftn,pna,tad->fdtp", np.stack([bottom, top]), local_slopes, to_local, optimize=True
    )
    height = (top - bottom) @ values.T
    stretch = thickness_m / height
    one = np.ones_like(height)
    slopes = [
        Slope(direction=0, plane="x", weight=one, column=0),
        Slope(direction=1, plane="y", weight=one, column=0),
        Slope(direction=2, plane="1", weight=stretch, column=1),
    ]
    for face in faces.tilting:
        slopes += [
            Slope(direction=d, plane="1", weight=-tilts[face, d] * stretch, column=2 + face)
            for d in range(2)
        ]
    return 1 / stretch, slopes


def _stiffness(
    space: PlaneSpace,
    slopes: list[Slope],
    volume: NDArray[np.float64],
    grams: NDArray[np.float64],
    material: IsotropicSolid,
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Plane products (triangles, kinds, nodes, nodes) and the block of each kind.

    With G_pq the integral of slope p of one function times slope q of the other, components c and d
    of isotropic metal are coupled by λ G_cd + μ G_dc, and alike ones besides by μ times the sum of
    the G_pp (Hughes, The Finite Element Method, 1987, sec. 2.7; from memory).
    """
    lame, shear = material.first_lame_pa, material.shear_modulus_pa
    functions = grams.shape[-1]
    kinds: dict[_Kind, int] = {}
    weights: dict[tuple[int, ...], NDArray[np.float64]] = {}
    blocks: list[NDArray[np.float64]] = []
    for k, first in enumerate(slopes):
        for m, second in enumerate(slopes):
            # Slopes of the plane have no weight of their own: kinds differ by the others only.
            own = tuple(sorted(i for i in (k, m) if slopes[i].plane == "1"))
            kind = (first.plane, second.plane, own)
            if kind not in kinds:
                kinds[kind] = len(kinds)
                weights[own] = volume * first.weight * second.weight
                blocks.append(np.zeros((3, functions, 3, functions)))
            block, gram = blocks[kinds[kind]], grams[first.column, second.column]
            p, q = first.direction, second.direction
            block[p, :, q] += lame * gram
            block[q, :, p] += shear * gram
            if p == q:
                for component in range(3):
                    block[component, :, component] += shear * gram
    return _plane_products(space, weights, list(kinds)), np.stack(blocks)


def plane_points(space: PlaneSpace) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Places in a triangle, (points, 3), and shares of its area, (points,), to integrate with."""
    return triangle_rule(space.order + 1 + _MORE_POINTS)


def _plane_products(
    space: PlaneSpace, weights: dict[tuple[int, ...], NDArray[np.float64]], kinds: list[_Kind]
) -> NDArray[np.float64]:
    """Weighted integrals over each triangle of products of plane functions and their slopes.

    Parameters
    ----------
    space : PlaneSpace
    weights : dict of float arrays, shape (triangles, points)
    kinds : list of (str, str, tuple)
        What is multiplied, "x" and "y" for slopes, "1" for the functions themselves, and the name
        of the weight.

    Returns
    -------
    float array, shape (triangles, kinds, nodes, nodes)
    """
    places, shares = plane_points(space)
    values, slopes = basis_values(space.order, places)
    area, to_local = triangle_factors(space.corners_m)
    count, n = len(area), values.shape[1]
    # By no coordinate, for the function itself, or by the two barycentric ones.
    local = {True: values[None], False: np.moveaxis(slopes, -1, 0)}
    tables = {
        (left, right): np.einsum("p,apn,bpm->pabnm", shares, local[left], local[right])
        for left in local
        for right in local
    }
    turn = {"1": np.ones((count, 1)), "x": to_local[:, :, 0], "y": to_local[:, :, 1]}
    sums: dict[tuple[bool, bool, tuple[int, ...]], NDArray[np.float64]] = {}
    found = np.empty((count, len(kinds), n, n))
    for place, (first, second, name) in enumerate(kinds):
        group = (first == "1", second == "1", name)
        if group not in sums:
            table = tables[group[:2]]
            flat = table.reshape(len(shares), -1)
            sums[group] = (weights[name] @ flat).reshape(count, *table.shape[1:])
        both = np.einsum("t,ta,tb->tab", area, turn[first], turn[second]).reshape(count, 1, -1)
        parts = sums[group].reshape(count, both.shape[2], n * n)
        found[:, place] = (both @ parts).reshape(count, n, n)
    return found
