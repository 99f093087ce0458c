"""Notes on a base that gives way, against closed forms and laws."""

import numpy as np
import pytest
import scipy.linalg
from hypothesis import given
from hypothesis import strategies as st

from modewright.instrument.base import BaseModes, MeasuredBase, MeasuredBaseMode, RigidBase
from modewright.instrument.coupling import NoteMotion, coupled_notes
from modewright.instrument.pulls import pulls

HIGH_Q = 1e9


def oscillator(freq_hz, mass_kg, q=HIGH_Q):
    """A mass on a spring on the base."""
    return NoteMotion(
        name="note",
        freq_hz=np.array([freq_hz]),
        q=np.array([q]),
        labels=("bending 1",),
        momentum=np.array([[np.sqrt(mass_kg), 0.0, 0.0]]),
        inertia=np.diag([mass_kg, 0.0, 0.0]),
    )


def floating(mass_kg, notes=2):
    """A base that only rises, on next to no spring."""
    motion = np.zeros((notes, 3, 1))
    motion[:, 0] = 1.0
    return BaseModes(
        freq_hz=np.array([1e-3]), q=np.array([HIGH_Q]), mass=np.array([mass_kg]), root_motion=motion
    )


@given(mass=st.floats(1e-4, 0.1), base_mass=st.floats(0.05, 10.0), freq=st.floats(50.0, 2000.0))
def test_two_equal_masses_on_a_free_base(mass, base_mass, freq):
    # In antiphase the base stands still: ω² = k/m. In phase ω² = k/m (1 + 2 m/M).
    notes = [oscillator(freq, mass), oscillator(freq, mass)]
    found = coupled_notes(notes, floating(base_mass)).modes().freq_hz
    assert found[1] == pytest.approx(freq, rel=1e-9)
    assert found[2] == pytest.approx(freq * np.sqrt(1 + 2 * mass / base_mass), rel=1e-8)


def test_one_mass_on_a_sprung_base_against_the_quadratic_of_two_masses():
    # Den Hartog, Mechanical Vibrations, 4th ed. sec. 3.3: two masses in a row, by hand.
    m, big, k, feet = 2e-3, 0.5, 2e-3 * (2 * np.pi * 300.0) ** 2, 0.5 * (2 * np.pi * 280.0) ** 2
    base = BaseModes(
        freq_hz=np.array([280.0]),
        q=np.array([HIGH_Q]),
        mass=np.array([big]),
        root_motion=np.array([[[1.0], [0.0], [0.0]]]),
    )
    found = coupled_notes([oscillator(300.0, m)], base).modes().freq_hz
    roots = np.roots([m * big, -(k * big + (k + feet) * m), k * feet])
    assert found == pytest.approx(np.sort(np.sqrt(roots)) / (2 * np.pi), rel=1e-9)


def test_near_modes_push_each_other_apart_by_the_closed_form():
    # Equal partners: one stays, one moves by 1200 log2 sqrt(1 + m/(M + m)) beyond its own shift.
    m, big = 1e-3, 2.0
    notes = [oscillator(400.0, m), oscillator(400.0, m)]
    (pull,) = pulls(notes, floating(big)).pairs
    alone = np.sqrt((big + 2 * m) / (big + m))
    upper = np.sqrt((big + 2 * m) / big)
    assert pull.apart_cents == pytest.approx(0.0, abs=1e-6)
    assert pull.pull_cents[0] == pytest.approx(-1200 * np.log2(alone), abs=1e-6)
    assert pull.pull_cents[1] == pytest.approx(1200 * np.log2(upper / alone), abs=1e-6)


def test_modes_whose_loss_differs_more_than_they_couple_keep_their_pitch():
    m, big = 1e-3, 2.0
    lossless = pulls([oscillator(400.0, m), oscillator(400.0, m)], floating(big)).pairs[0]
    lossy = pulls([oscillator(400.0, m), oscillator(400.0, m, q=50.0)], floating(big)).pairs[0]
    assert lossy.size_cents < 0.05 * lossless.size_cents


