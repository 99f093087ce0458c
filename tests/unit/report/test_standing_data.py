"""One design against its targets: figures worked out by hand from chosen frequencies."""

import numpy as np
import pytest

from modewright.report.standing_data import (
    amount,
    relative_room,
    standing_sentences,
    standing_table,
    target_data,
)
from modewright.tune.demands import Heading, demands
from modewright.tune.quantities import Quantities, cents_of
from modewright.tune.settings import FreeDimension, TuneLimits, TuneSettings
from modewright.tune.targets import Decay, KeepAway, Pitch

FREE = (FreeDimension(path="a", lowest="1 mm", highest="2 mm"),)


def quantities(freq_hz=(441.0, 900.0), t60_s=(4.0, 1.0), sizes_m=(5e-3, np.inf, 1e-3, 0.08, 0.02)):
    return Quantities(
        freq_cents=cents_of(np.array(freq_hz)),
        decay_cents=cents_of(np.array(t60_s)),
        size_cents=cents_of(np.array(sizes_m)),
    )


def figures(target=None, limits=None, **known):
    found = quantities(**known)
    settings = TuneSettings(
        free=FREE, targets=() if target is None else (target,), limits=limits or TuneLimits()
    )
    labels = ("bending 1", "bending 2")
    places = {1: 0, 2: 1}
    (demand,) = demands(settings, Heading(note="A4", a4_hz=440.0), places, labels, found)
    return target_data(demand, found)


def test_pitch_counts_cents_within_its_tolerance():
    # 441 over 440 Hz is 1200 log2(441/440) = 3.93 cents.
    found = figures(Pitch(mode=1, within_cents=5.0))
    assert found["found"] == pytest.approx(3.930, abs=1e-3)
    assert (found["bound"], found["asked"], found["unit"]) == ("within", 5.0, "cents")
    assert found["margin"] == pytest.approx(1.070, abs=1e-3)
    assert found["is_met"]
    missed = figures(Pitch(mode=1, within_cents=3.0))
    assert missed["margin"] == pytest.approx(-0.930, abs=1e-3)
    assert not missed["is_met"]


def test_decay_counts_seconds():
    found = figures(Decay(mode=1, least_s=3.0))
    assert (found["bound"], found["unit"]) == ("at least", "s")
    assert [found[key] for key in ("found", "asked", "margin")] == pytest.approx([4, 3, 1])
    missed = figures(Decay(mode=2, least_s=3.0))
    assert missed["margin"] == pytest.approx(-2)
    assert not missed["is_met"]


def test_distance_from_a_multiple_counts_cents_on_either_side():
    # 900 over 882 Hz is 34.98 cents, 870 under it 23.72.
    for freq_hz, apart in ((900.0, 34.976), (870.0, 23.717)):
        target = KeepAway(wanted=(1,), multiples=(2.0,), distance_cents=30.0)
        found = figures(target, freq_hz=(441.0, freq_hz))
        assert found["found"] == pytest.approx(apart, abs=2e-3)
        assert (found["bound"], found["asked"]) == ("at least", 30.0)
        assert found["margin"] == pytest.approx(apart - 30, abs=2e-3)
        assert found["is_met"] == (apart > 30)


def test_sizes_count_metres_from_either_side():
    narrow = figures(limits=TuneLimits(narrowest_metal_m=3e-3))
    assert (narrow["bound"], narrow["unit"]) == ("at least", "m")
    assert narrow["margin"] == pytest.approx(2e-3)
    long = figures(limits=TuneLimits(stock_length_m=0.07))
    assert long["bound"] == "at most"
    assert [long["found"], long["asked"]] == pytest.approx([0.08, 0.07])
    assert long["margin"] == pytest.approx(-0.01)
    assert not long["is_met"]


def test_a_slot_that_is_not_there_keeps_every_width():
    found = figures(limits=TuneLimits(narrowest_slot_m=1e-3))
    assert found["found"] is None
    assert found["margin"] is None
    assert found["is_met"]
    assert relative_room(found) == np.inf
    assert amount(None, "m") == "none"


def test_amounts_carry_their_unit():
    assert amount(12.345, "cents", signed=True) == "+12.3 cents"
    assert amount(-0.0015, "m", signed=True) == "-1.5 mm"
    assert amount(10.57, "s") == "10.6 s"


def entry(what, *, is_limit, margin, is_met=True):
    return {
        "what": what, "is_limit": is_limit, "bound": "at least" if is_limit else "within",
        "unit": "cents", "found": 50.0 + margin, "asked": 50.0, "margin": margin, "is_met": is_met,
    }  # fmt: skip


def test_table_shows_goals_first_and_limits_with_least_room():
    targets = [entry(f"limit {i}", is_limit=True, margin=float(i)) for i in range(14, -1, -1)]
    targets.append(entry("note", is_limit=False, margin=-70.0, is_met=False))
    data = {
        "targets": targets, "frequencies": "in vacuum", "accuracy": "normal",
        "cents_error_estimate": 2.0,
    }  # fmt: skip
    rows = standing_table(data).rows
    assert [row[0] for row in rows] == ["note", *(f"limit {i}" for i in range(10))]
    assert [row[-1] for row in rows] == ["FAIL", *["pass"] * 10]
    assert rows[1][3] == "+0.0 cents"
    first, second = standing_sentences(data)
    assert first.startswith("Missed: note. Frequencies are meant in vacuum, accuracy normal")
    assert second == "5 limits with more room are left out of the table."
