"""Parts in one place are refused; parts beside or across the sheet from each other are not."""

import pytest

from modewright.chain.places import check_places, place_design
from modewright.design.load import load_design, parse_design
from modewright.errors import BodyError, DesignError
from plain_reed import PLAIN_REED

PLATE = """
[[pickups]]
name = "{name}"
gap = "0.4 mm"
[pickups.plate]
kind = "rectangle"
centre = ["{x} mm", "0 mm"]
length = "5 mm"
width = "5 mm"
"""
MAGNET = """
[[drivers]]
kind = "biased electromagnet"
name = "magnet"
position = ["{x} mm", "0 mm"]
side = "{side}"
pole_diameter = "{pole} mm"
iron_gap = "2 mm"
armature = {{ diameter = "4 mm", thickness = "0.5 mm" }}
"""
COIL = """
[[drivers]]
kind = "moving coil"
name = "coil"
position = ["{x} mm", "0 mm"]
side = "{side}"
diameter = "4 mm"
"""
MASS = """
[[features]]
kind = "tip mass"
offset = ["-3 mm", "0 mm"]
diameter = "3 mm"
height = "{height} mm"
mass = "0.1 g"
side = "{side}"
"""


def place(*parts, tmp_path):
    return place_design(
        parse_design((PLAIN_REED + "".join(parts)).encode(), folder=tmp_path).design, tmp_path
    )


def test_two_plates_on_one_spot(tmp_path):
    plates = PLATE.format(name="left", x=20), PLATE.format(name="right", x=23)
    with pytest.raises(BodyError) as caught:
        place(*plates, tmp_path=tmp_path)
    (problem,) = caught.value.problems
    assert problem.key == "pickups[2].plate"
    assert problem.got == 'the plate across the plate of "left" on 10 mm²'  # 2 by 5 mm


def test_plates_edge_to_edge(tmp_path):
    place(PLATE.format(name="left", x=20), PLATE.format(name="right", x=25), tmp_path=tmp_path)


def test_magnet_on_the_side_of_the_plate(tmp_path):
    plate = PLATE.format(name="plate", x=20)
    place(plate, MAGNET.format(x=20, side="above", pole=5), tmp_path=tmp_path)
    with pytest.raises(BodyError) as caught:
        place(plate, MAGNET.format(x=20, side="below", pole=5), tmp_path=tmp_path)
    (problem,) = caught.value.problems
    assert problem.key == "drivers[1]"
    assert "0.5 mm tall in a gap of 0.4 mm" in problem.got
    # Armature 0.5 mm beside the plate, the wider pole 0.5 mm across it.
    beside = MAGNET.format(x=15, side="below", pole=4)
    place(plate, beside, tmp_path=tmp_path)
    with pytest.raises(BodyError, match="the pole across the plate"):
        place(plate, MAGNET.format(x=15, side="below", pole=6), tmp_path=tmp_path)


def test_coil_in_the_gap_of_another_pole(tmp_path):
    magnet, coil = MAGNET.format(x=20, side="above", pole=5), COIL.format(x=22, side="above")
    with pytest.raises(BodyError, match=r'coil: .*of "magnet"'):
        place(magnet, coil, tmp_path=tmp_path)
    place(magnet, coil.replace("above", "below"), tmp_path=tmp_path)


def test_mass_over_a_plate(tmp_path):
    plate = PLATE.format(name="plate", x=27)
    for height, side in ((2, "top"), (0, "bottom")):
        place(plate, MASS.format(height=height, side=side), tmp_path=tmp_path)
    with pytest.raises(BodyError, match=r"plate: .*the mass.*2 mm tall in a gap of 0\.4 mm"):
        place(plate, MASS.format(height=2, side="bottom"), tmp_path=tmp_path)


def test_line_is_told(tmp_path):
    text = PLAIN_REED + PLATE.format(name="a", x=20) + MAGNET.format(x=20, side="below", pole=5)
    path = tmp_path / "reed.toml"
    path.write_text(text, encoding="utf-8")
    line = text.split("\n").index("[[drivers]]") + 1
    with pytest.raises(DesignError, match=rf"reed\.toml:{line}: .*nothing else takes"):
        check_places(load_design(path))


def test_whole_patch_takes_room(tmp_path):
    """Its end, which no disc that stands for its mass covers, under the foot of a coil."""
    patch = (
        '[[drivers]]\nkind = "piezo patch"\nname = "patch"\nposition = ["12 mm", "0 mm"]\n'
        'length = "10 mm"\nwidth = "5 mm"\nthickness = "0.2 mm"\n'
    )
    with pytest.raises(BodyError) as caught:
        place(patch, COIL.format(x=18.9, side="above"), tmp_path=tmp_path)
    (problem,) = caught.value.problems
    assert problem.key == "drivers[2]"
    place(patch, COIL.format(x=19.2, side="above"), tmp_path=tmp_path)
    place(patch, COIL.format(x=18.9, side="below"), tmp_path=tmp_path)


def test_patch_must_lie_on_the_sheet_all_over(tmp_path):
    patch = (
        '[[drivers]]\nkind = "piezo patch"\nname = "patch"\nposition = ["20 mm", "0 mm"]\n'
        'length = "12 mm"\nwidth = "5 mm"\nthickness = "0.2 mm"\nangle = "60 deg"\n'
    )
    with pytest.raises(BodyError) as caught:
        place(patch, tmp_path=tmp_path)
    (problem,) = caught.value.problems
    assert problem.key == "drivers[1].position"
    assert "beyond its edge" in problem.got
