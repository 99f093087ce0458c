"""A voice whose numbers do not fit together is refused, and the message names them."""

from __future__ import annotations

import numpy as np
import pytest

from modewright.sound.voice_program import ControlCurves


@pytest.mark.parametrize(
    ("changes", "message"),
    [
        ({"drive_gain": np.zeros(6)}, r"drive_gain: expected shape \(7\), got \(6,\)"),
        ({"pickup_gain": np.full(7, np.nan)}, "pickup_gain: expected finite numbers, got .*nan"),
        ({"correction": np.zeros(3)}, r"correction: expected shape \(4\), got \(3,\)"),
        ({"steering": np.ones(4)}, r"steering: expected shape \(3\), got \(4,\)"),
        ({"silence_m": np.zeros(3)}, "silence_m: expected numbers above zero, got .*0"),
        ({"full_scale_v": 0.0}, "full_scale_v: expected numbers above zero, got .*0"),
        ({"command_limit": -1.0}, "command_limit: expected zero or more, got -1.0"),
        ({"amp_limit": [1, -2, 1]}, "amp_limit: expected zero or more, got .*-2"),
        ({"delay_samples": 0}, "delay_samples: expected 1 to 8191, got 0"),
        ({"delay_samples": 8192}, "delay_samples: expected 1 to 8191, got 8192"),
        ({"input_sections": np.ones((2, 5))}, r"input_sections: expected shape \(any, 6\)"),
        ({"output_sections": 2 * np.ones((1, 6))}, "output_sections: expected a0 = 1"),
        ({"output_sections": [[1, np.inf, 0, 1, 0, 0]]}, "output_sections: expected finite"),
        ({"quadratic_per_v": np.nan}, "quadratic_per_v: expected finite"),
    ],
)
def test_bad_voice(program, changes, message):
    with pytest.raises(ValueError, match=message):
        program(0, **changes)


def test_more_regulated_than_observed(program):
    with pytest.raises(ValueError, match="at most the 2 observed modes, got 3"):
        program(0, observed=2, regulated=2, **_three_regulators(program))


def _three_regulators(program):
    other = program(0, observed=3, regulated=3)
    names = (
        "target_m", "gain", "feedforward", "integral_gain", "integral_limit", "amp_limit",
        "silence_m", "steering",
    )  # fmt: skip
    return {name: getattr(other, name) for name in names}


def test_arrays_cannot_be_changed(program):
    with pytest.raises(ValueError, match="read-only"):
        program(0).rotation[0] = 1


def test_curves_need_one_more_edge_than_blocks(program):
    voice = program(0)
    steady = ControlCurves.steady(voice, 4)
    assert steady.block_count == 4
    with pytest.raises(ValueError, match=r"gain: expected shape \(5, 3\), got \(4, 3\)"):
        ControlCurves(
            target_m=steady.target_m,
            gain=steady.gain[:-1],
            feedforward=steady.feedforward,
            integral_gain=steady.integral_gain,
            steering=steady.steering,
        )
