"""Rules against boards that were spoilt on purpose."""

from dataclasses import replace

import pytest
from shapely import Polygon, affinity, box

from made_up_board import SETTINGS, board_of, board_plate, rectangle, sound_board
from modewright.fabrication.board.model import Board, Copper, Net
from modewright.fabrication.board.rules import RULES, broken_rules, voltage_between_v
from modewright.fabrication.board.settings import BoardSettings
from modewright.transducers.guard import Guard

STRAY = Net(name="stray", owner="stray", voltage_v=0.0)


@pytest.fixture
def board() -> Board:
    return sound_board()


def with_copper(board: Board, area: Polygon, *, side="top", net=STRAY) -> Board:
    extra = Copper(net=net, role="lead", side=side, area=area)
    return replace(board, copper=(*board.copper, extra))


def changed(board: Board, role: str, change) -> Board:
    """The board with the first copper of a role replaced."""
    old = next(copper for copper in board.copper if copper.role == role)
    new = replace(old, area=change(old.area), loop=None, disc=None)
    return replace(board, copper=tuple(new if c is old else c for c in board.copper))


def told(board: Board, settings: BoardSettings = SETTINGS) -> set[str]:
    broken = broken_rules(board, settings)
    assert all(breach.rule in RULES for breach in broken)
    return {breach.rule for breach in broken}


def head_corner(board: Board) -> tuple[float, float]:
    """A free place on the head, right of its lowest row of screws."""
    _, low_y, high_x, _ = board.outline.bounds
    return high_x - 1.2e-3, low_y + 8e-3


def test_a_sound_board_keeps_all_rules(board):
    assert told(board) == set()


def test_copper_at_the_edge(board):
    _, low_y, high_x, _ = board.outline.bounds
    strip = box(high_x - 0.4e-3, low_y + 8e-3, high_x - 0.1e-3, low_y + 9e-3)
    (breach,) = broken_rules(with_copper(board, strip), SETTINGS)
    assert breach.rule == "inside"
    assert "expected 0.500 mm" in str(breach)
    assert "got 0.100 mm" in str(breach)


def test_copper_outside_the_board(board):
    moved = affinity.translate(board.outline, 100e-3)
    assert told(with_copper(board, moved)) == {"inside"}


def test_narrow_track(board):
    x, y = head_corner(board)
    assert told(with_copper(board, box(x, y, x + 0.2e-3, y + 2e-3))) == set()
    assert told(with_copper(board, box(x, y, x + 0.1e-3, y + 2e-3))) == {"track"}


def test_neck_in_wide_copper(board):
    x, y = head_corner(board)
    pads = box(x, y, x + 0.5e-3, y + 0.5e-3), box(x, y + 1.5e-3, x + 0.5e-3, y + 2e-3)
    neck = box(x + 0.2e-3, y, x + 0.3e-3, y + 2e-3)
    assert told(with_copper(board, neck.union(pads[0]).union(pads[1]))) == {"track"}


@pytest.mark.parametrize(("away_mm", "rule"), [(0.1, "space"), (0.5, "clearance"), (0.65, None)])
def test_copper_too_near_for_its_voltage(board, away_mm, rule):
    pin = next(c for c in board.on("top") if c.role == "pin")
    _, y0, x1, y1 = pin.area.bounds
    strip = box(x1 + away_mm * 1e-3, y0, x1 + away_mm * 1e-3 + 0.2e-3, y1)
    spoilt = with_copper(board, strip)
    rules = {b.rule for b in broken_rules(spoilt, SETTINGS) if "low plate" in b.what}
    assert rules == ({rule} if rule else set())


def test_nets_of_one_pickup_need_only_what_the_board_house_needs():
    narrow = Guard(width_m=1e-3, gap_m=0.16e-3)
    assert told(board_of(board_plate("a", rectangle(50, 0, 10, 5), guard=narrow))) == set()
    tight = Guard(width_m=1e-3, gap_m=0.12e-3)
    assert told(board_of(board_plate("a", rectangle(50, 0, 10, 5), guard=tight))) == {"space"}


def pair(apart_mm: float, bias_v: float) -> Board:
    return board_of(
        board_plate("a", rectangle(45, -3, 8, 4), bias_v=bias_v, guard=None),
        board_plate("b", rectangle(45, 1 + apart_mm, 8, 4), bias_v=bias_v, guard=None),
    )


def test_plates_too_near_for_their_bias():
    # 1.25 mm for 151 V to 300 V.
    assert told(pair(1.3, 200.0)) == set()
    assert told(pair(1.2, 200.0)) == {"clearance"}


def test_thin_air_needs_more():
    # 0.6 mm for 100 V up to 3050 m, 1.5 mm above, for screws too.
    high = replace(SETTINGS, altitude="above 3050 m")
    assert told(pair(1.4, 100.0)) == set()
    assert {b.rule for b in broken_rules(pair(1.4, 100.0), high)} >= {"clearance", "screw"}
    assert "clearance" not in {b.rule for b in broken_rules(pair(1.6, 100.0), high)}


def test_a_cut_lead(board):
    spoilt = changed(board, "lead", lambda area: area.intersection(box(-1, -1, 60e-3, 1)))
    assert told(spoilt) == {"joined", "ring"}


def test_a_missing_hole(board):
    holes = tuple(h for h in board.holes if h.kind != "via")
    broken = broken_rules(replace(board, holes=holes), SETTINGS)
    assert {b.rule for b in broken} == {"joined"}
    assert {b.what for b in broken} == {"low plate", "high plate", "low guard", "high guard"}


def test_holes_too_wide_for_their_copper(board):
    wide = tuple(
        replace(h, disc=replace(h.disc, diameter_m=0.55e-3)) if h.kind == "via" else h
        for h in board.holes
    )
    assert told(replace(board, holes=wide)) == {"ring"}


def test_copper_under_a_screw(board):
    screw = next(h for h in board.holes if h.kind == "screw")
    x, y = screw.disc.centre_m
    strip = box(x + 2.8e-3, y, x + 3.3e-3, y + 0.5e-3)
    assert told(with_copper(board, strip)) == {"screw"}


def test_mask_on_a_plate(board):
    shrunk = tuple(area.buffer(-0.3e-3) for area in board.openings["top"])
    assert told(replace(board, openings={**board.openings, "top": shrunk})) == {"face"}


@pytest.mark.parametrize(("factor", "is_told"), [(1.0009, False), (1.0012, True)])
def test_a_plate_of_the_wrong_size(board, factor, is_told):
    # Both sides grow: the area by twice the excess, 0.18 % or 0.24 %.
    spoilt = changed(board, "plate", lambda area: affinity.scale(area, factor, factor))
    assert ("area" in told(spoilt)) is is_told


def test_a_curve_that_crosses_itself_is_told_alone(board):
    bow = Polygon([(0, 0), (1e-3, 1e-3), (1e-3, 0), (0, 1e-3)])
    assert told(with_copper(board, bow)) == {"closed"}
    assert told(replace(board, outline=Polygon())) == {"closed"}


def test_voltages_between_nets():
    a = Net(name="a", owner="a", voltage_v=100.0)
    b = Net(name="b", owner="b", voltage_v=-150.0)
    assert voltage_between_v(a, b) == 250.0
    assert voltage_between_v(a, replace(b, voltage_v=120.0)) == 120.0
    assert voltage_between_v(a, replace(b, owner="a")) == 0.0
