"""Scores laid out in time; wanted values follow from the definitions of the score's fields."""

import dataclasses

import numpy as np
import pytest

from made_up_plant import make_plant
from modewright.errors import ScoreError
from modewright.loop.close import close_loop
from modewright.loop.settings import LoopSettings, ModeControl
from modewright.sound.score import Change, Hold, Oscillator, Score
from modewright.sound.timeline import build_timeline

RATE_HZ, BLOCK = 48000.0, 48  # one control block is one millisecond
FREE, DAMPED, HELD = 0, 1, 2


@pytest.fixture(scope="module")
def regulators():
    controls = (
        ModeControl(mode=1, state="held", level_m=40e-6),
        ModeControl(mode=2),
        ModeControl(mode=4, state="free", level_m=10e-6),
    )
    return close_loop(make_plant(), LoopSettings(modes=controls)).regulators


@pytest.fixture(scope="module")
def lay_out(regulators):
    def build(**score):
        return build_timeline(Score(**score), regulators, RATE_HZ, BLOCK)

    return build


@pytest.mark.parametrize(
    ("start", "states", "levels_m"),
    [
        ("free", [FREE] * 3, [0, 0, 0]),
        ("damped", [DAMPED] * 3, [0, 0, 0]),
        ("as stated", [HELD, DAMPED, FREE], [40e-6, 0, 0]),
    ],
)
def test_start(start, states, levels_m, lay_out):
    laid = lay_out(length_s=0.1, start=start)
    assert laid.state.shape == (100, 3)
    assert laid.target_m.shape == (101, 3)
    np.testing.assert_array_equal(laid.state, np.tile(states, (100, 1)))
    np.testing.assert_allclose(laid.target_m, np.tile(levels_m, (101, 1)))


def test_length_is_rounded_up_to_whole_blocks(lay_out):
    for length_s, blocks in ((1e-9, 1), (1e-3, 1), (1.01e-3, 2), (0.0995, 100)):
        laid = lay_out(length_s=length_s)
        assert len(laid.state) == blocks
        assert len(laid.target_m) == blocks + 1


def test_envelope(lay_out):
    hold = Hold(
        mode=1, at_s=0.1, until_s=0.6, level_m=20e-6,
        attack_s=0.1, decay_s=0.2, sustain=0.5, release_s=0.2, then="free",
    )  # fmt: skip
    laid = lay_out(length_s=1.0, start="damped", holds=(hold,))
    level = laid.target_m[:, 0] / 20e-6
    wanted = {100: 0, 150: 0.5, 200: 1, 300: 0.75, 400: 0.5, 599: 0.5, 700: 0.25, 800: 0, 900: 0}
    for block, share in wanted.items():
        assert level[block] == pytest.approx(share, abs=1e-9), block
    assert np.abs(laid.target_m[:, 1:]).max() == 0
    state = laid.state[:, 0]
    for block, code in {99: DAMPED, 100: HELD, 799: HELD, 800: FREE, 999: FREE}.items():
        assert state[block] == code, block


def test_release_begins_where_the_attack_was_cut_off(lay_out):
    hold = Hold(mode=1, at_s=0.0, until_s=0.1, attack_s=0.4, release_s=0.1)
    level = lay_out(length_s=0.5, holds=(hold,)).target_m[:, 0] / 40e-6
    assert level[[50, 100, 150, 200]] == pytest.approx([0.125, 0.25, 0.125, 0], abs=1e-9)


def test_hold_without_an_end_lasts_to_the_end(lay_out):
    laid = lay_out(length_s=0.5, holds=(Hold(mode=4, at_s=0.0, attack_s=0.0, release_s=0.2),))
    assert laid.target_m[1:, 2] == pytest.approx(10e-6)
    np.testing.assert_array_equal(laid.state[:, 2], HELD)


def test_later_hold_takes_over_and_what_followed_the_first_is_forgotten(lay_out):
    first = Hold(mode=1, at_s=0.0, until_s=0.5, attack_s=0.0, release_s=0.1, then="free")
    second = Hold(mode=1, at_s=0.3, attack_s=0.0, level_m=5e-6)
    for holds in ((first, second), (second, first)):
        laid = lay_out(length_s=1.0, holds=holds)
        assert laid.target_m[[299, 301, 700], 0] == pytest.approx([40e-6, 5e-6, 5e-6])
        np.testing.assert_array_equal(laid.state[:, 0], HELD)


