"""A solid from a STEP file in the studies: frequencies go as the square root of its modulus."""

from __future__ import annotations

from typing import TYPE_CHECKING

import netgen.occ
import numpy as np
import pytest

from modewright.chain import tune_terrain
from modewright.chain.tune import tune_design
from modewright.design.load import parse_design
from modewright.geometry.step_import import plan_of_surface, read_step
from modewright.studies.spread import spread_design

if TYPE_CHECKING:
    from pathlib import Path

SOLID = """
[material]
name = "stainless 301"
youngs_modulus = "200 GPa"
poisson_ratio = 0.3
density = "8000 kg/m**3"
[stock]
thickness = "1 mm"
[resonator]
kind = "STEP solid"
file = "block.step"
held_box_low = ["-0.1 mm", "-0.1 mm", "-0.1 mm"]
held_box_high = ["0.1 mm", "5 mm", "3 mm"]
[support]
kind = "clamped"
"""
TUNE = """
[tune]
accuracy = "draft"
modes = 4
[[tune.free]]
path = "material.youngs_modulus"
lowest = "100 GPa"
highest = "300 GPa"
[[tune.targets]]
kind = "pitch"
mode = 1
freq = "{freq} Hz"
within = "0.01 cents"
"""
SPREAD = """
[spread]
modes = 4
solved = 2
[[spread.tolerances]]
kind = "amount"
name = "modulus"
paths = ["material.youngs_modulus"]
plus_minus = "3 %"
source = "made up"
"""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    write(tmp_path, 30)
    return tmp_path


def write(folder: Path, length_mm: float) -> None:
    netgen.occ.Box((0, 0, 0), (length_mm, 4, 2)).WriteStep(str(folder / "block.step"))


def test_a_file_is_read_again_when_it_has_changed(folder: Path) -> None:
    path = folder / "block.step"
    first = read_step(path)
    assert read_step(path) is first
    assert plan_of_surface(first) is plan_of_surface(first)
    write(folder, 20)
    assert read_step(path).volume_m3 == pytest.approx(20 * 4 * 2 * 1e-9)
    assert first.volume_m3 == pytest.approx(30 * 4 * 2 * 1e-9)


@pytest.mark.slow
def test_one_descent_finds_the_modulus_of_a_pitch(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    plain = parse_design((SOLID + TUNE.format(freq=2000)).encode(), folder=folder).design
    before_hz = tune_design(plain, folder, starts=[]).before.sample.freq_hz[0]
    wanted_hz = round(1.1 * before_hz, 3)
    seen: list[object] = []
    sample_body = tune_terrain.sample_body

    def counted(*args: object) -> object:
        seen.append(args)
        return sample_body(*args)

    monkeypatch.setattr(tune_terrain, "sample_body", counted)
    design = parse_design((SOLID + TUNE.format(freq=wanted_hz)).encode(), folder=folder).design
    found = tune_design(design, folder)
    assert found.attempts == 1
    assert len(found.solutions) == 1
    # A frequency goes as the root of the modulus, which is written to six digits.
    modulus_pa = 200e9 * (wanted_hz / before_hz) ** 2
    share = (modulus_pa - 100e9) / 200e9
    assert found.solutions[0].body.position[0] == pytest.approx(share, abs=1e-5)
    # Entered at the design as it is, then stepped: no more bodies than the curve of the root asks.
    assert len(seen) <= 5


@pytest.mark.slow
def test_derivatives_and_spread_by_the_modulus(folder: Path) -> None:
    design = parse_design((SOLID + SPREAD).encode(), folder=folder).design
    found = spread_design(design, folder, samples=200, scheduler="serial", accuracy="draft")
    cents = 1200 / np.log(2) * 0.5 * 0.03 / np.sqrt(3)
    assert found.derivative_cents == pytest.approx(np.full((1, 4), cents), rel=1e-6)
