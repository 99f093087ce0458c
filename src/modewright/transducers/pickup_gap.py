"""The gap of a capacitive pickup: what hears, and what pulls."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import Polygon

from modewright.errors import TransducerError
from modewright.geometry.flatten import flatten
from modewright.transducers.coverage import area_points_of, covered_area, covered_points
from modewright.transducers.edge_walk import walk_rim
from modewright.transducers.fringe import rim_fringe
from modewright.transducers.gap import (
    EPSILON_0,
    BiasedGap,
    Gap,
    normal_displacement,
    tilted_gap_m,
)
from modewright.transducers.guard import outer_outline
from modewright.transducers.perforation import perforated
from modewright.transducers.plate import AreaPoints

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.modes.basis import ModeShapes
    from modewright.transducers.capacitive_pickup import CapacitivePickup
    from modewright.transducers.guard import Guard
    from modewright.transducers.underside import Underside

__all__ = ["pickup_gap", "pulling_gap"]

_SAGITTA_M = 5e-6


def pickup_gap(
    pickup: CapacitivePickup, shapes: ModeShapes, underside: Underside | None = None
) -> BiasedGap:
    """Gap of a pickup in the modes of a body, unbent, as the plate hears it.

    Parameters
    ----------
    pickup : CapacitivePickup
    shapes : ModeShapes
        Mass-normalised.
    underside : Underside, optional
        Lower face of the body. Where it does not cover the plate there is no gap; where it lies
        higher than over the plate's centroid, as in an arch, the gap is wider. Without it the face
        is level, the plate must be covered wholly, and the field at its rim is left out, since
        nobody knows where the sheet ends.

    Returns
    -------
    BiasedGap
        Its permeance is the capacitance.

    Raises
    ------
    TransducerError
        If the sheet covers nothing of the plate or, with no sheet given, not all of it.
    """
    plate = pickup.placed_plate
    if underside is not None:
        area = covered_points(pickup.name, plate, underside.plan)
        outline = Polygon(flatten(plate.loop, _SAGITTA_M))
        return _over(pickup, shapes, underside, area, outline, pickup.guard)
    area = plate.area_points()
    width_m = tilted_gap_m(area, pickup.gap_m, (pickup.tilt_x, pickup.tilt_y), area.centroid_m)
    opening = normal_displacement(pickup.name, shapes, area)
    return _biased(pickup, _faces(pickup, area, width_m, opening))


def pulling_gap(
    pickup: CapacitivePickup,
    shapes: ModeShapes,
    underside: Underside | None,
    heard: BiasedGap,
) -> BiasedGap:
    """What pulls on the body: the plate, or plate and guard together, both under the bias.

    Parameters
    ----------
    pickup : CapacitivePickup
    shapes, underside :
        As for `pickup_gap`.
    heard : BiasedGap
        From `pickup_gap`.

    Returns
    -------
    BiasedGap
        `heard` itself without a guard or without a sheet. The slit between plate and guard counts
        as copper: what it takes away is of the order of exp(-π g/s).

    Raises
    ------
    TransducerError
        If the guard stands in the body.
    """
    if pickup.guard is None or underside is None:
        return heard
    outline = outer_outline(pickup.placed_plate, pickup.guard)
    area = area_points_of(covered_area(pickup.name, outline, underside.plan))
    return _over(pickup, shapes, underside, area, outline, None)


def _over(
    pickup: CapacitivePickup,
    shapes: ModeShapes,
    underside: Underside,
    area: AreaPoints,
    outline: Polygon,
    guard: Guard | None,
) -> BiasedGap:
    """Gap under a sheet, with what the rim of the covered area adds."""
    covered = covered_area(pickup.name, outline, underside.plan)
    stations = walk_rim(covered, outline, underside.plan)
    rim = AreaPoints(points_m=stations.point_m, weight_m2=stations.length_m)
    facing_m, rim_m = (_width_m(pickup, underside, part) for part in (area, rim))
    _check_clear(pickup, float(min(facing_m.min(), rim_m.min())))
    fringe = rim_fringe(
        covered,
        stations,
        float(rim.weight_m2 @ rim_m / rim.weight_m2.sum()),
        float(underside.thickness_m(rim.points_m).mean()),
        guard,
        (outline, underside.plan),
    )
    terms = len(fringe.filled_m)
    faces = _faces(pickup, area, facing_m, normal_displacement(pickup.name, shapes, area))
    rim_filled_m = np.tile(fringe.filled_m, len(rim_m))
    rim_opening = normal_displacement(pickup.name, shapes, rim)
    gap = Gap(
        weight_m2=np.concatenate([faces.weight_m2, fringe.weight_m2.ravel()]),
        gap_m=np.concatenate([faces.gap_m, np.repeat(rim_m, terms) + rim_filled_m]),
        opening=np.concatenate([faces.opening, np.repeat(rim_opening, terms, axis=0)]),
        per_m=EPSILON_0,
        filled_m=np.concatenate([np.asarray(faces.filled_m), rim_filled_m]),
        rim_points=len(rim_m) * terms,
        rim_method=fringe.method,
    )
    return _biased(pickup, gap)


def _faces(
    pickup: CapacitivePickup,
    area: AreaPoints,
    width_m: NDArray[np.float64],
    opening: NDArray[np.float64],
) -> Gap:
    """The gap between the faces, with what holes of the plate leave of it."""
    faces = Gap(
        weight_m2=area.weight_m2,
        gap_m=width_m,
        opening=opening,
        per_m=EPSILON_0,
        filled_m=np.zeros(len(width_m)),
    )
    if pickup.holes is None:
        return faces
    # A guard round the plate has none.
    plate = Polygon(flatten(pickup.placed_plate.loop, _SAGITTA_M))
    is_plate = shapely.contains_xy(plate, area.points_m[:, 0], area.points_m[:, 1])
    return perforated(faces, pickup.holes, is_plate)


def _biased(pickup: CapacitivePickup, gap: Gap) -> BiasedGap:
    return BiasedGap(name=pickup.name, gap=gap, bias=pickup.held_bias_v, key="bias")


def _width_m(
    pickup: CapacitivePickup, underside: Underside, area: AreaPoints
) -> NDArray[np.float64]:
    """Gap at places, counted from that at the centroid of the plate. [m]"""
    centroid = pickup.placed_plate.area_points().centroid_m
    tilted_m = tilted_gap_m(area, pickup.gap_m, (pickup.tilt_x, pickup.tilt_y), centroid)
    return tilted_m + underside.height_m(area.points_m) - underside.height_m(centroid[None])


def _check_clear(pickup: CapacitivePickup, least_m: float) -> None:
    """A level plate under an arch may meet the metal beside its middle."""
    if least_m <= 0:
        raise TransducerError(
            f"{pickup.name}: expected a plate clear of the body, got one that would stand "
            f"{-least_m * 1e3:.3f} mm inside it.",
            hint="Widen the gap, make the plate smaller, or cut the arch into the other face.",
            key="gap",
        )