def test_later_hold_glides_from_where_the_first_stood(lay_out):
    first = Hold(mode=1, at_s=0.0, attack_s=0.0)
    second = Hold(mode=1, at_s=0.3, attack_s=0.2, level_m=10e-6)
    laid = lay_out(length_s=0.6, holds=(first, second))
    wanted_m = [40e-6, 25e-6, 10e-6]
    assert laid.target_m[[300, 400, 500], 0] == pytest.approx(wanted_m, rel=1e-6)


def test_change_ends_a_hold_of_its_own_mode_only(lay_out):
    holds = tuple(Hold(mode=m, at_s=0.0, attack_s=0.0) for m in (1, 2))
    one = lay_out(length_s=0.4, holds=holds, changes=(Change(at_s=0.2, mode=2, to="damped"),))
    assert [int(v) for v in one.state[300]] == [HELD, DAMPED, FREE]
    assert one.target_m[300, 1] == 0
    assert one.target_m[300, 0] == pytest.approx(40e-6)
    every = lay_out(length_s=0.4, holds=holds, changes=(Change(at_s=0.2, to="free"),))
    np.testing.assert_array_equal(every.state[199], [HELD, HELD, FREE])
    np.testing.assert_array_equal(every.state[200:], FREE)
    assert np.abs(every.target_m[200:]).max() == 0


# Share of the level added at quarters of a turn, by the definition of each shape.
SWINGS = {"sine": [0, 1, 0, -1], "triangle": [0, 1, 0, -1], "square": [1, 1, -1, -1]}


@pytest.mark.parametrize("phase_deg", [0.0, 90.0, 270.0, -90.0])
@pytest.mark.parametrize("shape", SWINGS)
def test_oscillator(shape, phase_deg, lay_out):
    swing = Oscillator(rate_hz=2.0, depth=0.4, phase_deg=phase_deg, shape=shape)
    hold = Hold(mode=1, at_s=0.1, attack_s=0.0, oscillator=swing)
    laid = lay_out(length_s=1.2, holds=(hold,))
    # A block past the quarters, lest round-off decide on which side of a jump a moment lies.
    blocks = 101 + 125 * np.arange(8)
    wanted = np.roll(SWINGS[shape], -round(phase_deg / 90))[np.arange(8) % 4]
    found = laid.target_m[blocks, 0] / 40e-6
    np.testing.assert_allclose(found, 1 + 0.4 * wanted, atol=0.4 * 2 * np.pi * 2e-3)


def test_triangle_is_straight_between_its_turns(lay_out):
    swing = Oscillator(rate_hz=2.0, depth=1.0, shape="triangle")
    hold = Hold(mode=1, at_s=0.0, attack_s=0.0, oscillator=swing)
    level = lay_out(length_s=1.0, holds=(hold,)).target_m[:, 0] / 40e-6
    assert level[[63, 188]] == pytest.approx([1 + 63 / 125, 1 + (250 - 188) / 125], abs=1e-9)


def test_every_untreated_mode_is_named(lay_out):
    with pytest.raises(ScoreError, match=r"expected treated modes \(1, 2, 4\), got 3, 7\."):
        lay_out(
            length_s=1.0,
            holds=(Hold(mode=7, at_s=0.0), Hold(mode=1, at_s=0.0)),
            changes=(Change(at_s=0.0, mode=3, to="free"), Change(at_s=0.0, to="free")),
        )


def test_loop_without_treated_modes_says_so(regulators):
    empty = np.zeros(0)
    none = dataclasses.replace(
        regulators,
        state=(),
        **{
            f.name: regulators.modes[:0] if f.name == "modes" else empty
            for f in dataclasses.fields(regulators)
            if f.name != "state"
        },
    )
    score = Score(length_s=1.0, holds=(Hold(mode=1, at_s=0.0),))
    with pytest.raises(ScoreError, match=r"expected treated modes \(none\), got 1"):
        build_timeline(score, none, RATE_HZ, BLOCK)


def test_score_whose_curves_need_too_much_memory_is_refused_before_they_are_made(regulators):
    with pytest.raises(ScoreError, match=r"expected at most \d+ s with 3 treated modes"):
        build_timeline(Score(length_s=3600.0), regulators, 3e6, 32)
