"""Each method of control on one mode, against its closed form; several modes against a matrix."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy import linalg

from made_up_plant import make_plant
from modewright.errors import LoopError
from modewright.loop.close import close_loop
from modewright.loop.discrete import Sections, held_input_gain, mode_pole_rad_s
from modewright.loop.filtered_states import position_states, turned_response, velocity_states
from modewright.loop.plant import Plant
from modewright.loop.poles import follow_poles, growing_count, loop_poles, open_tracks
from modewright.loop.regulators import design_regulators
from modewright.loop.settings import LoopSettings, ModeControl
from modewright.loop.transfer import frequency_grid_hz, loop_terms

DECAY_60_DB = 3 * np.log(10)
TURN = 2e-5  # radians of the mode per sample: next to no delay
NONE = Sections(sos=np.zeros((0, 6)))


def one_mode(freq_hz, damping_ratio, *, turn=TURN, delay=1, mass_kg=1e-3):
    """A mass on a spring, heard in metres and pushed in newtons."""
    omega = np.array([2 * np.pi * freq_hz])
    rate_hz = float(omega[0] / turn)
    zeta = np.array([damping_ratio])
    pole = mode_pole_rad_s(omega, zeta)
    return Plant(
        rate_hz=rate_hz,
        freq_hz=np.array([freq_hz]),
        damping_ratio=zeta,
        labels=("mass on a spring",),
        rotation=np.exp(pole / rate_hz),
        drive_gain=held_input_gain(pole, rate_hz) / mass_kg,
        pickup_gain=np.ones(1, dtype=complex),
        scale_per_sqrt_kg=np.full(1, mass_kg**-0.5),
        delay_samples=delay,
        input_sections=NONE,
        output_sections=NONE,
        command_limit=1.0,
        command_unit="A",
        drive_per_command=np.ones(1, dtype=complex),
        cold_heat_w=np.ones(1),
        quadratic_per_v=0.0,
        cubic_per_v2=0.0,
        noise_v_per_rthz=0.0,
        full_scale_v=1.0,
        touch_level_m=np.full(1, np.inf),
    )


def poles_of(plant, observer, regulators, gain):
    """Frequency in rad/s and damping ratio of the mode and of the filter behind it."""
    tracks = follow_poles(plant, observer, regulators, gain, open_tracks(plant, observer))
    s = np.log(tracks.now) * plant.rate_hz
    return [(abs(p), -p.real / abs(p)) for p in s]


@pytest.mark.parametrize(("share", "expected"), [(1.0, 5.0e-4), (-0.5, 1.25e-4)])
def test_velocity_feedback_adds_g_over_two_m_omega(share, expected):
    """Force -g v on 1 g at 440 Hz with Q 2000, g = c and -c/2.

    M. J. Balas, J. Guid. Control 2 (1979) 252; A. Preumont, Vibration Control of Active Structures
    (both from memory).
    """
    mass_kg, omega = 1e-3, 2 * np.pi * 440
    plant = one_mode(440.0, 2.5e-4, mass_kg=mass_kg)
    observer = velocity_states(plant, np.array([0]))
    regulators = design_regulators(plant, observer, (ModeControl(mode=1),))
    z = np.exp(1j * np.angle(plant.rotation))
    kappa = regulators.steering * observer.predicted_correction
    pole = observer.rotation
    force_per_m = (kappa / (z - pole) + np.conj(kappa) / (z - np.conj(pole)))[0] / 2
    friction_per_gain = -(force_per_m / (1j * omega)).real
    friction = share * mass_kg * omega / 2000
    gain = np.array([friction / friction_per_gain])
    (freq, zeta), _ = poles_of(plant, observer, regulators, gain)
    assert zeta == pytest.approx(expected, rel=1e-3)
    assert freq == pytest.approx(omega, rel=1e-4)


def position_loop(g):
    plant = one_mode(1 / (2 * np.pi), 0.005, mass_kg=1.0)
    observer = position_states(plant, np.array([0]))
    regulators = design_regulators(plant, observer, (ModeControl(mode=1, decay_s=10.0),))
    # |H| of the filter is 1 at its own frequency for a damping ratio of 0.5.
    return plant, observer, regulators, np.array([-g])


def test_position_feedback_moves_both_poles():
    """Poles for g = 0.1, also as eigenvalues of the same two equations.

    Goh & Caughey, Int. J. Control 41 (1985) 787; Fanson & Caughey, AIAA J. 28 (1990) 717.
    """
    mode, own = poles_of(*position_loop(0.1))
    by_matrix = linalg.eigvals(
        np.array([[0, 1, 0, 0], [-1, -0.01, 0.1, 0], [0, 0, 0, 1], [1, 0, -1, -1.0]])
    )
    exact = sorted((abs(p), -p.real / abs(p)) for p in by_matrix[by_matrix.imag > 0])
    assert exact[1] == pytest.approx((1.007779, 0.060455), rel=1e-4)
    np.testing.assert_allclose(sorted([mode, own]), exact, rtol=2e-4)


@pytest.mark.parametrize(("g", "growing"), [(0.99, 0), (1.01, 1)])
def test_position_feedback_is_stable_up_to_a_gain_of_one(g, growing):
    """Its static push then cancels the spring: Fanson & Caughey, AIAA J. 28 (1990) 717."""
    plant, observer, regulators, gain = position_loop(g)
    terms = loop_terms(plant, observer, regulators, frequency_grid_hz(plant, observer))
    assert growing_count(plant, observer, regulators, gain, terms) == growing


def band_pass_loop(decay_s, *, bandwidth_hz=20.0, delay=1):
    plant = one_mode(200.0, 1e-4, turn=1e-3, delay=delay)
    settings = LoopSettings(
        method="band-pass",
        modelled_modes=1,
        observer_bandwidth_hz=bandwidth_hz,
        modes=(ModeControl(mode=1, decay_s=decay_s),),
    )
    return plant, close_loop(plant, settings)


@pytest.mark.parametrize("decay_s", [0.2, 0.4, 2.0])
def test_band_pass_gives_the_decay_asked_for_though_it_comes_late(decay_s):
    plant, loop = band_pass_loop(decay_s)
    t60_s = DECAY_60_DB / loop.all_damped.poles.decay_rate_per_s[0]
    assert t60_s == pytest.approx(decay_s, rel=0.01)
    # The filter's own pole: with the mode's it has the sum σ + β.
    beta = 2 * np.pi * 20.0
    tracks = follow_poles(
        plant,
        loop.observer,
        loop.regulators,
        loop.all_damped.gain,
        open_tracks(plant, loop.observer),
    )
    rates = -np.log(np.abs(tracks.now)) * plant.rate_hz
    assert rates.sum() == pytest.approx(beta + plant.decay_rate_per_s[0], rel=5e-3)


def test_no_gain_decays_faster_than_fourteen_group_delays_of_a_narrow_filter():
    """Both poles meet at half the filter's rate: T60 = 2 ln 1000/β, 13.8 of its delays 1/β."""
    plant, loop = band_pass_loop(0.01, bandwidth_hz=2.0)
    beta = 2 * np.pi * 2.0

    def slowest(share):
        gain = share * loop.all_damped.gain
        tracks = open_tracks(plant, loop.observer)
        now = follow_poles(plant, loop.observer, loop.regulators, gain, tracks).now
        return float((-np.log(np.abs(now)) * plant.rate_hz).min())

    fastest = max(slowest(share) for share in np.linspace(0.9, 1.1, 81))
    assert fastest < (beta + plant.decay_rate_per_s[0]) / 2
    assert DECAY_60_DB / fastest * beta == pytest.approx(13.8, rel=0.05)


