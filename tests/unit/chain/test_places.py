"""Places of a design: drivers of a drawing, and every fault with its key."""

import ezdxf
import numpy as np
import pytest
from scipy import special

from modewright.chain.places import place_design
from modewright.design.load import parse_design
from modewright.errors import BodyError

DRAWN = """
[material]
name = "stainless 301"
[stock]
thickness = "1 mm"
[resonator]
kind = "drawn outline"
file = "plan.dxf"
[support]
kind = "clamped"
[[drivers]]
kind = "moving coil"
name = "first"
at = "DRIVER_A"
[[drivers]]
kind = "biased electromagnet"
name = "second"
at = "DRIVER_B"
iron_gap = "2 mm"
armature = {diameter = "9 mm", thickness = "0.5 mm"}
[[drivers]]
kind = "moving coil"
name = "third"
at = "DRIVER_B"
side = "below"
diameter = "2 mm"
"""


@pytest.fixture
def folder(tmp_path):
    """Folder with a strip of 80 by 20 mm, a driver point and a square driver area of 4 mm."""
    document = ezdxf.new()
    document.header["$INSUNITS"] = 4
    space = document.modelspace()
    corners = [(0, -10), (80, -10), (80, 10), (0, 10)]
    space.add_lwpolyline(corners, close=True, dxfattribs={"layer": "OUTLINE"})
    space.add_line((0, -10), (0, 10), dxfattribs={"layer": "CLAMP"})
    space.add_point((30, 5), dxfattribs={"layer": "DRIVER_A"})
    square = [(58, -3), (62, -3), (62, 1), (58, 1)]
    space.add_lwpolyline(square, close=True, dxfattribs={"layer": "DRIVER_B"})
    document.saveas(tmp_path / "plan.dxf")
    return tmp_path


def placed(text, folder):
    return place_design(parse_design(text.encode(), folder=folder).design, folder)


def test_drivers_stand_where_the_drawing_puts_them(folder):
    first, second, third = placed(DRAWN, folder).design.drivers
    assert first.place_m == pytest.approx((0.03, 0.005))
    assert first.face_diameter_m == 8e-3  # a point has no size: the coil keeps its own
    assert second.place_m == pytest.approx((0.06, -0.001))
    assert np.pi * second.face_diameter_m**2 / 4 == pytest.approx(16e-6)
    assert third.place_m == pytest.approx((0.06, -0.001))
    assert third.face_diameter_m == 2e-3


def test_masses_of_drawn_drivers_ride_on_the_blank(folder):
    coil, disc, _ = placed(DRAWN, folder).blank.masses
    assert coil.centre_m == pytest.approx((0.03, 0.005))
    assert disc.centre_m == pytest.approx((0.06, -0.001))


def test_drivers_at_named_places_of_a_family(folder):
    text = DRAWN.replace('"drawn outline"', '"strip reed"')
    text = text.replace('file = "plan.dxf"', 'length = "80 mm"\nwidth = "20 mm"')
    text = text.replace('"DRIVER_A"', '"middle"\noffset = ["-20 mm", "1 mm"]')
    first, *others = placed(text.replace("DRIVER_B", "middle"), folder).design.drivers
    assert first.place_m == pytest.approx((0.02, 0.001))
    for driver in others:
        assert driver.place_m == pytest.approx((0.04, 0.0))


def test_unknown_place_lists_those_there_are(folder):
    with pytest.raises(BodyError) as caught:
        placed(DRAWN.replace("DRIVER_A", "DRIVER_C"), folder)
    (problem,) = caught.value.problems
    assert problem.what == "drivers[1].at"
    assert '"DRIVER_B", "tip", "centre" or "DRIVER_A"' in problem.expected
    assert problem.hint == 'Did you mean "DRIVER_B"?'


def test_name_of_a_layer_without_its_beginning_is_told_whole(folder):
    for name in ("A", "B"):
        with pytest.raises(BodyError) as caught:
            placed(DRAWN.replace(f"DRIVER_{name}", name), folder)
        assert caught.value.problems[0].hint == f'Did you mean the layer, "DRIVER_{name}"?'


def test_face_over_the_edge_and_place_far_away(folder):
    text = DRAWN.replace('diameter = "2 mm"', 'diameter = "19 mm"')
    text = text.replace('at = "DRIVER_A"', 'position = ["80 m", "0 mm"]')
    with pytest.raises(BodyError) as caught:
        placed(text, folder)
    away, over = caught.value.problems
    assert away.what == "drivers[1].position"
    assert "79.9 m off it" in away.got
    assert away.hint == "The nearest place on it is (80.000, 0.000) mm."
    assert over.key == "drivers[3].at"
    assert "beyond its edge" in over.got
    assert over.hint == "The nearest place where it fits is (60.000, -0.500) mm."


