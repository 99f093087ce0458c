"""Faults of the section [tune] that can be seen without the rest of the design."""

from __future__ import annotations

import pytest

from modewright.tune.settings import FreeDimension, TuneSettings
from modewright.tune.targets import Decay, Interval, KeepAway, Partials, Pitch, mode_text

LENGTH = FreeDimension(path="resonator.length", lowest="1 mm", highest="2 mm")


@pytest.mark.parametrize(
    ("part", "key", "expected"),
    [
        (Pitch(mode=1, note="H3"), "note", "a note such as"),
        (Pitch(mode=1, note="A3", freq_hz=220.0), "freq", "a note or a frequency"),
        (Interval(mode=1, above=1, interval="3"), "above", "another mode"),
        (Interval(mode=2, above=1, interval="a lot"), "interval", "an interval such as"),
        (Partials(modes=(1,), ratios="1 : 2"), "modes", "two or more modes"),
        (Partials(modes=(1, 1), ratios="1 : 2"), "modes", "each mode once"),
        (Partials(modes=(1, 2), ratios="1 : 2 : 3"), "ratios", "2 numbers"),
        (Partials(modes=(1, 2), ratios="1 : many"), "ratios", "an interval such as"),
        (KeepAway(distance_cents=10.0, multiples=()), "multiples", "at least one number"),
        (TuneSettings(free=(), targets=(Pitch(mode=1),)), "free", "at least one"),
        (TuneSettings(free=(LENGTH,), targets=()), "targets", "at least one"),
        (
            TuneSettings(free=(LENGTH, LENGTH), targets=(Pitch(mode=1),)),
            "free[2].path",
            "each value once",
        ),
        (
            TuneSettings(
                free=(LENGTH,),
                targets=(Decay(mode=1, least_s=1.0), KeepAway(distance_cents=100.0)),
            ),
            "targets[2].wanted",
            "modes to keep away from",
        ),
    ],
)
def test_faults_name_their_key(part, key, expected):
    faults = list(part.problems())
    assert key in [fault.key for fault in faults]
    assert any(expected in fault.expected for fault in faults if fault.key == key)


def test_sound_targets_have_no_faults():
    assert not list(Partials(modes=(1, "bending 2"), ratios="1 : octave + fifth").problems())
    assert not list(TuneSettings(free=(LENGTH,), targets=(Pitch(mode=1, note="G3"),)).problems())


def test_modes_in_words():
    assert mode_text(3) == "mode 3"
    assert mode_text("torsion 1") == "torsion 1"