def test_far_modes_and_modes_of_one_note_are_no_pair():
    assert not pulls([oscillator(400.0, 1e-3), oscillator(480.0, 1e-3)], floating(2.0)).pairs


def sprung(freq_hz, mass_kg, q, notes=2):
    """A base that only rises, on a spring."""
    motion = np.zeros((notes, 3, 1))
    motion[:, 0] = 1.0
    return BaseModes(
        freq_hz=np.array([freq_hz]), q=np.array([q]), mass=np.array([mass_kg]), root_motion=motion
    )


def test_a_base_mode_between_two_notes_is_not_taken_for_one_of_them():
    # Three masses by scipy.linalg.eigh, which knows no shares: with the base at 201 Hz between them
    # the notes at 200 and 204 Hz are no longer modes of their own.
    m, big = 0.1, 2.0
    notes = [oscillator(200.0, m), oscillator(204.0, m)]
    found = pulls(notes, sprung(201.0, big, 50.0))
    assert not found.pairs
    assert {mixed.spot for mixed in found.not_own} == {(0, 0), (1, 0)}
    lowest = scipy.linalg.eigh(
        np.diag([200.0**2, big * 201.0**2]),
        np.array([[1, np.sqrt(m)], [np.sqrt(m), big + 2 * m]]),
        eigvals_only=True,
    )
    either = min(abs(mixed.freq_hz - f) for mixed in found.not_own[:1] for f in np.sqrt(lowest))
    assert either < 0.1


def test_a_base_far_from_the_notes_leaves_them_their_own():
    notes = [oscillator(200.0, 1e-3), oscillator(204.0, 1e-3)]
    found = pulls(notes, sprung(18.0, 2.0, 4.0))
    assert not found.not_own
    assert len(found.pairs) == 1


@given(seed=st.integers(0, 10_000))
def test_strain_without_loss_is_shared_out_both_ways(seed):
    # Strain of all modes by Σ φ φᵀ/λ = K⁻¹: rows and columns add to 1.
    rng = np.random.default_rng(seed)
    notes = [oscillator(float(f), 2e-3) for f in rng.uniform(100, 900, 4)]
    share = coupled_notes(notes, sprung(60.0, 0.3, HIGH_Q, notes=4)).modes().share
    assert share.sum(axis=0) == pytest.approx(np.ones(5))
    assert share.sum(axis=1) == pytest.approx(np.ones(5), rel=1e-6)


def some_notes(rng, count=5, modes=4):
    notes = []
    for number in range(count):
        shapes = rng.normal(size=(modes, 3)) * [0.02, 1e-3, 1e-3]
        notes.append(
            NoteMotion(
                name=str(number),
                freq_hz=np.sort(rng.uniform(100.0, 3000.0, modes)),
                q=rng.uniform(200.0, 2000.0, modes),
                labels=tuple(f"mode {i}" for i in range(modes)),
                momentum=shapes,
                inertia=shapes.T @ shapes + np.diag([1e-3, 1e-7, 1e-7]),
            )
        )
    return notes


BLOCK = RigidBase(mass_kg=3.0, length_m=0.4, width_m=0.15, root_line_m=-0.03)


@given(seed=st.integers(0, 10_000), freq_hz=st.floats(20.0, 4000.0))
def test_reciprocity(seed, freq_hz):
    notes = some_notes(np.random.default_rng(seed))
    base = BLOCK.modes_at(np.linspace(-0.15, 0.15, 5))
    response = coupled_notes(notes, base).receptance(freq_hz)
    assert np.abs(response - response.T).max() <= 1e-8 * np.abs(response).max()


