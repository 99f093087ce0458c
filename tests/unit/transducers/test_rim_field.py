"""The field at the rim of plates against finite elements in space.

The reference is `tests/field_in_space.py`: NGSolve, another method than the tool's (J. Schöberl,
C++11 implementation of finite elements in NGSolve, TU Wien 2014). Bounds: 0.5 % with a guard, 3 %
without one, for the capacitance and for its change with the gap.
"""

import numpy as np
import pytest
from shapely import MultiPolygon, Point, Polygon, box, transform

from field_in_space import disc_over, plate_under
from modewright.transducers.coverage import area_points_of, covered_area
from modewright.transducers.edge_walk import walk_rim
from modewright.transducers.fringe import rim_fringe
from modewright.transducers.guard import Guard

MM = 1e-3
ARMS = MultiPolygon([box(-8, 0.5, 8, 4.5), box(-8, -4.5, 8, -0.5)])
L_SHAPE = Polygon([(0, 0), (8, 0), (8, 3), (3, 3), (3, 8), (0, 8)])


def found(plate, sheet, *, gap, thickness, slit=0.0, guard=0.0, tilt=(0.0, 0.0)):
    """C/ε0 and its change per rise of the sheet, as the tool adds them up; lengths in mm."""
    plate_m, sheet_m = (transform(part, lambda c: c * MM) for part in (plate, sheet))
    covered = covered_area("plate", plate_m, sheet_m)
    stations = walk_rim(covered, plate_m, sheet_m)
    area = area_points_of(covered)
    middle = np.array([plate_m.centroid.x, plate_m.centroid.y])
    facing_m, rim_m = (
        gap * MM + (points - middle) @ np.array(tilt)
        for points in (area.points_m, stations.point_m)
    )
    ring = Guard(width_m=guard * MM, gap_m=slit * MM) if guard else None
    mean_m = float(np.average(rim_m, weights=stations.length_m))
    fringe = rim_fringe(covered, stations, mean_m, thickness * MM, ring, (plate_m, sheet_m))
    wide_m = rim_m[:, None] + fringe.filled_m
    value = np.sum(area.weight_m2 / facing_m) + np.sum(fringe.weight_m2 / wide_m)
    change = np.sum(area.weight_m2 / facing_m**2) + np.sum(fringe.weight_m2 / wide_m**2)
    return value / MM, -change


def check(mine, reference, bound):
    assert mine[0] == pytest.approx(reference[0], rel=bound)
    assert mine[1] == pytest.approx(reference[1], rel=bound)


@pytest.mark.slow
@pytest.mark.parametrize(
    ("gap", "slit", "guard", "sheet_radius"),
    [(0.5, 0.2, 1.0, 6.0), (1.0, 0.2, 1.0, 8.0), (0.15, 0.2, 1.0, 6.0), (0.5, 0.6, 1.0, 5.8)],
)
def test_disc_with_a_guard(gap, slit, guard, sheet_radius):
    disc = Point(0, 0).buffer(4.0, quad_segs=64)
    sheet = Point(0, 0).buffer(sheet_radius, quad_segs=64)
    gapped = {"gap": gap, "thickness": 1.0, "slit": slit, "guard": guard}
    check(
        found(disc, sheet, **gapped), disc_over(radius=4, sheet_radius=sheet_radius, **gapped), 5e-3
    )


@pytest.mark.slow
@pytest.mark.parametrize(
    ("gap", "sheet_radius", "thickness"),
    [(0.5, 4.0, 1.0), (0.5, 4.4, 0.3), (0.5, 12.0, 1.0), (1.0, 5.0, 2.0), (0.2, 6.0, 1.0)],
)
def test_disc_without_a_guard(gap, sheet_radius, thickness):
    disc = Point(0, 0).buffer(4.0, quad_segs=64)
    sheet = Point(0, 0).buffer(sheet_radius, quad_segs=64)
    gapped = {"gap": gap, "thickness": thickness}
    check(
        found(disc, sheet, **gapped), disc_over(radius=4, sheet_radius=sheet_radius, **gapped), 0.03
    )


@pytest.mark.slow
def test_disc_wider_than_the_sheet():
    disc, sheet = (Point(0, 0).buffer(radius, quad_segs=64) for radius in (5.0, 4.0))
    gapped = {"gap": 0.5, "thickness": 1.0}
    check(found(disc, sheet, **gapped), disc_over(radius=5, sheet_radius=4, **gapped), 0.03)


@pytest.mark.slow
@pytest.mark.parametrize(
    ("plate", "sheet", "gapped"),
    [
        (box(-4, -3, 4, 3), box(-8, -2, 8, 2), {"gap": 0.6, "thickness": 1.0}),
        (box(-4, -2, 4, 2), box(0, -5, 9, 5), {"gap": 0.6, "thickness": 1.0}),
        (box(-4, -3.5, 4, 3.5), ARMS, {"gap": 0.7, "thickness": 1.0}),
        (L_SHAPE, box(-3, -3, 11, 11), {"gap": 0.6, "thickness": 1.0}),
        (
            box(-5, -2, 5, 2),
            box(-8, -2, 8, 2),
            {"gap": 0.6, "thickness": 1.0, "tilt": (0.04, 0.02)},
        ),
    ],
    ids=["narrow sheet", "partly covered", "two arms", "L", "tilted"],
)
def test_plate_in_space(plate, sheet, gapped):
    check(found(plate, sheet, **gapped), plate_under(plate, sheet, **gapped), 0.03)


@pytest.mark.slow
def test_guarded_plate_under_two_arms():
    plate = box(-3, -3, 3, 3)
    gapped = {"gap": 0.7, "thickness": 1.0, "slit": 0.3, "guard": 1.0}
    sheet = MultiPolygon([box(-6, 0.5, 6, 5), box(-6, -5, 6, -0.5)])
    check(found(plate, sheet, **gapped), plate_under(plate, sheet, **gapped, fine=0.5), 5e-3)
