"""Notes in a row; one note heard in the pickup of another."""

import numpy as np
import pytest
import scipy.linalg
from hypothesis import given
from hypothesis import strategies as st

from modewright.instrument.base import BaseModes
from modewright.instrument.coupling import NoteMotion, coupled_notes
from modewright.instrument.crosstalk import NotePorts, mechanical_crosstalk
from modewright.instrument.row import RowLayout, row_length_m, row_places_m

WIDTHS = st.lists(st.floats(5e-3, 40e-3), min_size=1, max_size=12)


@given(widths=WIDTHS, spacing=st.floats(0, 20e-3), pitch=st.none() | st.floats(10e-3, 60e-3))
def test_bodies_in_a_row_keep_their_distance_around_the_middle(widths, spacing, pitch):
    layout = RowLayout(spacing_m=spacing, pitch_m=pitch, edge_m=7e-3)
    width_m = np.array(widths)
    places = row_places_m(layout, width_m)
    gaps = np.diff(places) - (width_m[1:] + width_m[:-1]) / 2
    assert np.all(gaps >= spacing - 1e-12)
    if pitch is not None:
        assert np.all(np.diff(places) >= pitch - 1e-12)
    low, high = places[0] - width_m[0] / 2, places[-1] + width_m[-1] / 2
    assert low == pytest.approx(-high, abs=1e-12)
    assert row_length_m(layout, width_m, places) == pytest.approx(high - low + 14e-3)


def oscillator(freq_hz, mass_kg, q):
    return NoteMotion(
        name="note", freq_hz=np.array([freq_hz]), q=np.array([q]), labels=("bending 1",),
        momentum=np.array([[np.sqrt(mass_kg), 0.0, 0.0]]), inertia=np.diag([mass_kg, 0.0, 0.0]),
    )  # fmt: skip


def test_a_far_note_hears_what_the_base_shakes_into_it():
    # On a heavy free base M, a note driven at ω moves the base by b = -√m q/M, and another of
    # frequency ω2 answers q2 = ω² √m2 b/(ω2² - ω²): by hand, for M far above m and far modes.
    m, other_m, big, f, other_f = 1e-3, 2e-3, 50.0, 200.0, 300.0
    motion = np.zeros((2, 3, 1))
    motion[:, 0] = 1.0
    base = BaseModes(
        freq_hz=np.array([1e-2]), q=np.array([10.0]), mass=np.array([big]), root_motion=motion
    )
    notes = [oscillator(f, m, 1000.0), oscillator(other_f, other_m, 1000.0)]
    one = np.ones(1)
    ports = [NotePorts(mode=0, freq_hz=f, push=one, hear=one) for f in (f, other_f)]
    found = mechanical_crosstalk(coupled_notes(notes, base), ports)
    by_hand = f**2 * np.sqrt(m * other_m) / big / (other_f**2 - f**2)
    assert found.level_db[1, 0] == pytest.approx(20 * np.log10(by_hand), abs=0.05)
    assert found.level_db[0, 0] == pytest.approx(0.0, abs=1e-9)
    assert found.asymmetry <= 1e-8


def test_two_unisons_on_a_light_base_are_as_loud_as_each_other():
    motion = np.zeros((2, 3, 1))
    motion[:, 0] = 1.0
    base = BaseModes(
        freq_hz=np.array([1e-2]), q=np.array([10.0]), mass=np.array([0.1]), root_motion=motion
    )
    notes = [oscillator(200.0, 5e-3, 2000.0)] * 2
    port = NotePorts(mode=0, freq_hz=200.0, push=np.ones(1), hear=np.ones(1))
    found = mechanical_crosstalk(coupled_notes(notes, base), [port, port])
    # Both modes of the pair are shared alike, so that the sleeper swings like the one driven.
    assert found.level_db == pytest.approx(np.zeros((2, 2)), abs=0.2)
    # 82 cents apart: 1200 log2 of the root of 1 + 2 m/M.
    assert not found.has_one_pitch.any()
    assert found.spread_cents == pytest.approx([600 * np.log2(1 + 0.01 / 0.1)] * 2, rel=1e-3)


def test_a_light_base_moves_two_notes_far_and_is_told_so():
    # Masses of 2 g at 196 and 220 Hz on a free base of 50 g: the roots of a quadratic.
    m, big = 2e-3, 50e-3
    motion = np.zeros((2, 3, 1))
    motion[:, 0] = 1.0
    base = BaseModes(
        freq_hz=np.array([1e-3]), q=np.array([1e6]), mass=np.array([big]), root_motion=motion
    )
    notes = [oscillator(196.0, m, 1e6), oscillator(220.0, m, 1e6)]
    ports = [NotePorts(mode=0, freq_hz=f, push=np.ones(1), hear=np.ones(1)) for f in (196.0, 220.0)]
    found = mechanical_crosstalk(coupled_notes(notes, base), ports)
    # With the free base taken out, M' = I - p pᵀ/(M + 2 m) for p = (√m, √m).
    mass = np.eye(2) - m / (big + 2 * m)
    squares = scipy.linalg.eigh(np.diag([196.0**2, 220.0**2]), mass, eigvals_only=True)
    assert found.freq_hz == pytest.approx(np.sqrt(squares), rel=1e-6)
    assert np.all(found.freq_hz / [196.0, 220.0] > 2 ** (15 / 1200))
    assert found.has_one_pitch.all()


def test_equal_notes_on_a_heavy_base_keep_one_pitch():
    motion = np.zeros((2, 3, 1))
    motion[:, 0] = 1.0
    base = BaseModes(
        freq_hz=np.array([18.0]), q=np.array([4.0]), mass=np.array([5.0]), root_motion=motion
    )
    notes = [oscillator(200.0, 1e-3, 2000.0)] * 2
    port = NotePorts(mode=0, freq_hz=200.0, push=np.ones(1), hear=np.ones(1))
    found = mechanical_crosstalk(coupled_notes(notes, base), [port, port])
    assert found.has_one_pitch.all()
    assert found.freq_hz == pytest.approx([200.0] * 2, rel=1e-3)
