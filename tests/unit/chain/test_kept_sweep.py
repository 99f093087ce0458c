"""A sweep that was done before is read back, and only that one."""

from pathlib import Path

import numpy as np
import pytest

from modewright.chain import kept_sweep as module
from modewright.chain.kept_sweep import kept_sweep
from modewright.chain.sweep import sweep_number
from modewright.design.load import parse_design

FORK = """
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
LENGTH = "resonator.arms[2].length"
VALUES = [0.028, 0.0295, 0.0305, 0.032]


def design(text=FORK):
    return parse_design(text.encode(), folder=Path()).design


@pytest.mark.slow
def test_the_same_sweep_is_read_back(monkeypatch):
    truth = sweep_number(design(), Path(), LENGTH, VALUES, count=2)
    kept_sweep(design(), Path(), LENGTH, VALUES, count=2)

    def refuse(*_, **__):
        raise RuntimeError("followed again")

    monkeypatch.setattr(module, "sweep_number", refuse)
    # A name changes no mode.
    named = design('[design]\nname = "other"\n' + FORK)
    again = kept_sweep(named, Path(), LENGTH, VALUES, count=2)
    assert again.labels == truth.labels
    assert again.address == truth.address
    np.testing.assert_array_equal(again.freq_hz, truth.freq_hz)
    np.testing.assert_array_equal(again.assurance, truth.assurance)
    assert again.approaches == truth.approaches
    assert [one.kind for one in again.approaches] == ["veering"]
    for changed, values, count in (
        (design(FORK.replace('"2 mm"', '"2.1 mm"')), VALUES, 2),
        (design(FORK.replace("half hard", "full hard")), VALUES, 2),
        (design(), VALUES[:-1], 2),
        (design(), VALUES, 3),
    ):
        with pytest.raises(RuntimeError, match="followed again"):
            kept_sweep(changed, Path(), LENGTH, values, count=count)
