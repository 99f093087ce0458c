"""Matrices of any body that a blank describes: flat, of varying thickness, or bent."""

from __future__ import annotations

from typing import TYPE_CHECKING

from modewright.modes.elasticity import assemble
from modewright.modes.fold_map import fold_of_regions
from modewright.modes.folded import assemble_folded
from modewright.modes.varying import assemble_varying

if TYPE_CHECKING:
    from modewright.geometry.blank import Blank
    from modewright.materials.solid import IsotropicSolid
    from modewright.modes.column import Column
    from modewright.modes.elasticity import ElasticSystem
    from modewright.modes.plane_mesh import PlaneMesh
    from modewright.modes.regions import PlaneRegions

__all__ = ["assemble_body"]


def assemble_body(
    plane: PlaneMesh,
    regions: PlaneRegions,
    blank: Blank,
    material: IsotropicSolid,
    column: Column,
    order: int,
) -> ElasticSystem:
    """Assemble stiffness and mass of the metal of a blank, without hold and attached masses.

    Parameters
    ----------
    plane, regions : PlaneMesh, PlaneRegions
        Of the flat blank.
    blank : Blank
    material : IsotropicSolid
    column : Column
        With a level at every face of the regions; mirrored only if the body is flat and its own
        mirror image.
    order : int
        Polynomial order in the plane.

    Returns
    -------
    ElasticSystem
    """
    if blank.bends:
        return assemble_folded(plane, fold_of_regions(blank, regions), material, column, order)
    if blank.relief is not None:
        return assemble_varying(plane, blank.relief, material, column, order)
    return assemble(plane, regions, material, column, order)
