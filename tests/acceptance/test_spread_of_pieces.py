"""Spread of made pieces: every kind of tolerance, against laws that hold for any body."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import pytest

from modewright.design.load import LoadedDesign, load_design, parse_design
from modewright.studies.spread import Spread, spread_design
from modewright.studies.temperature import TemperatureCourse, temperature_course, warmed_design
from modewright.tolerances.draws import draw_shares
from modewright.tolerances.warmth import Warmth

if TYPE_CHECKING:
    from numpy.typing import NDArray

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
CENTS_PER_NEPER = 1200 / np.log(2)

DESIGN = """
[material]
name = "stainless 301"
[stock]
thickness = "1.0 mm"
[resonator]
kind = "strip reed"
length = "50 mm"
width = "10 mm"
[support]
kind = "elastic clamp"
stiffness = "2e13 N/m**3"
[[pickups]]
kind = "capacitive"
name = "plate"
gap = "0.4 mm"
bias = "20 V"
[pickups.plate]
kind = "rectangle"
at = "tip"
centre = ["-5.5 mm", "0 mm"]
length = "8 mm"
width = "6 mm"
[pickups.preamp]
kind = "follower"
[[drivers]]
kind = "biased electromagnet"
name = "magnet"
at = "tip"
offset = ["-22 mm", "0 mm"]
pole_diameter = "4 mm"
gap = "1.0 mm"
iron_gap = "1.5 mm"
[drivers.armature]
diameter = "5 mm"
thickness = "0.5 mm"
[electronics]
total_delay = "0.5 ms"
[electronics.amplifier]
kind = "current"
limit = "200 mA"
[loop]
modelled_modes = 6
highest_mode = "6 kHz"
[[loop.modes]]
mode = 1
state = "held"
level = "30 um"
[[loop.modes]]
mode = 2
[spread]
modes = 3
solved = 4
[[spread.tolerances]]
kind = "strip thickness"
[[spread.tolerances]]
kind = "material spread"
"""
AMOUNTS = {
    "laser width": ("resonator.width", "0.05 mm"),
    "length": ("resonator.length", "0.05 mm"),
    "clamp stiffness": ("support.stiffness", "30 %"),
    "gap": ("pickups[1].gap", "0.03 mm"),
    "tilt": ("pickups[1].tilt_x", "0.005"),
}


def amount(name: str, path: str, plus_minus: str) -> str:
    return (
        f'[[spread.tolerances]]\nkind = "amount"\nname = "{name}"\npaths = ["{path}"]\n'
        f'plus_minus = "{plus_minus}"\nsource = "made up"\n'
    )


@pytest.fixture(scope="module")
def kept(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("kept")


@pytest.fixture(scope="module")
def loaded() -> LoadedDesign:
    text = DESIGN + "".join(amount(name, *what) for name, what in AMOUNTS.items())
    return parse_design(text.encode(), folder=Path(), file="reed.toml")


def spread(loaded: LoadedDesign, kept: Path, samples: int = 500) -> Spread:
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("MODEWRIGHT_CACHE", str(kept))
        return spread_design(
            loaded.design, loaded.folder, samples=samples, scheduler="serial", accuracy="draft"
        )


@pytest.fixture(scope="module")
def found(loaded: LoadedDesign, kept: Path) -> Spread:
    return spread(loaded, kept)


@pytest.fixture(scope="module")
def course(loaded: LoadedDesign, kept: Path) -> TemperatureCourse:
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("MODEWRIGHT_CACHE", str(kept))
        return temperature_course(loaded.design, loaded.folder, modes=3, accuracy="draft")


def per_unit(found: Spread, name: str, sigma: NDArray[np.float64]) -> float:
    """What a relative change by one does, from one standard deviation."""
    row = [entry.name for entry in found.inputs].index(name)
    entry = found.inputs[row]
    relative = entry.sigma_share * abs(entry.moves[0].limit / entry.moves[0].value)
    return float(sigma[row]) / relative


@pytest.mark.slow
def test_every_tolerance_does_what_it_must(found: Spread) -> None:
    assert len(found.inputs) == 7
    acts = np.abs(found.sigma[:, [0, 3, 6]]).max(axis=1)
    assert np.all(acts > 1e-3)
    # Frequencies go as the square root of modulus and of whatever else is elastic, together.
    first = found.derivative_cents[:, 0]
    both = per_unit(found, "modulus", first) + per_unit(found, "clamp stiffness", first)
    assert both == pytest.approx(CENTS_PER_NEPER / 2, rel=1e-4)
    # A capacitance far below that of the lead: the voltage goes as the square of 1/gap.
    share = 10e-12 / (10e-12 + 8.854e-12 * 48e-6 / 0.4e-3)
    volts = -20 / np.log(10) * (1 + share)
    assert per_unit(found, "gap", found.sigma[:, 3]) == pytest.approx(volts, rel=0.06)


@pytest.mark.slow
def test_margins_of_solved_pieces_are_those_of_the_parabolas(found: Spread) -> None:
    spread_db = found.changes[:, 6].std()
    assert spread_db > 0.3
    assert np.abs(found.errors[:, 6]).max() < 0.7 * spread_db
    # Mode 3 moves in the sheet's plane, where the plate does not hear it.
    assert np.all(np.isfinite(np.delete(found.truth, 5, axis=1)))


@pytest.mark.slow
def test_loop_from_cold_to_warm(course: TemperatureCourse, loaded: LoadedDesign) -> None:
    # The observer is a lag of first order at its bandwidth, the delay adds its own.
    drift = course.drift_hz[:, 0]
    bandwidth_hz = loaded.design.loop.observer_bandwidth_hz
    turn = -np.degrees(np.arctan(drift / bandwidth_hz)) - 360 * drift * 0.5e-3
    assert course.turn_deg[:, 0] == pytest.approx(turn, abs=0.3)
    assert course.turn_deg[0, 0] < 0 < course.turn_deg[-1, 0]
    here = int(np.argmin(np.abs(course.temperature_k - 293.15)))
    assert course.margins[here, 1] == course.margins[:, 1].max()
    # Steel throughout: the gap grows by 12e-6 per kelvin, and the magnet lifts the softer sheet off
    # the plate by 4e-4 more per kelvin at most: the clamp does not soften.
    lift, grown = course.gap_m[here, 0] - 0.4e-3, course.gap_m[-1, 0] - course.gap_m[0, 0]
    assert lift > 0
    assert 0 < grown - 45 * 12e-6 * 0.4e-3 < 45 * 4.4e-4 * lift


def test_a_warm_magnet_keeps_its_magnetomotive_force(loaded: LoadedDesign) -> None:
    warmth = Warmth(standoff_expansion_per_k=100e-6)
    before = loaded.design.drivers[0]
    after = warmed_design(loaded.design, warmth, 318.15).drivers[0]
    assert before.kind == after.kind == "biased electromagnet"
    # 10 mm of standoff lift the sheet by 25 um towards the pole, whose bearer grows by 3.3 um.
    assert after.gap_m == pytest.approx(1e-3 - 25e-6 + 3.3e-6)
    flux = [d.bias_flux_density_t * (d.gap_m + 1.5e-3) for d in (before, after)]
    assert flux[0] == pytest.approx(flux[1])


FAMILIES = {
    "forked_reed": [
        ("thickness", "stock.thickness", "0.03 mm"),
        ("length", "resonator.arms[1].length", "0.2 mm"),
        ("width", "resonator.arms[2].width", "0.1 mm"),
    ],
    "undercut_bar": [
        ("thickness", "stock.thickness", "0.05 mm"),
        ("length", "resonator.length", "0.3 mm"),
        ("modulus", "material.youngs_modulus", "2 %"),
    ],
}


@pytest.mark.slow
@pytest.mark.parametrize("family", FAMILIES)
def test_first_order_and_solved_samples_agree(family: str, kept: Path) -> None:
    file = EXAMPLES / "tuning" / f"{family}.toml"
    tolerances = "".join(amount(*what) for what in FAMILIES[family])
    text = file.read_text() + "\n[spread]\nmodes = 3\nsolved = 10\n" + tolerances
    loaded = parse_design(text.encode(), folder=file.parent, file=file.name)
    found = spread(loaded, kept)
    shares = draw_shares(["uniform"] * 3, [0.0] * 3, pieces=500, batch_size=20, seed=1)
    unit = np.array([entry.sigma_share for entry in found.inputs])
    first = (shares[found.checked] / unit) @ found.derivative_cents
    assert len(found.checked) == 10
    assert found.truth[:, :3].std(axis=0) == pytest.approx(first.std(axis=0), rel=0.1)
    # And all that were sampled against the sum of squares.
    whole = np.sqrt((found.derivative_cents**2).sum(axis=0))
    assert found.changes[:, :3].std(axis=0) == pytest.approx(whole, rel=0.1)


@pytest.mark.slow
def test_the_example_drifts_as_its_metal_says(kept: Path) -> None:
    loaded = load_design(EXAMPLES / "boathouse_bench/g3.toml")
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("MODEWRIGHT_CACHE", str(kept))
        course = temperature_course(loaded.design, loaded.folder, accuracy="draft")
    law = CENTS_PER_NEPER * (-4e-4 + 16.8e-6) / 2
    assert course.cents_per_k == pytest.approx(law, rel=0.05)
    assert course.law_cents_per_k == pytest.approx(law)
    assert np.all(course.margins > 0)
