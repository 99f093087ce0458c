"""Layers as another Gerber library reads them."""

import math

import pytest
from gerbonara import GerberFile
from gerbonara.graphic_objects import Flash, Region
from shapely import Point, Polygon
from shapely.ops import unary_union

from made_up_board import GUARD, SETTINGS, board_of, board_plate, rectangle, sound_board
from modewright.fabrication.board.gerber import board_gerbers
from modewright.fabrication.board.model import Board
from modewright.fabrication.board.read_back import plate_areas_m2, regions
from modewright.transducers.plate import DiscPlate, PolygonPlate

DISC = DiscPlate(centre_m=(40e-3, 6e-3), diameter_m=8e-3)
TRIANGLE = PolygonPlate(corners_m=((20e-3, -9e-3), (23e-3, -9e-3), (20e-3, -5e-3)))


def shapes(text: str) -> list[Polygon]:
    """Areas that the other library finds. [mm]"""
    layer = GerberFile.from_string(text)
    found: list[Polygon] = []
    for item in layer.objects:
        assert item.polarity_dark
        if isinstance(item, Flash):
            radius = item.aperture.diameter / 2
            found.append(Point(item.x, item.y).buffer(radius, 64))
        elif isinstance(item, Region):
            assert all(centre is None for centre in item.arc_centers)
            found.append(Polygon(item.outline))
    return found


def copper_at(text: str, x_mm: float, y_mm: float) -> Polygon:
    """Copper that is joined with this place on its face. [mm]"""
    copper = unary_union(shapes(text))
    return next(part for part in copper.geoms if part.intersects(Point(x_mm, y_mm)))


@pytest.fixture(scope="module")
def board() -> Board:
    return board_of(
        board_plate("rectangle", rectangle(50, -8, 10, 5)),
        board_plate("disc", DISC),
        board_plate("triangle", TRIANGLE, guard=None),
    )


@pytest.fixture(scope="module")
def layers(board) -> dict[str, str]:
    return board_gerbers(board)


def test_plates_have_their_areas(layers):
    top = layers["board_1_copper_top.gbr"]
    assert copper_at(top, 50, -8).area == pytest.approx(50.0, rel=1e-6)
    assert copper_at(top, 40, 6).area == pytest.approx(math.pi * 16, rel=1e-5)
    assert copper_at(top, 21, -8).area == pytest.approx(6.0, rel=1e-6)


def test_guard_goes_round_the_plate_at_its_distance(layers):
    top = layers["board_1_copper_top.gbr"]
    plate, ring = copper_at(top, 50, -8), copper_at(top, 50 + 5 + 0.7, -8)
    # Steiner: the ring of a convex plate has perimeter × width + π (outer² - inner²).
    gap, width = GUARD.gap_m * 1e3, GUARD.width_m * 1e3
    own = 30 * width + math.pi * ((gap + width) ** 2 - gap**2)
    assert ring.area == pytest.approx(own, rel=2e-3)
    # The reader cuts round corners by chords.
    assert plate.distance(ring) == pytest.approx(gap, abs=1e-3)
    assert Polygon(ring.exterior).contains(plate)


def test_mask_leaves_faces_and_slits_bare(layers):
    opened = unary_union(shapes(layers["board_1_mask_top.gbr"]))
    ring = copper_at(layers["board_1_copper_top.gbr"], 50 + 5 + 0.7, -8)
    assert opened.contains(Polygon(ring.exterior))
    assert "TF.FilePolarity,Negative" in layers["board_1_mask_top.gbr"]


def test_leads_lie_below_and_reach_from_plate_to_pin(board, layers):
    lead = copper_at(layers["board_1_copper_bottom.gbr"], *lead_start(board, "rectangle"))
    pin = next(place for net, place in board.pins if net == "rectangle plate")
    assert lead.contains(Point(pin[0] * 1e3, pin[1] * 1e3))
    holes = {(round(hole.x, 3), round(hole.y, 3)) for hole in drilled(layers, "lined")}
    assert (round(pin[0] * 1e3, 3), round(pin[1] * 1e3, 3)) in holes


def lead_start(board: Board, owner: str) -> tuple[float, float]:
    hole = next(h for h in board.holes if h.net and h.net.name == f"{owner} plate")
    return hole.disc.centre_m[0] * 1e3, hole.disc.centre_m[1] * 1e3


def drilled(layers: dict[str, str], kind: str) -> list[Flash]:
    return list(GerberFile.from_string(layers[f"board_1_holes_{kind}.gbr"]).objects)


def test_holes_have_their_diameters(layers):
    lined = sorted(round(hole.aperture.diameter, 3) for hole in drilled(layers, "lined"))
    # Three plates and two guards: a hole and a pin each.
    assert lined == [0.3] * 5 + [1.0] * 5
    bare = {round(hole.aperture.diameter, 3) for hole in drilled(layers, "bare")}
    assert bare == {SETTINGS.screw_hole_m * 1e3}


def test_edge_is_the_outline(board, layers):
    layer = GerberFile.from_string(layers["board_1_edge.gbr"])
    (low_x, low_y), (high_x, high_y) = layer.bounding_box()
    pen = 0.05
    outside = [1e3 * value for value in board.outline.bounds]
    assert [low_x + pen, low_y + pen, high_x - pen, high_y - pen] == pytest.approx(outside)


def test_text_does_not_change_from_one_run_to_the_next(board, layers):
    assert board_gerbers(board) == layers
    assert not any("CreationDate" in text for text in layers.values())


def test_own_reading_agrees_with_the_other_library(board, layers):
    top = layers["board_1_copper_top.gbr"]
    areas = plate_areas_m2(board, top)
    assert areas["rectangle"] == pytest.approx(50e-6, rel=1e-6)
    assert areas["disc"] == pytest.approx(math.pi * 16e-6, rel=1e-5)
    others = [area.area for area in shapes(top) if len(area.exterior.coords) > 3]
    ours = sum(area.area for area in regions(top)) * 1e6
    discs = sum(Point(0, 0).buffer(d, 64).area for d in [0.85] * 5 + [0.5] * 3)
    assert ours == pytest.approx(sum(others) - discs, rel=1e-9)


def test_own_reading_sees_missing_copper_and_refuses_what_it_does_not_know():
    board = sound_board()
    top = board_gerbers(board)["board_1_copper_top.gbr"]
    first = top.index("G36*")
    emptied = top[:first] + top[top.index("G37*", first) + 4 :]
    assert plate_areas_m2(board, emptied)["low"] == 0.0
    with pytest.raises(ValueError, match="expected straight edges, got 'G03"):
        list(regions(top.replace("G01*", "G03*", 1)))
    with pytest.raises(ValueError, match="expected millimetres"):
        list(regions(top.replace("%MOMM*%", "%MOIN*%")))
