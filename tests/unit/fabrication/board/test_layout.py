"""Boards laid out from many plates keep every rule, or say why they cannot."""

import pytest
from hypothesis import assume, example, given, settings
from hypothesis import strategies as st
from shapely import LineString, Point, box

from made_up_board import SETTINGS, SHEET, board_of, board_plate, rectangle
from modewright.fabrication.board.faults import BoardError
from modewright.fabrication.board.rules import broken_rules
from modewright.fabrication.board.settings import BoardSettings
from modewright.transducers.guard import Guard
from modewright.transducers.plate import DiscPlate

SIZE = st.floats(2.0, 12.0)


@settings(max_examples=25, deadline=None)
@given(
    sizes=st.lists(st.tuples(SIZE, st.floats(20.0, 60.0), st.booleans()), min_size=1, max_size=4),
    slit=st.floats(0.2, 1.0),
    bias=st.floats(10.0, 300.0),
)
@example(sizes=[(11.0, 20.0, False), (2.0, 20.0, True)], slit=0.5, bias=10.0)  # slot = router
def test_plates_in_a_column_keep_all_rules(sizes, slit, bias):
    guard = Guard(width_m=1e-3, gap_m=slit * 1e-3)
    plates, y = [], -12.0
    for number, (width, x, has_guard) in enumerate(sizes):
        y += width / 2
        shape = rectangle(x, y, 6.0, width)
        name = f"plate {number}"
        plates.append(board_plate(name, shape, bias_v=bias, guard=guard if has_guard else None))
        y += width / 2 + 2 * (slit + 1.0) + 1.5
    assert broken_rules(board_of(*plates), SETTINGS) == ()


@settings(max_examples=15, deadline=None)
@given(places=st.lists(st.floats(-8.0, 8.0), min_size=2, max_size=4))
def test_leads_never_cross(places):
    plates = [
        board_plate(f"p{i}", rectangle(15 + 14 * i, y, 8, 7), guard=None)
        for i, y in enumerate(places)
    ]
    try:
        board = board_of(*plates)
    except BoardError as error:
        assume("room for its lead" not in str(error))
        raise
    leads = [copper.area for copper in board.on("bottom")]
    apart = [a.distance(b) for i, a in enumerate(leads) for b in leads[:i]]
    assert min(apart) >= 0.6e-3


def test_nothing_but_plates_and_guards_looks_at_the_sheet():
    board = board_of(
        board_plate("a", rectangle(50, -6, 10, 5)), board_plate("b", rectangle(30, 6, 10, 5))
    )
    for copper in board.on("top"):
        if copper.role not in ("plate", "guard"):
            assert copper.area.distance(SHEET) >= SETTINGS.end_distance_m - 1e-9
    for hole in board.holes:
        if hole.kind != "via":
            radius = SETTINGS.screw_head_m / 2 if hole.kind == "screw" else 0.0
            away = Point(hole.disc.centre_m).distance(SHEET) - radius
            assert away >= SETTINGS.end_distance_m - 1e-9


def test_board_grows_no_slots_too_narrow_for_the_router():
    board = board_of(
        board_plate("a", rectangle(50, -4, 10, 5), guard=None),
        board_plate("b", rectangle(50, 3.5, 10, 5), guard=None),
    )
    # 2.5 mm between the plates less 0.5 mm of edge on each side would leave a slot of 1.5 mm.
    assert board.outline.contains(Point(50e-3, -0.25e-3))
    assert not board.outline.contains(Point(20e-3, 0.0))


def test_own_outline_is_kept_and_checked():
    plate = board_plate("a", rectangle(50, 0, 10, 5))
    wide = BoardSettings(
        outline_m=((40e-3, -20e-3), (110e-3, -20e-3), (110e-3, 20e-3), (40e-3, 20e-3))
    )
    board = board_of(plate, settings=wide)
    assert board.outline.equals(box(40e-3, -20e-3, 110e-3, 20e-3))
    assert broken_rules(board, wide) == ()
    short = BoardSettings(
        outline_m=((40e-3, -20e-3), (80e-3, -20e-3), (80e-3, 20e-3), (40e-3, 20e-3))
    )
    assert {b.rule for b in broken_rules(board_of(plate, settings=short), short)} == {"inside"}


def test_guard_stands_on_both_sides_of_the_whole_lead():
    board = board_of(board_plate("a", rectangle(50, 3, 10, 5)))
    below = board.on("bottom")
    lead = next(c.area for c in below if c.role == "lead")
    guard = next(c.area for c in below if c.role == "guard")
    x0, _, x1, _ = lead.bounds
    for x in (x0 + 2e-3, (x0 + x1) / 2, x1 - 3e-3):
        upright = LineString([(x, -0.1), (x, 0.1)])
        _, low, _, high = lead.intersection(upright).bounds
        _, bottom, _, top = guard.intersection(upright).bounds
        assert bottom < low
        assert top > high


def test_plate_too_small_for_its_hole():
    tiny = board_plate("dot", DiscPlate(centre_m=(50e-3, 0.0), diameter_m=0.5e-3), guard=None)
    with pytest.raises(BoardError, match=r"dot: expected a plate with room .* 0\.6 mm"):
        board_of(tiny)


def test_plates_in_one_line_need_room_for_their_leads():
    plates = [board_plate(f"p{i}", rectangle(15 + 12 * i, 0, 8, 2), guard=None) for i in range(4)]
    with pytest.raises(BoardError, match="expected room for its lead beside the others"):
        board_of(*plates)


@pytest.mark.parametrize(
    ("keys", "fault"),
    [
        ({"outline_m": ((0.0, 0.0), (1.0, 0.0))}, "outline"),
        ({"outline_m": ((0.0, 0.0), (1.0, 1.0), (1.0, 0.0), (0.0, 1.0))}, "outline"),
        ({"via_pad_m": 0.4e-3}, "via_pad"),
        ({"pin_pad_m": 1.1e-3}, "pin_pad"),
        ({"screw_head_m": 2e-3}, "screw_head"),
        ({"lead_width_m": 0.1e-3}, "lead_width"),
    ],
)
def test_settings_tell_what_does_not_fit(keys, fault):
    assert [found.key for found in BoardSettings(**keys).problems()] == [fault]