@given(
    seed=st.integers(0, 10_000), freq_hz=st.floats(20.0, 4000.0), i=st.integers(0, 4),
    j=st.integers(0, 4),
)  # fmt: skip
def test_response_and_its_reverse_by_eliminating_the_notes(seed, freq_hz, i, j):
    # Another assembly: each note is a force on the base, ω⁴ Pᵀ (ω0² − ω²)⁻¹ P + ω² R, and the base
    # a dynamic stiffness of a few unknowns; force on note i, motion of note j, each way round.
    notes = some_notes(np.random.default_rng(seed))
    base = BLOCK.modes_at(np.linspace(-0.15, 0.15, 5))
    square = (2 * np.pi * freq_hz) ** 2
    own = [(2 * np.pi * note.freq_hz) ** 2 * (1 + 1j / note.q) - square for note in notes]
    stiffness = base.mass * (2 * np.pi * base.freq_hz) ** 2 * (1 + 1j / base.q)
    whole = np.diag(stiffness - square * base.mass)
    for note, root, apart in zip(notes, base.root_motion, own, strict=True):
        load = note.momentum.T @ (note.momentum / apart[:, None]) * square**2
        whole = whole - root.T @ (load + square * note.inertia) @ root
    coupled = coupled_notes(notes, base)
    response = coupled.receptance(freq_hz)

    def through_the_base(at, to):
        pushed = square * (base.root_motion[at].T @ notes[at].momentum.T) / own[at]
        moved = square * (notes[to].momentum @ base.root_motion[to]) / own[to][:, None]
        direct = np.diag(1 / own[at]) if at == to else 0.0
        return direct + moved @ np.linalg.solve(whole, pushed)

    there, back = through_the_base(i, j), through_the_base(j, i)
    scale = np.abs(there).max()
    assert np.abs(there - back.T).max() <= 1e-8 * scale
    assert np.abs(response[coupled.part(j), coupled.part(i)] - there).max() <= 1e-8 * scale


@given(seed=st.integers(0, 10_000), freq_hz=st.floats(20.0, 4000.0))
def test_a_force_never_takes_energy_out(seed, freq_hz):
    # Power into any set of forces is -ω/2 Im(f* H f) >= 0.
    notes = some_notes(np.random.default_rng(seed))
    base = BLOCK.modes_at(np.linspace(-0.15, 0.15, 5))
    lossy = -coupled_notes(notes, base).receptance(freq_hz).imag
    assert np.linalg.eigvalsh((lossy + lossy.T) / 2).min() >= -1e-10 * np.abs(lossy).max()


def test_a_heavy_base_stands_still():
    rng = np.random.default_rng(3)
    notes = some_notes(rng)
    heavy = RigidBase(mass_kg=500.0, length_m=4.0, width_m=2.0).modes_at(np.linspace(-1, 1, 5))
    found = coupled_notes(notes, heavy).modes().freq_hz
    own = np.sort(np.concatenate([note.freq_hz for note in notes]))
    assert found[3:] == pytest.approx(own, rel=1e-5)


def test_feet_under_the_corners_of_a_plate():
    base = BLOCK.modes_at(np.array([-0.1, 0.1]))
    stiffness = base.mass * base.freq_hz**2
    assert stiffness[1] / stiffness[0] == pytest.approx((0.4 / 2) ** 2)
    assert stiffness[2] / stiffness[0] == pytest.approx((0.15 / 2) ** 2)
    # A turning about x lifts one end of the row and sinks the other.
    assert base.root_motion[:, 0, 1] == pytest.approx([-0.1, 0.1])


def test_a_measured_base_is_read_between_its_places():
    mode = MeasuredBaseMode(
        freq_hz=180.0, mass_kg=1.2, places_m=(-0.2, 0.0, 0.2), motion=(1.0, -0.5, 1.0)
    )
    base = MeasuredBase(mass_kg=3.0, length_m=0.4, modes=(mode,)).modes_at(np.array([-0.1, 0.0]))
    assert base.root_motion[:, 0, 0] == pytest.approx([0.25, -0.5])


@pytest.mark.parametrize(
    ("places", "motion", "key"),
    [((0.0,), (1.0,), "places"), ((0.0, 0.1), (1.0,), "motion"), ((0.1, 0.0), (1, 1), "places")],
)
def test_what_is_no_measured_mode(places, motion, key):
    mode = MeasuredBaseMode(freq_hz=180.0, mass_kg=1.0, places_m=places, motion=motion)
    assert [fault.key for fault in mode.problems()] == [key]
