"""What is kept of a solved piece."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pytest

from modewright.design.load import parse_design
from modewright.studies.trial import Trial, run_trials

if TYPE_CHECKING:
    from pathlib import Path

REED = b"""
[material]
name = "stainless 301"
[stock]
thickness = "0.35 mm"
[resonator]
kind = "strip reed"
length = "30 mm"
width = "6 mm"
[support]
kind = "clamped"
"""


def test_faults_and_figures_come_back_as_they_were(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("MODEWRIGHT_CACHE", str(tmp_path / "kept"))
    loaded = parse_design(REED, folder=tmp_path, file="reed.toml")
    sizes = (0.03, -0.03)
    trials = [
        Trial(
            design=loaded.design,
            folder=tmp_path,
            moves=(("resonator.length", size),),
            solved_modes=12,
            followed_modes=2,
            accuracy="draft",
            traces=None,
        )
        for size in sizes
    ]
    told: list[str] = []
    first = run_trials(trials, "serial", told.append)
    again = run_trials(trials, "serial", told.append)
    assert len(told) == 2
    assert "resonator.length" in first[1].fault
    assert [tried.fault for tried in again] == [tried.fault for tried in first]
    assert np.array_equal(again[0].figures, first[0].figures, equal_nan=True)
    # Clamped-free bar, 1.8751² / (2 pi L²) sqrt(E h² / (12 rho)), as a strip a little stiffer.
    bar_hz = 1.8751**2 / (2 * np.pi * 0.03**2) * 0.35e-3 * np.sqrt(193e9 / (12 * 7880))
    assert first[0].arrays["freq_hz"][0] == pytest.approx(bar_hz, rel=0.02)


def test_a_treated_mode_that_is_not_found_again_is_a_fault(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("MODEWRIGHT_CACHE", str(tmp_path / "kept"))
    text = REED + b"[[loop.modes]]\nmode = 4\n"
    loaded = parse_design(text, folder=tmp_path, file="reed.toml")
    base = Trial(
        design=loaded.design,
        folder=tmp_path,
        moves=(),
        solved_modes=8,
        followed_modes=2,
        accuracy="draft",
        traces=None,
    )
    (nominal,) = run_trials([base], "serial", lambda _: None)
    known = nominal.traces
    # Another shape in its place: that of mode 4 backwards, from places to other places.
    shapes = known.shapes.copy()
    shapes[:, 3] = shapes[::-1, 3]
    moves = (("resonator.length", 0.0301),)
    strange = replace(base, moves=moves, traces=replace(known, shapes=shapes))
    like = replace(base, moves=moves, traces=known)
    tried, other = run_trials([strange, like], "serial", lambda _: None)
    assert "mode 4 is not found again" in tried.fault
    assert other.fault == ""
