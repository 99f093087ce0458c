"""What a driver at its limit can do, against the equation of the level and the time-domain core."""

import numpy as np
import pytest
from scipy import integrate

from made_up_plant import make_plant
from modewright.loop.close import close_loop
from modewright.loop.settings import LoopSettings, ModeControl
from modewright.sound.performance import perform
from modewright.sound.score import Hold, Score
from modewright.sound.settings import StrikeSettings


class Still:
    """A body that no blow moves."""

    mode_count = 20

    def displacement(self, points_m):
        return np.zeros((len(points_m), 3, self.mode_count))


def loop_of(share, decay_s):
    """Mode 6, whose level is a share of the highest that the driver holds."""
    plant = make_plant()
    probe = close_loop(plant, LoopSettings(modes=(ModeControl(mode=6),)))
    level_m = float(share * probe.authority.highest_level_driver_m[0])
    modes = (ModeControl(mode=6, decay_s=decay_s, level_m=level_m),)
    return close_loop(plant, LoopSettings(modes=modes))


@pytest.mark.parametrize("share", [0.05, 0.5, 0.9])
def test_fall_at_the_limit_solves_the_equation_of_the_level(share):
    loop = loop_of(share, 0.5)
    sigma = float(loop.plant.decay_rate_per_s[5])
    level_m = float(loop.regulators.level_m[0])
    # At the highest level the driver replaces just what the mode loses.
    taken_m_per_s = sigma * float(loop.authority.highest_level_driver_m[0])

    def is_down(_, level):
        return level[0] - 1e-3 * level_m

    is_down.terminal = True
    solved = integrate.solve_ivp(
        lambda _, level: -sigma * level - taken_m_per_s, (0, 10), [level_m], events=is_down,
        rtol=1e-9, atol=1e-12,
    )  # fmt: skip
    assert loop.authority.decay_at_limit_s[0] == pytest.approx(solved.t_events[0][0], rel=1e-5)
    # An exponential that asks for the limit only at its beginning takes longer.
    start = 3 * np.log(10) * level_m / (sigma * level_m + taken_m_per_s)
    assert loop.authority.exponential_t60_driver_s[0] == pytest.approx(start, rel=1e-9)
    assert loop.authority.decay_at_limit_s[0] < start


@pytest.mark.parametrize("share", [0.1, 0.6])
def test_the_core_falls_as_foretold_where_the_driver_binds(share):
    loop = loop_of(share, 0.05)
    hold = Hold(mode=6, at_s=0.0, attack_s=0.0, until_s=4.0, release_s=0.0, then="damped")
    score = Score(length_s=5.0, start="damped", holds=(hold,))
    played = perform(loop, Still(), score, StrikeSettings(), (0.0, 0.0), noise_seed=None)
    level, time_s = played.level_m[:, 0], played.level_time_s
    start = int(np.searchsorted(time_s, 4.0))
    down = start + int(np.argmax(level[start:] < 1e-3 * level[start - 1]))
    fall_s = time_s[down] - time_s[start]
    assert loop.authority.linear_level_m[0] < loop.regulators.level_m[0]
    # The wanted decay itself comes out a few percent long in a loop with neighbours.
    assert loop.authority.damped_fall_s[0] == pytest.approx(fall_s, rel=0.05)
    assert loop.authority.damped_fall_s[0] > loop.authority.decay_at_limit_s[0]
    (text,) = [text for text in loop.findings if text.startswith("Decay beyond the driver")]
    assert f"60 dB take {loop.authority.damped_fall_s[0]:.3g} s" in text


def test_within_the_driver_the_wanted_decay_is_kept():
    loop = loop_of(0.01, 0.5)
    assert loop.authority.damped_fall_s[0] == pytest.approx(0.5, rel=1e-9)
    assert not [text for text in loop.findings if "Decay beyond" in text]


def test_a_decay_longer_than_the_modes_own_is_told():
    """Q 800 at 2100 Hz: T60 = 3 ln 10 Q/(pi f) = 0.838 s."""
    own_s = 3 * np.log(10) * 800 / (np.pi * 2100)
    for decay_s, told in ((1.5 * own_s, 1), (0.9 * own_s, 0)):
        modes = (ModeControl(mode=6, decay_s=decay_s),)
        findings = close_loop(make_plant(), LoopSettings(modes=modes)).findings
        longer = [text for text in findings if text.startswith("Longer than its own: mode 6")]
        assert len(longer) == told
        assert all("dies in 0.838 s" in text for text in longer)
