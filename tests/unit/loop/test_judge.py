"""States that only a score asks for, against the eigenvalues of the whole loop as one matrix."""

import dataclasses

import numpy as np
import pytest
from scipy import linalg

from made_up_plant import FREQ_HZ, RATE_HZ, make_plant
from modewright.loop.close import close_loop
from modewright.loop.judge import judged_alone
from modewright.loop.settings import LoopSettings, ModeControl
from whole_loop import transition_matrix


@pytest.fixture(scope="module")
def howling():
    """Mode 8 at 3000 Hz held fast, beside mode 9 at 3015 Hz, unmodelled and heard upside down."""
    plant = make_plant()
    heard = plant.pickup_gain * np.where(np.arange(len(FREQ_HZ)) == 8, -1, 1)
    modes = (ModeControl(mode=1), ModeControl(mode=8, decay_s=1.0, attack_s=0.005))
    return close_loop(
        dataclasses.replace(plant, pickup_gain=heard),
        LoopSettings(modelled_modes=8, observer_bandwidth_hz=20.0, modes=modes),
    )


def growing_eigenvalues(loop, gain):
    values = linalg.eigvals(transition_matrix(loop.plant, loop.observer, loop.regulators, gain))
    found = values[(np.abs(values) > 1) & (values.imag >= 0)]
    freq_hz = np.angle(found) * RATE_HZ / (2 * np.pi)
    return freq_hz, np.log(np.abs(found)) * RATE_HZ


def test_howl_of_a_hold_that_the_design_does_not_state_is_told(howling):
    assert howling.stated.poles.is_stable
    assert howling.all_damped.poles.is_stable
    assert not howling.is_stable
    judged = {case.name: case for case in howling.judged}
    assert list(judged) == [
        "as stated", "all damped", "all held",
        "mode 1 held, the rest damped", "mode 8 held, the rest damped",
    ]  # fmt: skip
    for case in judged.values():
        freq_hz, rate_per_s = growing_eigenvalues(howling, case.gain)
        assert [m.freq_hz for m in case.growing] == pytest.approx(freq_hz, rel=1e-9)
        assert [m.rate_per_s for m in case.growing] == pytest.approx(rate_per_s, rel=1e-5)
    assert [case.name for case in judged.values() if not case.is_stable] == [
        "all held", "mode 8 held, the rest damped",
    ]  # fmt: skip
    (text,) = [text for text in howling.findings if "Unstable" in text]
    assert text.startswith("Unstable (all held): mode 9 (mode at 3015) grows at 3014.9 Hz")
    assert "Without the regulator of mode 8 (mode at 3000) nothing grows" in text


def test_any_states_are_named_by_what_each_mode_does(howling):
    case, free = judged_alone(
        howling.plant, howling.observer, howling.regulators, (("damped", "held"), ("free", "free"))
    )
    assert case.name == "mode 8 held; mode 1 damped"
    assert case.cures == (7,)
    assert free.is_stable
    assert free.name == "modes 1, 8 free"


def test_a_growing_motion_of_no_mode_is_named_by_its_frequency_and_its_cure():
    """A decay of a fifth of a millisecond pushes a pole out that belongs to no mode."""
    modes = (ModeControl(mode=1), ModeControl(mode=6, decay_s=2e-4))
    loop = close_loop(make_plant(), LoopSettings(modes=modes))
    case = loop.judged[1]
    freq_hz, rate_per_s = growing_eigenvalues(loop, case.gain)
    assert [m.freq_hz for m in case.growing] == pytest.approx(freq_hz, abs=1e-6)
    assert [m.rate_per_s for m in case.growing] == pytest.approx(rate_per_s, rel=1e-6)
    assert case.cures == (5,)
    (text,) = [t for t in loop.findings if "Unstable (all damped)" in t]
    assert "away from every mode, grows at 0.0 Hz" in text
    assert "Without the regulator of mode 6" in text