@pytest.mark.parametrize("lag_deg", [-60.0, -20.0, 30.0, 45.0])
def test_a_loop_that_lags_pulls_the_pitch(lag_deg):
    """Δf = Δσ tan φ/2π and Δσ cos φ of damping left: the pole moves by the push, turned.

    Common practice of resonator loops. Slow damping, so that the filter adds nothing of its own.
    """
    plant, loop = band_pass_loop(10.0, bandwidth_hz=40.0)
    late = replace(plant, pickup_gain=plant.pickup_gain * np.exp(-1j * np.radians(lag_deg)))
    gain = loop.all_damped.gain
    terms = loop_terms(late, loop.observer, loop.regulators, loop.freq_hz)
    poles = loop_poles(late, loop.observer, loop.regulators, gain, terms)
    straight = loop.all_damped.poles.decay_rate_per_s[0] - plant.decay_rate_per_s[0]
    added = poles.decay_rate_per_s[0] - plant.decay_rate_per_s[0]
    assert added == pytest.approx(straight * np.cos(np.radians(lag_deg)), rel=0.02)
    pulled_hz = poles.freq_hz[0] - loop.all_damped.poles.freq_hz[0]
    assert abs(pulled_hz) == pytest.approx(
        abs(added * np.tan(np.radians(lag_deg)) / (2 * np.pi)), rel=0.03
    )


