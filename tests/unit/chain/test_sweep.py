"""Sweeps of a small fork: veering followed, meshes renewed, faults told."""

from pathlib import Path

import numpy as np
import pytest

from modewright.chain import sweep as sweep_module
from modewright.chain.sweep import sweep_number
from modewright.design.load import parse_design
from modewright.errors import DesignError, GeometryError
from modewright.modes import volume_moved

FORK = b"""
[material]
name = "stainless 301 half hard"
[stock]
thickness = "1 mm"
[resonator]
kind = "forked reed"
base_length = "4 mm"
slot_widths = ["2 mm"]
[[resonator.arms]]
length = "30 mm"
width = "6 mm"
[[resonator.arms]]
length = "30 mm"
width = "6 mm"
[support]
kind = "clamped"
"""
DESIGN = parse_design(FORK, folder=Path()).design
LENGTH = "resonator.arms[2].length"


def swept(values, address=LENGTH, count=2):
    return sweep_number(DESIGN, Path(), address, values, count=count)


@pytest.mark.slow
def test_no_swap_in_a_hundred_steps_through_a_veering():
    found = swept(np.linspace(0.028, 0.032, 101))
    assert found.assurance.min() > 0.95
    steps = np.abs(np.diff(1200 * np.log2(found.freq_hz), axis=0))
    assert steps.max() < 6.0
    (meeting,) = found.approaches
    assert meeting.kind == "veering"
    # Equal arms move in phase or against each other: there the modes come nearest, by symmetry.
    assert meeting.value == pytest.approx(0.030, abs=2e-4)
    assert meeting.exchange > 0.7
    # Each takes on the course of the other: slopes are exchanged.
    slopes = np.gradient(np.log(found.freq_hz), np.log(found.values), axis=0)
    assert abs(slopes[0, 0]) < 0.5 < abs(slopes[-1, 0])
    assert abs(slopes[-1, 1]) < 0.5 < abs(slopes[0, 1])


def test_few_steps_and_many_agree():
    """A coarse sweep halves its steps where shapes change fast."""
    coarse, fine = swept([0.028, 0.032]), swept(np.linspace(0.028, 0.032, 9))
    np.testing.assert_allclose(coarse.freq_hz[-1], fine.freq_hz[-1], rtol=1e-6)


@pytest.mark.slow
def test_back_and_forth_is_the_same():
    there = swept([0.028, 0.030, 0.032])
    assert np.all(np.diff(there.freq_hz[:, 0]) < 0)
    back = swept([0.032, 0.030, 0.028])
    # The meshes differ: each is that of the first body.
    np.testing.assert_allclose(there.freq_hz, back.freq_hz[::-1], rtol=5e-3)


def test_a_mesh_that_would_be_spoilt_is_made_anew(monkeypatch):
    calls = []
    original = sweep_module.solve_moved

    def solve(mesh, blank, solid):
        calls.append(len(calls))
        if len(calls) == 2:
            raise GeometryError("spoilt")
        return original(mesh, blank, solid)

    monkeypatch.setattr(sweep_module, "solve_moved", solve)
    found = swept(np.linspace(0.029, 0.0296, 5))
    smooth = swept(np.linspace(0.029, 0.0296, 5))
    assert found.assurance.min() > 0.9
    np.testing.assert_allclose(found.freq_hz, smooth.freq_hz, rtol=5e-3)


def test_the_thickness_scales_bending():
    found = swept([1e-3, 1.01e-3, 1.02e-3], "stock.thickness")
    np.testing.assert_allclose(found.freq_hz[-1] / found.freq_hz[0], 1.02, rtol=2e-3)
    assert found.approaches == ()


def test_faults_are_told():
    with pytest.raises(DesignError, match="Did you mean"):
        swept([0.028, 0.03], "resonator.arms[2].lenght")
    with pytest.raises(DesignError, match="expected more than 0"):
        swept([1e-3, -1e-3], "stock.thickness")
    with pytest.raises(ValueError, match="at least two"):
        swept([0.03])


@pytest.mark.slow
def test_rod_is_swept_on_its_moved_mesh_and_anew(monkeypatch):
    text = FORK[: FORK.index(b"[resonator]")] + (
        b'[resonator]\nkind = "rod"\n[[resonator.stretches]]\nlength = "60 mm"\n'
        b'diameter = "5 mm"\n[support]\nkind = "free"\n'
    )
    rod = parse_design(text, folder=Path()).design
    monkeypatch.setattr(volume_moved, "_MOST_STRETCHED", 1.06)
    values = [0.06, 0.062, 0.064, 0.066]
    found = sweep_number(rod, Path(), "resonator.stretches[1].length", values, count=4)
    assert found.labels == ("bending 1", "lateral 1", "bending 2", "lateral 2")
    assert found.freq_hz[:, 0] == pytest.approx(found.freq_hz[:, 1], rel=1e-6)
    # Timoshenko lies a little under 1/L² where the rod is short.
    exponents = np.diff(np.log(found.freq_hz), axis=0).T / np.diff(np.log(values))
    assert np.all(exponents[:2] == pytest.approx(-1.97, abs=0.02))
    assert np.all(exponents[2:] == pytest.approx(-1.91, abs=0.04))
    assert found.assurance.min() > 0.9
