"""What targets ask of a body whose frequencies are known, in cents worked out by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest

from modewright.tune.demands import Heading, demands, slopes_of, state_of, voiced_modes
from modewright.tune.quantities import SIZES, Quantities, cents_of
from modewright.tune.settings import FreeDimension, TuneLimits, TuneSettings
from modewright.tune.targets import Decay, Interval, KeepAway, Partials, Pitch

LABELS = ("bending 1", "torsion 1", "bending 2", "lateral 1")
FREQ_HZ = np.array([220.0, 600.0, 880.0, 2000.0])
T60_S = np.array([4.0, 1.0, 2.0, 0.5])
SIZES_M = np.array([2e-3, 5e-4, 2e-4, 0.06, 0.02])
BODY = Quantities(
    freq_cents=cents_of(FREQ_HZ), decay_cents=cents_of(T60_S), size_cents=cents_of(SIZES_M)
)
FREE = (FreeDimension(path="stock.thickness", lowest="1 mm", highest="2 mm"),)
HEADING = Heading(note="A3", a4_hz=440.0)


def written(*targets, **limits):
    settings = TuneSettings(free=FREE, targets=targets, limits=TuneLimits(**limits))
    names = {mode for target in targets for mode in target.modes}
    places = {n: n - 1 if isinstance(n, int) else LABELS.index(n) for n in names}
    return demands(settings, HEADING, places, LABELS, BODY)


def cents(*targets, **limits):
    return [d.sum_cents(BODY) for d in written(*targets, **limits)]


def test_pitch_by_note_frequency_offset_or_the_note_of_the_design():
    assert cents(Pitch(mode=1)) == pytest.approx([0.0])
    assert cents(Pitch(mode=1, note="A4")) == pytest.approx([-1200.0])
    assert cents(Pitch(mode="bending 2", freq_hz=440.0)) == pytest.approx([1200.0])
    assert cents(Pitch(mode=1, offset_cents=30.0)) == pytest.approx([-30.0])


def test_a_pitch_without_any_note_is_a_fault_of_the_program():
    settings = TuneSettings(free=FREE, targets=(Pitch(mode=1),))
    with pytest.raises(ValueError, match="expected a note or a frequency"):
        demands(settings, Heading(note="", a4_hz=440.0), {1: 0}, LABELS, BODY)


def test_intervals_and_partials_are_counted_from_the_lower_mode():
    interval = Interval(mode="bending 2", above="bending 1", interval="octave + fifth")
    assert cents(interval) == pytest.approx([2400 - 1200 * math.log2(3)])
    partials = Partials(modes=(1, 3, 4), ratios="1 : 4 : 10")
    assert cents(partials) == pytest.approx([0.0, 1200 * math.log2(2000 / 2200)])


def test_a_decay_is_a_room_in_cents_of_its_ratio():
    assert cents(Decay(mode=1, least_s=2.0)) == pytest.approx([1200.0])
    assert cents(Decay(mode=2, least_s=2.0)) == pytest.approx([-1200.0])


def test_unwanted_modes_keep_away_on_their_own_side():
    away = KeepAway(distance_cents=100.0, wanted=(3,), unwanted=("torsion", "lateral"))
    expected = [1200 * math.log2(880 / 600) - 100, 1200 * math.log2(2000 / 880) - 100]
    assert cents(away) == pytest.approx(expected)
    # Three times mode 1 is 660 Hz, above the torsion and below the rest.
    away = KeepAway(distance_cents=50.0, wanted=(1,), multiples=(3.0,), unwanted=("torsion",))
    assert cents(away) == pytest.approx([1200 * math.log2(660 / 600) - 50])


def test_without_names_all_modes_that_no_target_names_keep_away_from_all_that_one_names():
    found = written(
        Partials(modes=("bending 1", "bending 2"), ratios="1 : 4"), KeepAway(distance_cents=10.0)
    )
    assert [d.what for d in found if d.is_limit] == [
        "torsion 1 10 cents from bending 1",
        "lateral 1 10 cents from bending 1",
        "torsion 1 10 cents from bending 2",
        "lateral 1 10 cents from bending 2",
    ]


def test_limits_of_the_workshop_bound_sizes_from_either_side():
    found = cents(
        narrowest_metal_m=1e-3,
        narrowest_slot_m=1e-3,
        smallest_radius_m=1e-4,
        stock_length_m=0.12,
        stock_width_m=0.01,
    )
    assert found == pytest.approx([1200, -1200, 1200, 1200, -1200])


def test_tolerances_weigh_and_limits_are_aimed_at_from_inside():
    wanted = written(Pitch(mode=1, note="A4", within_cents=10.0), narrowest_metal_m=2e-3)
    state = state_of(wanted, BODY)
    assert state.misses == pytest.approx([-120.0])
    assert state.rooms == pytest.approx([-1.0])
    assert not wanted[0].is_met(BODY)
    assert wanted[1].is_met(BODY)


def test_slopes_add_up_as_the_sums_do():
    wanted = written(
        Interval(mode="bending 2", above="bending 1", interval="4", within_cents=2.0),
        stock_length_m=0.1,
    )
    slopes = slopes_of(
        wanted,
        Quantities(
            freq_cents=np.array([[1.0, 0.0], [0.0, 0.0], [5.0, 2.0], [0.0, 0.0]]),
            decay_cents=np.zeros((4, 2)),
            size_cents=np.vstack([np.zeros((3, 2)), [[7.0, 0.0]], np.zeros((1, 2))]),
        ),
    )
    assert slopes.misses == pytest.approx(np.array([[2.0, 1.0]]))
    assert slopes.rooms == pytest.approx(np.array([[-7.0, 0.0]]))


def test_stacked_quantities_come_apart_again():
    again = Quantities.of_stacked(BODY.stacked)
    assert again.freq_cents == pytest.approx(BODY.freq_cents)
    assert again.decay_cents == pytest.approx(BODY.decay_cents)
    assert len(again.size_cents) == len(SIZES)


def test_only_modes_with_a_wanted_pitch_are_voiced():
    targets = (Pitch(mode=2), Decay(mode=4, least_s=1.0), Partials(modes=(1, 2), ratios="1 : 2"))
    assert voiced_modes(targets) == (2, 1)
