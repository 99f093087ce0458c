"""Holes through plates, as another Gerber library reads them."""

import math
from dataclasses import replace

import pytest
from gerbonara import GerberFile
from gerbonara.graphic_objects import Flash, Region
from shapely import Point, Polygon
from shapely.ops import unary_union

from made_up_board import SETTINGS, board_of, board_plate, rectangle
from modewright.fabrication.board.gerber import board_gerbers
from modewright.fabrication.board.model import Disc, Hole
from modewright.fabrication.board.read_back import plate_areas_m2
from modewright.fabrication.board.remarks import board_remarks
from modewright.fabrication.board.rules import broken_rules
from modewright.transducers.perforation import Perforation

HOLES = Perforation(pitch_m=1e-3, diameter_m=0.5e-3, depth_m=1.6e-3)


@pytest.fixture(params=["with guard", "bare"])
def board(request):
    more = {} if request.param == "with guard" else {"guard": None}
    plate = board_plate("vented", rectangle(50, 0, 10, 5), **more)
    return board_of(replace(plate, holes=HOLES))


def test_no_rule_is_broken(board):
    assert not list(broken_rules(board, SETTINGS))


def test_copper_and_drill_agree_in_another_reader(board):
    texts = board_gerbers(board)
    bare = GerberFile.from_string(texts["board_1_holes_bare.gbr"]).objects
    vents = [item for item in bare if math.isclose(item.aperture.diameter, 0.5)]
    # 11 by 5 on the pattern, those at the edge and over the lined hole left out.
    assert 20 < len(vents) <= 9 * 5
    top = GerberFile.from_string(texts["board_1_copper_top.gbr"]).objects
    copper = unary_union([Polygon(item.outline) for item in top if isinstance(item, Region)])
    plate = next(part for part in copper.geoms if part.intersects(Point(50.25, 0.5)))
    assert plate.area == pytest.approx(50 - len(vents) * math.pi / 16, rel=2e-4)
    for vent in vents:
        assert not plate.intersects(Point(vent.x, vent.y).buffer(0.249))
        on_pitch = [math.remainder(place, 1.0) for place in (vent.x - 50, vent.y)]
        assert on_pitch == pytest.approx([0, 0], abs=1e-6)
    under = GerberFile.from_string(texts["board_1_copper_bottom.gbr"]).objects
    for item in under:
        shape = (
            Point(item.x, item.y).buffer(item.aperture.diameter / 2)
            if isinstance(item, Flash)
            else Polygon(item.outline)
        )
        for vent in vents:
            assert shape.distance(Point(vent.x, vent.y)) > 0.25 + 0.149


def test_area_is_read_back_without_holes(board):
    (plate,) = board.plates
    read = plate_areas_m2(board, board_gerbers(board)["board_1_copper_top.gbr"])
    assert read["vented"] == pytest.approx(plate.area_m2, rel=2e-3)
    assert plate.area_m2 < 45e-6


def test_what_the_model_did_not_count_is_told(board):
    told = " ".join(board_remarks(board, replace(SETTINGS, thickness_m=1e-3)))
    assert "the model takes 19.6 %" in told
    assert "1.6 mm long, the board is 1 mm thick" in told


def test_a_hole_in_a_lead_is_told(board):
    lead = next(copper for copper in board.copper if copper.role == "lead")
    x, y = lead.area.representative_point().coords[0]
    hole = Hole(disc=Disc(centre_m=(x, y), diameter_m=0.5e-3), net=None, kind="vent")
    spoilt = replace(board, holes=(*board.holes, hole))
    assert "vent" in {breach.rule for breach in broken_rules(spoilt, SETTINGS)}
