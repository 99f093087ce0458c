"""``modewright electrodes`` as a user meets it."""

import json
import tomllib

import ezdxf
import numpy as np
import pytest
from shapely import Polygon

from modewright.design.load import parse_design

SECTIONS = """
[[pickups]]
kind = "capacitive"
name = "under"
plate = {{ kind = "rectangle", centre = ["50 mm", "0 mm"], length = "6 mm", width = "6 mm" }}
[electrodes]
hear = {hear}
reject = {reject}
resolution = 40
{more}
"""


def design(strip, hear="[1]", reject='["bending 2"]', more=""):
    path = strip.with_name("shaped.toml")
    sections = SECTIONS.format(hear=hear, reject=reject, more=more)
    path.write_text(strip.read_text() + sections)
    return path


def run(call, path, *words):
    return call("electrodes", path, "--accuracy", "draft", *words)


def test_plates_come_back_from_every_file(strip, call, tmp_path):
    path, folder = design(strip), tmp_path / "plates"
    found = json.loads(run(call, path, "-o", folder, "--json").out)
    (signal,) = found["signals"]
    assert signal["hears"] == [1]
    assert signal["rejection_db"][1] > 50
    assert found["kept"] > 0.5
    (plate,) = found["plates"]
    area_mm2 = plate["area_m2"] * 1e6
    assert Polygon(np.array(plate["corners_m"]) * 1e3).area == pytest.approx(area_mm2, rel=1e-9)
    drawn = ezdxf.readfile(folder / "plates.dxf")
    (curve,) = drawn.modelspace().query('LWPOLYLINE[layer=="ELECTRODE_under"]')
    assert Polygon(curve.get_points("xy")).area == pytest.approx(area_mm2, rel=2e-3)
    section = (folder / "plates.toml").read_text()
    pasted = strip.read_text() + section
    (pickup,) = parse_design(pasted.encode(), folder=tmp_path).design.pickups
    assert pickup.plate.area_points().area_m2 * 1e6 == pytest.approx(area_mm2, rel=2e-3)
    assert tomllib.loads(section)["pickups"][0]["guard"]["width"] == "0.5 mm"
    kept = json.loads((folder / "electrodes.json").read_text())
    assert kept["design_hash"] == found["design_hash"]
    assert kept["study"] == found["study"]
    for name in ("plates.png", "places.png"):
        assert (folder / name).read_bytes().startswith(b"\x89PNG")


def test_pasted_plate_hears_what_was_said(strip, call, tmp_path):
    """The pickup's own figures, in another run: 50 dB and more between the two modes."""
    run(call, design(strip), "-o", tmp_path / "plates")
    path = tmp_path / "pasted.toml"
    section = (tmp_path / "plates" / "plates.toml").read_text()
    path.write_text(strip.read_text() + section)
    modes = json.loads(call("gap", path, "--accuracy", "draft", "--json").out)["course"]["modes"]
    at = json.loads(call("gap", path, "--accuracy", "draft", "--json").out)["course"]
    here = at["gap_m"].index(at["here_m"])
    first, second = (mode["sensitivity_v_per_m"][here] for mode in modes[:2])
    assert 20 * np.log10(first / second) > 50


def test_best_single_place_of_a_cantilever(strip, call):
    """The tip hears both bending modes at their largest (Blevins 1979, table 8-1)."""
    more = 'tried = "2 mm"\nclearance = "0.2 mm"'
    path = design(strip, hear="[1, 2]", reject="[3]", more=f'arrangement = "joint"\n{more}')
    found = json.loads(run(call, path, "--json").out)
    x_m, _ = found["place"]["best_m"]
    assert x_m == pytest.approx(60e-3 - 0.2e-3 - 1e-3, abs=0.3e-3)
    assert found["place"]["worst"] > 0.95
    assert found["condition"] < 5


@pytest.mark.parametrize(
    ("asked", "told"),
    [
        ({"hear": '["bending 9"]'}, "electrodes.hear: expected a number from 1 to 12 or"),
        ({"hear": '[1, "bending 1"]'}, "electrodes.hear: expected each mode once"),
        ({"more": 'pickup = "over"'}, "electrodes.pickup: expected one of under, got over"),
        (
            {"more": 'area = [["70 mm", "0 mm"], ["80 mm", "0 mm"], ["80 mm", "9 mm"]]'},
            "electrodes.area: expected room for plates under the sheet, got none",
        ),
        ({"more": 'arrangement = "segments"\nsegments = 2', "reject": "[2, 3]"}, "at least 3, one"),
        ({"more": 'tolerances = { gap = "0.6 mm" }'}, "electrodes.tolerances.gap: expected less"),
    ],
)
def test_faults_are_told(strip, call, asked, told, tmp_path):
    ended = run(call, design(strip, **asked), "-o", tmp_path / "none")
    assert ended.code == 2
    assert told in ended.err
    assert not (tmp_path / "none").exists()


def test_a_design_that_asks_for_nothing(strip, call):
    ended = run(call, strip)
    assert ended.code == 2
    assert "electrodes: expected a section that says what to hear, got none." in ended.err


def test_a_narrow_reed_without_guard_and_with_too_large_a_face(strip, call, tmp_path):
    path = strip.with_name("narrow.toml")
    path.write_text(strip.read_text().replace('width = "10 mm"', 'width = "3 mm"'))
    path = design(path, more='guard = "0 mm"')
    found = json.loads(run(call, path, "-o", tmp_path / "plates", "--json").out)
    assert found["signals"][0]["rejection_db"][1] > 50
    assert found["place"] is None
    assert any("a face of 4 mm fits nowhere" in warning for warning in found["warnings"])
    assert not (tmp_path / "plates" / "places.png").exists()


def test_a_workshop_that_is_far_off_is_told(strip, call):
    path = design(strip, more='tolerances = { tilt = "0.003", offset = "1 mm" }')
    found = json.loads(run(call, path, "--json").out)
    assert min(found["study"]["two_sigma_db"]) < 30
    assert any("electrodes.two_sigma: asked for 30 dB" in warning for warning in found["warnings"])
