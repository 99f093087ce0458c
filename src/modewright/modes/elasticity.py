"""Stiffness and mass of a solid sheet, as products of integrals over the plane and through it.

Where the thickness is constant, every function of the solid is a function of the plane times a
function of z, so each integral over the solid is a product of one over the plane and one through
the thickness. Summed over the parts of equal thickness this gives the matrices of elasticity in
three dimensions on prisms, with no hypothesis about plates, without building the prisms.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from modewright.modes.plane_space import element_products, lower_pattern, plane_space

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.materials.solid import IsotropicSolid
    from modewright.modes.column import Column, ThicknessProducts
    from modewright.modes.faces import Faces
    from modewright.modes.fold_map import FoldedPlaces
    from modewright.modes.plane_mesh import PlaneMesh
    from modewright.modes.plane_space import Pattern, PlaneSpace
    from modewright.modes.regions import PlaneRegions

__all__ = ["ElasticSystem", "Slab", "Term", "assemble", "mass_block", "stiffness_blocks"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Slab:
    """A part of the sheet between two levels of the column, and its integrals over the plane.

    Parameters
    ----------
    layers : range
        Of the column.
    triangles : bool array, shape (triangles,)
    products : float array, shape (pairs of nodes, 9)
        In the order of `modewright.modes.plane_space.PRODUCTS`.
    """

    layers: range
    triangles: NDArray[np.bool_]
    products: NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Term:
    """Part of a matrix: the sum over kinds of a plane product times a block.

    Parameters
    ----------
    products : float array, shape (pairs of nodes, kinds)
    blocks : float array, shape (kinds, 3, functions, 3, functions)
        Component and function of z of row and of column.
    """

    products: NDArray[np.float64]
    blocks: NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ElasticSystem:
    """Matrices of a body; its unknowns run over node, component and function of z.

    Parameters
    ----------
    space : PlaneSpace
    column : Column
    pattern : Pattern
    slabs : tuple of Slab
    stiffness, mass : tuples of Term
        K and M without what is attached; one term of M per slab. [N/m], [kg]
    is_free : bool array, shape (nodes, 3, functions)
        Which unknowns exist and are not held.
    faces : Faces or None
        Between which the column is stretched; None where its levels are heights.
    folded : FoldedPlaces or None
        Where the nodes of a bent body lie.
    """

    space: PlaneSpace
    column: Column
    pattern: Pattern
    slabs: tuple[Slab, ...]
    stiffness: tuple[Term, ...]
    mass: tuple[Term, ...]
    is_free: NDArray[np.bool_]
    faces: Faces | None = None
    folded: FoldedPlaces | None = None

    @property
    def shape(self) -> tuple[int, int, int]:
        """Numbers of nodes, components and functions of z."""
        return self.space.size, 3, self.column.function_count

    @property
    def mass_kg(self) -> float:
        """Mass of the body without what is attached: that of a translation. [kg]"""
        one = self.column.coefficients(np.ones(self.column.function_count))
        twice = np.where(self.pattern.rows == self.pattern.columns, 1.0, 2.0)
        return sum(
            float(twice @ term.products[:, 0] * (one @ term.blocks[0, 2, :, 2] @ one))
            for term in self.mass
        )

    @property
    def places_m(self) -> NDArray[np.float64]:
        """Places of the body as a function of it, from about its middle.

        Returns
        -------
        float array, shape (nodes, 3, functions)
            Coefficients of x, y and z. [m]
        """
        if self.folded is not None:
            nodes_m = self.folded.nodes_m
            return (nodes_m - nodes_m.mean(axis=(0, 1))).swapaxes(1, 2)
        column, levels = self.column, self.column.node_heights_m
        middle = levels.mean()
        plane = self.space.nodes_m - self.space.nodes_m.mean(axis=0)
        places = np.empty(self.shape)
        places[:, :2] = plane[:, :, None] * column.coefficients(np.ones_like(levels))
        if self.faces is None:
            places[:, 2] = column.coefficients(levels - middle)
        else:
            bottom, top = self.faces.bottom_m[:, None], self.faces.top_m[:, None]
            places[:, 2] = bottom + (top - bottom) * levels / column.levels_m[-1] - middle
        return places

    @property
    def is_flat(self) -> bool:
        """Whether all faces are level, so that everything is a product of plane and height."""
        return self.faces is None and self.folded is None

    @property
    def families(self) -> tuple[NDArray[np.bool_], ...]:
        """Unknowns of a node that move together, each of shape (3, functions).

        A body that is its own mirror image in the middle plane bends without moving in its plane.
        """
        if not self.column.is_mirrored:
            return (np.ones(self.shape[1:], dtype=bool),)
        odd = self.column.is_odd
        bending = np.stack([odd, odd, ~odd])
        return bending, ~bending


def assemble(
    plane: PlaneMesh,
    regions: PlaneRegions,
    material: IsotropicSolid,
    column: Column,
    order: int,
) -> ElasticSystem:
    """Assemble stiffness and mass of the body without its hold.

    Parameters
    ----------
    plane, regions : PlaneMesh, PlaneRegions
        Of the same sheet.
    material : IsotropicSolid
    column : Column
        With a level at every face of the regions.
    order : int
        Polynomial order in the plane.

    Returns
    -------
    ElasticSystem
    """
    space = plane_space(plane, order)
    pattern = lower_pattern(space)
    products = element_products(space)
    spans = [region_layers(column, r.bottom_m, r.top_m) for r in regions.regions]
    slabs: list[Slab] = []
    is_free = np.zeros((space.size, 3, column.function_count), dtype=bool)
    for layers in sorted(set(spans), key=lambda span: (span.start, span.stop)):
        inside = np.array([span == layers for span in spans])[plane.region]
        slabs.append(Slab(layers=layers, triangles=inside, products=pattern.sums(products, inside)))
        nodes = np.unique(space.element_nodes[inside])
        is_free[nodes] |= column.present(layers)
    lame, shear = material.first_lame_pa, material.shear_modulus_pa
    thickness = [column.products(slab.layers) for slab in slabs]
    density = material.density_kg_per_m3
    return ElasticSystem(
        space=space,
        column=column,
        pattern=pattern,
        slabs=tuple(slabs),
        stiffness=tuple(
            Term(products=slab.products, blocks=stiffness_blocks(lame, shear, z))
            for slab, z in zip(slabs, thickness, strict=True)
        ),
        mass=tuple(
            Term(products=slab.products[:, :1], blocks=mass_block(density, z))
            for slab, z in zip(slabs, thickness, strict=True)
        ),
        is_free=is_free,
    )


def region_layers(column: Column, bottom_m: float, top_m: float) -> range:
    """Layers of a column between two of its levels."""
    low, high = (int(np.argmin(np.abs(column.levels_m - z))) for z in (bottom_m, top_m))
    return range(low, high)


def stiffness_blocks(
    first_lame_pa: float, shear_modulus_pa: float, z: ThicknessProducts
) -> NDArray[np.float64]:
    """What each plane product contributes to the stiffness of a pair of nodes.

    Parameters
    ----------
    first_lame_pa, shear_modulus_pa : float
        λ and μ. [Pa]
    z : ThicknessProducts
        Of the layers that are present.

    Returns
    -------
    float array, shape (9, 3, functions, 3, functions)
        In the order of `modewright.modes.plane_space.PRODUCTS`.

    References
    ----------
    Weak form of isotropic elasticity, ∫ λ div u div v + 2 μ ε(u):ε(v): Hughes, The Finite Element
    Method, 1987, sec. 2.7 (from memory).
    """
    lam, mu = first_lame_pa, shear_modulus_pa
    stiff = lam + 2 * mu
    mz, sz, cz = z.values, z.slopes, z.slope_value
    n = len(mz)
    blocks = np.zeros((9, 3, n, 3, n))
    one, xx, yy, xy, yx, x1, one_x, y1, one_y = blocks
    one[0, :, 0], one[1, :, 1], one[2, :, 2] = mu * sz, mu * sz, stiff * sz
    xx[0, :, 0], xx[1, :, 1], xx[2, :, 2] = stiff * mz, mu * mz, mu * mz
    yy[0, :, 0], yy[1, :, 1], yy[2, :, 2] = mu * mz, stiff * mz, mu * mz
    xy[0, :, 1], xy[1, :, 0] = lam * mz, mu * mz
    yx[0, :, 1], yx[1, :, 0] = mu * mz, lam * mz
    x1[0, :, 2], x1[2, :, 0] = lam * cz.T, mu * cz.T
    one_x[0, :, 2], one_x[2, :, 0] = mu * cz, lam * cz
    y1[1, :, 2], y1[2, :, 1] = lam * cz.T, mu * cz.T
    one_y[1, :, 2], one_y[2, :, 1] = mu * cz, lam * cz
    return blocks


def mass_block(density_kg_per_m3: float, z: ThicknessProducts) -> NDArray[np.float64]:
    """What the plane product of two functions contributes to the mass of a pair of nodes.

    Parameters
    ----------
    density_kg_per_m3 : float
        [kg/m³]
    z : ThicknessProducts
        Of the layers that are present.

    Returns
    -------
    float array, shape (1, 3, functions, 3, functions)
    """
    n = len(z.values)
    block = np.zeros((1, 3, n, 3, n))
    for component in range(3):
        block[0, component, :, component] = density_kg_per_m3 * z.values
    return block