def test_faults_of_shape_and_places_come_together(folder):
    text = (
        DRAWN.replace("DRIVER_A", "DRIVER_C")
        + """
[[features]]
kind = "round hole"
centre = ["40 mm", "0 mm"]
diameter = "3 mm"
[[features]]
kind = "round hole"
centre = ["140 mm", "0 mm"]
diameter = "3 mm"
[[features]]
kind = "tip mass"
at = "nowhere"
diameter = "3 mm"
mass = "1 g"
[[pickups]]
name = "plate"
[pickups.plate]
kind = "drawn"
"""
    )
    with pytest.raises(BodyError) as caught:
        placed(text, folder)
    keys = [getattr(p, "key", "") or p.what for p in caught.value.problems]
    assert keys == ["features[3]", "features[2]", "pickups[1].plate", "drivers[1].at"]


COUNTED = """
[material]
name = "stainless 301 half hard"
[stock]
thickness = "1 mm"
[resonator]
kind = "strip reed"
length = "60 mm"
width = "10 mm"
[support]
kind = "clamped"
[[pickups]]
kind = "capacitive"
[pickups.plate]
kind = "rectangle"
at = "tip"
centre = ["-8 mm", "1 mm"]
length = "10 mm"
width = "6 mm"
[[drivers]]
kind = "moving coil"
at = "tip"
offset = ["-25 mm", "0 mm"]
"""


@pytest.mark.parametrize("length_mm", [60, 45])
def test_plates_and_drivers_that_count_from_a_named_place_move_with_it(length_mm, tmp_path):
    text = COUNTED.replace("60 mm", f"{length_mm} mm")
    found = placed(text, tmp_path)
    plate = found.design.pickups[0].plate
    assert plate.centre_m == pytest.approx(((length_mm - 8) * 1e-3, 1e-3))
    assert found.design.drivers[0].place_m == pytest.approx(((length_mm - 25) * 1e-3, 0.0))
    assert found.blank.masses[0].centre_m == pytest.approx(((length_mm - 25) * 1e-3, 0.0))


def test_a_plate_that_counts_from_nowhere(tmp_path):
    with pytest.raises(BodyError, match=r'expected one of "tip".*got "top"'):
        placed(COUNTED.replace('at = "tip"\ncentre', 'at = "top"\ncentre'), tmp_path)


def bar_shaped(folder, *, diameter=""):
    """Remarks on a driver at an area of 12 by 3 mm."""
    document = ezdxf.readfile(folder / "plan.dxf")
    space = document.modelspace()
    bar = [(20, -8), (32, -8), (32, -5), (20, -5)]
    space.add_lwpolyline(bar, close=True, dxfattribs={"layer": "DRIVER_C"})
    document.saveas(folder / "plan.dxf")
    text = DRAWN.replace('at = "DRIVER_A"', f'at = "DRIVER_C"\n{diameter}')
    return [str(remark) for remark in placed(text, folder).remarks]


def test_a_drawn_area_far_from_round_is_told_with_its_error(folder):
    (told,) = bar_shaped(folder)
    assert told.startswith('drivers[1].at: first: the area "DRIVER_C" is taken as a disc of the')
    # Disc of 36 mm²: 6.77 mm. Of the bar it covers the strip of 3 mm and that far to either side.
    radius = np.sqrt(36 / np.pi)
    covered = 2 * (1.5 * np.sqrt(radius**2 - 1.5**2) + radius**2 * np.arcsin(1.5 / radius))
    assert f"6.77 mm across; {1 - covered / 36:.0%} of the area lies outside" in told
    # The means of cos(2 pi x/λ) over bar and disc, worked out in full, differ by some 10 % there.
    wave = float(told.split("waves along the area are ")[1].split(" mm")[0])
    k = 2 * np.pi / wave
    bar = np.sin(6 * k) / (6 * k)
    disc = 2 * special.j1(k * radius) / (k * radius)
    assert disc / bar - 1 == pytest.approx(0.1, rel=0.3)


def test_a_diameter_of_its_own_leaves_nothing_to_tell(folder):
    assert bar_shaped(folder, diameter='diameter = "5 mm"') == []
    # A square is as good as round.
    assert placed(DRAWN, folder).remarks == ()


BIASED = (
    DRAWN[: DRAWN.index("[[drivers]]")]
    + """
[[pickups]]
kind = "capacitive"
name = "plate"
gap = "{gap}"
tilt_x = "{tilt}"
bias = "{bias}"
[pickups.plate]
kind = "rectangle"
centre = ["40 mm", "0 mm"]
length = "10 mm"
width = "10 mm"
"""
)


@pytest.mark.parametrize(
    ("gap", "tilt", "bias", "told"),
    [
        # 3 kV/mm (common practice).
        ("0.3 mm", 0, "850 V", ""),
        ("0.3 mm", 0, "950 V", "sparks from about 900 V"),
        # 10 mm that tilt by 0.04 are 0.2 mm nearer at one edge.
        ("0.3 mm", 0.04, "850 V", "air in a gap of 0.1"),
        # Paschen, 327 V at least: Raizer, Gas Discharge Physics, 1991, section 7.2 (from memory).
        ("0.02 mm", 0, "320 V", ""),
        ("0.02 mm", 0, "330 V", "sparks from about 327 V"),
    ],
)
def test_bias_that_air_does_not_hold_is_told(folder, gap, tilt, bias, told):
    remarks = placed(BIASED.format(gap=gap, tilt=tilt, bias=bias), folder).remarks
    assert len(remarks) == (1 if told else 0)
    assert told in "".join(str(remark) for remark in remarks)