def matrix_of(plant, observer, regulators, gain):
    """Body, states that only listen, and delay line as one matrix."""
    modes, known, delay = plant.mode_count, len(observer.modes), plant.delay_samples
    slow = 2 * len(plant.input_sections.sos)
    size = 2 * modes + 2 * known + delay + slow
    re_z, im_z, re_p, im_p, line, memory = np.split(
        np.eye(size), np.cumsum([modes, modes, known, known, delay])
    )
    z, p = re_z + 1j * im_z, re_p + 1j * im_p
    signal, kept = np.real(plant.pickup_gain @ z), []
    for row, (b0, b1, b2, _, a1, a2) in enumerate(plant.input_sections.sos):
        out = b0 * signal + memory[2 * row]
        kept += [b1 * signal - a1 * out + memory[2 * row + 1], b2 * signal - a2 * out]
        signal = out
    command = np.real((gain * regulators.steering) @ p[: len(gain)])
    new_z = plant.rotation[:, None] * z + np.outer(plant.drive_gain, line[-1])
    new_p = observer.rotation[:, None] * p + np.outer(observer.predicted_correction, signal)
    new_line = np.vstack([command[None, :], line[:-1]])
    return np.concatenate([new_z.real, new_z.imag, new_p.real, new_p.imag, new_line, kept])


@pytest.mark.parametrize(
    ("method", "modes", "decay_s"),
    [
        ("band-pass", (1, 2, 3, 8, 9), 1.0),
        ("position feedback", (1,), 0.5),
        ("velocity feedback", (1, 2, 3), 1.5),
    ],
)
def test_poles_of_many_modes_are_the_eigenvalues_of_the_whole_loop(method, modes, decay_s):
    plant = make_plant()
    settings = LoopSettings(
        method=method, modes=tuple(ModeControl(mode=i, decay_s=decay_s) for i in modes)
    )
    loop = close_loop(plant, settings)
    gain = loop.all_damped.gain
    values = linalg.eigvals(matrix_of(plant, loop.observer, loop.regulators, gain))
    assert np.count_nonzero(np.abs(values) > 1 + 1e-12) == loop.all_damped.poles.growing_count
    found = follow_poles(
        plant, loop.observer, loop.regulators, gain, open_tracks(plant, loop.observer)
    ).now
    nearest = np.abs(values[None, :] - found[:, None]).min(axis=1)
    assert nearest.max() < 1e-9


def test_a_filter_turned_right_damps_and_does_not_pull():
    plant = make_plant()
    for made in (position_states(plant, np.array([0])), velocity_states(plant, np.array([0]))):
        ratio = turned_response(plant, made)[0, 0]
        assert np.abs(ratio) == pytest.approx(1.0, rel=1e-6)
    ratio = turned_response(plant, position_states(plant, np.array([0])))[0, 0]
    assert ratio == pytest.approx(1.0, abs=1e-6)


def test_position_feedback_says_where_the_delay_is_too_long():
    with pytest.raises(LoopError, match="expected a delay that position feedback can be tuned for"):
        position_states(make_plant(), np.array([2]))


def test_methods_that_only_damp_are_not_asked_to_hold():
    held = (ModeControl(mode=1, state="held"),)
    faults = list(LoopSettings(method="velocity feedback", modes=held).problems())
    assert [fault.key for fault in faults] == ["method"]
    loop = close_loop(
        make_plant(), LoopSettings(method="position feedback", modes=(ModeControl(mode=1),))
    )
    assert not loop.regulators.can_hold
    assert all("held" not in case.states for case in loop.judged)


def test_a_band_pass_holds():
    loop = close_loop(
        make_plant(),
        LoopSettings(method="band-pass", modes=(ModeControl(mode=2, state="held", attack_s=0.1),)),
    )
    assert loop.is_stable
    (held,) = loop.stated.held
    assert abs(held.shift_cents) < 0.3
    assert held.level_rate_per_s == pytest.approx(10.0, rel=0.05)
