"""Outlines that can be etched: widths, spaces, tracks, slits and ways around."""

import pytest
import shapely
from shapely import LineString, MultiPolygon, Point, box

from modewright.electrodes.outlines import (
    BoardRules,
    cleaned,
    find_slits,
    find_tracks,
    sewn,
    tracked,
)
from modewright.electrodes.routes import shortest_route

RULES = BoardRules(track_m=0.3e-3, space_m=0.3e-3)
BOARD = box(-5e-3, -5e-3, 25e-3, 15e-3)


def test_whiskers_go_and_cracks_close():
    plate = box(0, 0, 10e-3, 10e-3)
    whisker = box(10e-3, 4e-3, 14e-3, 4.2e-3)
    crack = box(5e-3, 3e-3, 5.2e-3, 10e-3)
    found = cleaned(plate.union(whisker).difference(crack), RULES, BOARD)
    assert found.distance(Point(12e-3, 4.1e-3)) > 1.5e-3
    assert found.covers(Point(5.1e-3, 5e-3))
    assert found.area == pytest.approx(plate.area, rel=2e-3)
    # Opening again changes nothing: no copper is narrower than a track.
    opened = found.buffer(-0.149e-3).buffer(0.149e-3)
    assert found.symmetric_difference(opened).area < 1e-3 * found.area


def test_crumbs_are_left_out():
    found = cleaned(
        MultiPolygon([box(0, 0, 0.01, 0.01), box(0.012, 0, 0.0125, 5e-4)]), RULES, BOARD
    )
    assert len(shapely.get_parts(found)) == 1


def test_parts_are_joined_by_the_shortest_tracks():
    parts = MultiPolygon(
        [box(0, 0, 5e-3, 5e-3), box(6e-3, 0, 9e-3, 5e-3), box(0, 7e-3, 5e-3, 9e-3)]
    )
    tracks = find_tracks(parts, RULES, BOARD)
    assert tracks is not None
    assert len(tracks) == 2
    plate = sewn(tracked(parts, tracks, RULES), (), RULES)
    assert plate is not None
    assert plate.is_valid
    assert plate.area == pytest.approx(parts.area + 0.3e-3 * 3e-3, rel=1e-3)
    assert plate.buffer(-0.14e-3).geom_type == "Polygon"  # nowhere narrower than a track


def test_a_hole_is_opened_by_a_slit():
    ring = Point(0, 0).buffer(4e-3).difference(Point(1e-3, 0).buffer(1e-3))
    slits = find_slits(ring, RULES)
    assert len(slits) == 1
    plate = sewn(ring, slits, RULES)
    assert plate is not None
    assert len(plate.interiors) == 0
    # The shortest way out is 2 mm long.
    assert plate.area == pytest.approx(ring.area - 0.3e-3 * 2e-3, rel=2e-3)


def test_a_track_goes_around():
    wall = box(4e-3, -6e-3, 6e-3, 4e-3)
    free = BOARD.difference(wall.buffer(0.45e-3))
    route = shortest_route(Point(1e-3, 1e-3), Point(9e-3, 1e-3), free, 0.15e-3)
    assert route is not None
    assert route.distance(wall) > 0.4e-3
    # Over the corners of the wall, at the distance kept; eight directions are up to 8 % longer.
    bent = LineString([(1e-3, 1e-3), (3.7e-3, 4.3e-3), (6.3e-3, 4.3e-3), (9e-3, 1e-3)])
    assert 0.98 * bent.length < route.length < 1.1 * bent.length


def test_no_way_through():
    wall = box(4e-3, -1.0, 6e-3, 1.0)
    parts = MultiPolygon([box(0, 0, 2e-3, 2e-3), box(8e-3, 0, 10e-3, 2e-3)])
    assert find_tracks(parts, RULES, BOARD.difference(wall)) is None


def test_parts_that_nothing_joins():
    apart = MultiPolygon([box(0, 0, 5e-3, 5e-3), box(8e-3, 0, 12e-3, 5e-3)])
    assert sewn(apart, (), RULES) is None
