"""``modewright gap`` as a user meets it."""

import json

import numpy as np
import pytest

PICKUP = """
[[pickups]]
kind = "capacitive"
name = "tip plate"
gap = "{gap}"
bias = "20 V"
plate = {{ kind = "rectangle", centre = ["55 mm", "0 mm"], length = "6 mm", width = "6 mm" }}
preamp = {{ kind = "charge amplifier" }}
{holes}
"""
# The film is the only loss that knows the gap; the others would hide it where it is wide.
LOSSES = "[losses]\nair_drag = false\nradiation = false\n"
AIR_PA_S = 1.813e-5


def design(strip, gap="0.5 mm", holes=""):
    path = strip.with_name(f"strip_{gap[:5].strip()}_{len(holes)}.toml")
    path.write_text(strip.read_text() + LOSSES + PICKUP.format(gap=gap, holes=holes))
    return path


def test_course_follows_the_laws_of_gap_and_film(strip, call):
    found = json.loads(call("gap", design(strip), "--accuracy", "draft", "--json").out)
    course = found["course"]
    first = course["modes"][0]
    gap_m, loss = np.array(course["gap_m"]), 1 / np.array(first["q"])
    signal, swing_m = np.array(first["sensitivity_v_per_m"]), np.array(first["swing_m"])
    # A square plate of side a over a moving one: 0.422 µ a⁴/g³ (J. J. Blech, J. Lubr. Technol. 105
    # (1983) 615), its sides longer by 1.3 g for the flow round its edges (T. Veijola, A. Pursula,
    # P. Råback, J. Micromech. Microeng. 15 (2005) 1624; both from memory), with the mass of a
    # cantilever's first mode, a quarter of the whole, and the square of its shape at the plate,
    # 0.885 of that at the tip (Blevins 1979, table 8-1).
    film = 0.422 * AIR_PA_S * (6e-3 + 1.3 * gap_m) ** 4 / gap_m**3
    mass_kg = 7880 * 60e-3 * 10e-3 * 1e-3 / 4
    expected = film * 0.885**2 / (mass_kg * 2 * np.pi * first["freq_hz"])
    narrow = gap_m < 0.2e-3
    assert (loss - loss[-1])[narrow] == pytest.approx(expected[narrow], rel=0.03)
    # dC/dg of a flat plate goes as 1/g², and its rim adds little to that.
    flat = (gap_m[0] / gap_m) ** 2
    assert signal[narrow] / signal[0] == pytest.approx(flat[narrow], rel=0.02)
    # 20 V pull little: the tip touches first, 1 : 0.96 at the far edge of the plate.
    assert swing_m == pytest.approx(gap_m / 0.95, rel=0.05)


def test_course_is_what_an_analysis_of_that_gap_finds(strip, call):
    found = json.loads(call("gap", design(strip), "--accuracy", "draft", "--json").out)
    course = found["course"]
    at = 2
    other = design(strip, gap=f"{course['gap_m'][at] * 1e3:.9f} mm")
    modes = json.loads(call("modes", other, "--accuracy", "draft", "--json").out)["modes"]
    for shown in course["modes"][:3]:
        assert shown["q"][at] == pytest.approx(modes[shown["number"] - 1]["q"], rel=0.02)


def test_chosen_plate_does_what_is_said(strip, call):
    words = ("--accuracy", "draft", "--t60", "20 s", "--swing", "50 um", "--json")
    choice = json.loads(call("gap", design(strip), *words).out)["choice"]
    assert choice["meets"]
    plain = json.loads(call("gap", design(strip), "--accuracy", "draft", "--json").out)["course"]
    at = int(np.argmin(np.abs(np.array(plain["gap_m"]) - choice["gap_m"])))
    assert choice["t60_s"] > plain["modes"][0]["t60_s"][at]
    holes = "[pickups.holes]\n" + "".join(
        f'{name} = "{choice[f"hole_{name}_m"] * 1e3} mm"\n'
        for name in ("pitch", "diameter", "depth")
    )
    made = design(strip, f"{choice['gap_m'] * 1e3:.9f} mm", holes)
    modes = json.loads(call("modes", made, "--accuracy", "draft", "--json").out)["modes"]
    assert modes[0]["t60_s"] == pytest.approx(choice["t60_s"], rel=0.02)
    assert modes[0]["t60_s"] > 20 * 0.98


def test_what_no_plate_gives_is_told(strip, call):
    words = ("gap", design(strip), "--accuracy", "draft")
    shown = call(*words, "--t60", "20 s", "--signal", "900 V/mm")
    assert "Nothing among the gaps and drills looked at gives that. nearest is" in shown.out


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("--pickup", "root plate"), "pickup: expected one of tip plate, got root plate."),
        (("--mode", "bend 99"), "mode: expected"),
        (("--mode", "99"), "mode: expected"),
        (("--t60", "3 m"), "t60: expected"),
        (("--t60", "-3 s"), "t60: expected more than 0 s, got -3 s."),
        (("--swing", "5 mm"), "tip plate: expected a gap that lets 5 mm of mode 1 pass twice over"),
        (("--signal", "loud"), "signal: expected"),
    ],
)
def test_faults_are_told(strip, call, words, told):
    ended = call("gap", design(strip), "--accuracy", "draft", *words)
    assert ended.code == 2
    assert told in ended.err


def test_a_body_without_pickups_is_told(strip, call):
    ended = call("gap", strip, "--accuracy", "draft")
    assert ended.code == 2
    assert "pickups: expected at least one, got none." in ended.err


def test_a_mode_that_is_still_at_the_reference_point_has_no_figures_there(strip, call):
    """Torsion of a strip turns about its middle, where the reference point lies."""
    path = design(strip)
    found = json.loads(call("gap", path, "--accuracy", "draft", "--json").out)
    still = [mode for mode in found["course"]["modes"] if mode["label"].startswith("torsion")]
    assert still
    for mode in still:
        assert set(mode["sensitivity_v_per_m"]) == set(mode["swing_m"]) == {None}
        assert min(mode["t60_s"]) > 0
    ended = call("gap", path, "--mode", "torsion 1", "--accuracy", "draft")
    assert ended.code == 2
    assert "expected one that moves at the reference point" in ended.err
