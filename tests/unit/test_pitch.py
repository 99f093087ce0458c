"""Notes and hertz."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from modewright.pitch import (
    NoteNameError,
    cents_between,
    freq_hz_of_note,
    nearest_note,
    note_name,
    note_number,
    ratio_of_cents,
)

freqs = st.floats(10.0, 20e3)


@given(st.integers(0, 127))
def test_names_and_numbers_round_trip(number):
    assert note_number(note_name(number)) == number


@given(freqs, st.floats(400.0, 480.0))
def test_nearest_note_leads_back(freq_hz, a4_hz):
    nearest = nearest_note(freq_hz, a4_hz)
    assert abs(nearest.cents) <= 50.0 + 1e-9
    rebuilt = freq_hz_of_note(nearest.name, a4_hz) * ratio_of_cents(nearest.cents)
    assert rebuilt == pytest.approx(freq_hz, rel=1e-12)


@given(freqs, freqs)
def test_cents_change_sign_with_direction(one, other):
    assert cents_between(one, other) == pytest.approx(-cents_between(other, one), abs=1e-9)
    assert ratio_of_cents(cents_between(one, other)) == pytest.approx(one / other, rel=1e-12)


def test_enharmonic_spellings_sound_the_same():
    assert note_number("Bb2") == note_number("A#2") == note_number("B♭2")
    assert note_number("Cb4") == note_number("B3")
    assert note_number("F##3") == note_number("g3")


def test_the_reference_moves_every_note():
    assert freq_hz_of_note("G3", 442.0) / freq_hz_of_note("G3") == pytest.approx(442 / 440)


@pytest.mark.parametrize("wrong", ["", "H3", "G", "3", "G#b#3", "G 3.5", "Gis3"])
def test_refuses_other_words(wrong):
    with pytest.raises(NoteNameError, match=f'expected a note such as "G3".*got "{wrong}"'):
        note_number(wrong)


def test_a_long_word_is_not_repeated_in_full():
    with pytest.raises(NoteNameError) as raised:
        note_number("x" * 5000)
    assert len(str(raised.value)) < 200


@pytest.mark.parametrize("wrong", [0.0, -440.0, float("nan")])
def test_refuses_a_frequency_that_is_none(wrong):
    with pytest.raises(ValueError, match="freq_hz: expected a frequency above zero"):
        nearest_note(wrong)
