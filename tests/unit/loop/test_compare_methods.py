"""Which method for the task: verdicts that follow from the physics of each."""

import numpy as np
import pytest

from made_up_plant import make_plant
from modewright.errors import LoopError
from modewright.loop.methods import compare_methods, recommended
from modewright.loop.settings import LoopSettings, ModeControl
from modewright.sound.engine import Engine
from modewright.sound.program import voice_program
from modewright.sound.voice_program import ControlCurves


def by_name(trials):
    return {trial.method: trial for trial in trials}


def test_many_modes_behind_a_long_delay_want_the_joint_observer():
    controls = tuple(ModeControl(mode=i, decay_s=0.5) for i in (1, 2, 3))
    trials = compare_methods(make_plant(), LoopSettings(modes=controls))
    found = by_name(trials)
    assert found["joint observer"].serves
    assert found["joint observer"].missed == ()
    # 48 samples turn 733 Hz by 264°: no low-pass near the mode makes up for it.
    assert "mode 3" in found["position feedback"].fault
    assert not found["velocity feedback"].is_stable
    method, why = recommended(trials)
    assert method == "joint observer"
    assert why.startswith("Take the joint observer: 3 of 3 decays come out as asked for, with ")
    assert "Velocity feedback would howl." in why


def test_a_held_mode_rules_out_what_only_damps():
    held = LoopSettings(modes=(ModeControl(mode=1, state="held"),))
    found = by_name(compare_methods(make_plant(), held))
    assert found["velocity feedback"].fault == "it cannot hold, and mode 1 is held"
    assert np.isfinite(found["band-pass"].held_cents).all()


def test_where_nothing_serves_it_says_so():
    hasty = tuple(ModeControl(mode=i, decay_s=0.005) for i in range(1, 7))
    trials = compare_methods(make_plant(), LoopSettings(modes=hasty, observer_bandwidth_hz=100.0))
    method, why = recommended(trials)
    assert method is None
    assert why.startswith("No method serves")


def test_nothing_to_treat():
    with pytest.raises(LoopError, match="expected modes to treat, got none"):
        compare_methods(make_plant(), LoopSettings())


@pytest.mark.parametrize(
    ("method", "decay_s"),
    [("band-pass", 0.5), ("position feedback", 0.5), ("joint observer", 0.5)],
)
def test_the_core_decays_as_each_method_predicts(method, decay_s):
    """Played sample by sample in double precision, the voltage falls as the pole says."""
    from modewright.loop.close import close_loop

    plant = make_plant()
    loop = close_loop(
        plant, LoopSettings(method=method, modes=(ModeControl(mode=1, decay_s=decay_s),))
    )
    only_mode_1 = np.where(np.arange(plant.mode_count) == 0, plant.drive_gain, 0)
    program = voice_program(loop, only_mode_1)
    blocks, block = 600, 64
    shape = (blocks, 1)
    curves = ControlCurves(
        target_m=np.zeros((blocks + 1, 1)),
        gain=np.full((blocks + 1, 1), loop.regulators.damp_gain[0]),
        feedforward=np.zeros(shape),
        integral_gain=np.zeros(shape),
        steering=np.broadcast_to(loop.regulators.steering, shape),
    )
    engine = Engine("float64", block=block, longest_delay=program.delay_samples)
    engine.load(0, program)
    force_n = np.zeros(blocks * block)
    force_n[:60] = 1e-4 * np.hanning(60)
    heard_v = engine.run(len(force_n), force_n=force_n, curves=[curves]).output_v[:, 0]
    # The other modes are a little pushed too: listen to this one alone.
    turn = 2 * np.pi * loop.all_damped.poles.freq_hz[0] / plant.rate_hz
    wave = np.exp(-1j * turn * np.arange(len(heard_v))) * heard_v
    level = np.abs(wave.reshape(-1, 2400) @ np.hanning(2400))[3:13]
    rate = -np.polyfit(np.arange(len(level)) * 2400 / plant.rate_hz, np.log(level), 1)[0]
    assert rate == pytest.approx(loop.all_damped.poles.decay_rate_per_s[0], rel=0.02)
