"""Scales: degrees, names, and what cannot be one."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from modewright.instrument.compass import Compass, compass_notes
from modewright.instrument.scale import EqualSteps, ListedIntervals, Scale

MAJOR = ("1", "9/8", "5/4", "4/3", "3/2", "5/3", "15/8")


@given(degree=st.integers(-60, 60), divisions=st.integers(1, 72))
def test_equal_steps_are_equal_and_close_after_a_period(degree, divisions):
    steps = EqualSteps(divisions=divisions)
    assert steps.ratio(degree + divisions) == pytest.approx(2 * steps.ratio(degree), rel=1e-12)
    step = steps.ratio(degree + 1) / steps.ratio(degree)
    assert step**divisions == pytest.approx(2.0, rel=1e-9)


@given(degree=st.integers(-40, 40))
def test_listed_intervals_repeat_and_rise(degree):
    steps = ListedIntervals(intervals=MAJOR)
    assert steps.ratio(degree + 7) == pytest.approx(2 * steps.ratio(degree), rel=1e-12)
    assert steps.ratio(degree + 1) > steps.ratio(degree)


def test_a_period_other_than_the_octave():
    steps = EqualSteps(divisions=13, period="3 : 1")
    assert steps.ratio(14) == pytest.approx(3.0)


def test_the_tied_degree_sounds_its_pitch_whatever_degree_it_is():
    scale = Scale(steps=ListedIntervals(intervals=MAJOR), degree=6, note="A4")
    assert scale.note_of_degree(6, 442.0).freq_hz == pytest.approx(442.0)
    assert scale.note_of_degree(1, 442.0).freq_hz == pytest.approx(442.0 * 3 / 5)


def test_tempered_notes_bear_their_usual_names():
    scale = Scale(note="G3")
    assert [scale.note_of_degree(d, 442.0).name for d in (1, 3, 13)] == ["G3", "A3", "G4"]
    assert scale.find_degree("Bb3", 442.0) == 4
    assert scale.find_degree("nothing", 442.0) is None


def test_names_of_a_scale_go_on_through_the_periods():
    scale = Scale(
        steps=ListedIntervals(intervals=("1", "4/3", "3/2"), names=("lo", "mid", "hi")),
        freq_hz=200.0,
    )
    names = [scale.note_of_degree(d, 440.0).name for d in (-1, 0, 1, 3, 4, 7)]
    assert names == ["mid,", "hi,", "lo", "hi", "lo'", "lo''"]
    assert scale.find_degree("lo'", 440.0) == 4
    assert scale.find_degree("-1", 440.0) == -1
    assert scale.find_degree("--5", 440.0) is None
    assert scale.find_degree("²", 440.0) is None


@pytest.mark.parametrize(
    ("section", "key"),
    [
        (EqualSteps(period="1 : 2"), "period"),
        (EqualSteps(period="a mile"), "period"),
        (ListedIntervals(intervals=()), "intervals"),
        (ListedIntervals(intervals=("9/8", "5/4")), "intervals[1]"),
        (ListedIntervals(intervals=("1", "5/4", "9/8")), "intervals[3]"),
        (ListedIntervals(intervals=("1", "5/2")), "period"),
        (ListedIntervals(intervals=("1", "x")), "intervals[2]"),
        (ListedIntervals(intervals=("1", "3/2"), names=("a",)), "names"),
        (ListedIntervals(intervals=("1", "3/2"), names=("a", "a")), "names[2]"),
        (ListedIntervals(intervals=("1", "3/2"), names=("a", "7")), "names[2]"),
        (Scale(), "note"),
        (Scale(note="G3", freq_hz=200.0), "note"),
        (Scale(note="H3"), "note"),
        (Compass(), "last"),
        (Compass(last="3", notes=("1",)), "last"),
    ],
)
def test_what_is_no_scale_is_told(section, key):
    assert key in [fault.key for fault in section.problems()]


def test_notes_of_a_compass():
    scale = Scale(note="G3")
    notes, faults = compass_notes(Compass(last="8"), scale, 440.0)
    assert not faults
    assert [note.degree for note in notes] == list(range(1, 9))
    listed, _ = compass_notes(Compass(notes=("G3", "A3", "C4")), scale, 440.0)
    assert [note.degree for note in listed] == [1, 3, 6]


@pytest.mark.parametrize(
    ("compass", "key"),
    [
        (Compass(last="x"), "last"),
        (Compass(first="5", last="5"), "last"),
        (Compass(last="500"), "last"),
        (Compass(notes=("G3", "C4", "A3")), "notes[3]"),
    ],
)
def test_what_is_no_compass_is_told(compass, key):
    notes, faults = compass_notes(compass, Scale(note="G3"), 440.0)
    assert not notes
    assert [fault.key for fault in faults] == [key]
