"""The sampled plant against the continuous one, written down as a sum over modes."""

import dataclasses
from dataclasses import dataclass

import numpy as np
import pytest
from scipy import signal

from modewright.errors import LoopError
from modewright.loop.plant import build_plant
from modewright.loop.transfer import plant_response
from modewright.modes.basis import ModalBasis
from modewright.transducers.port import DriverPort, PickupPort
from modewright.transducers.stage import Stage, high_pass, low_pass

FREQ_HZ = np.array([196.0, 361.0, 1184.0, 2250.0, 5100.0])
ZETA = np.full(5, 5e-4)
NORMAL = np.array([20.0, -25.0, 18.0, 9.0, -14.0])


class Shapes:
    mode_count = 5

    def displacement(self, points_m):
        return np.broadcast_to(np.array([0, 0, 1.0])[:, None] * NORMAL, (len(points_m), 3, 5))


@dataclass(frozen=True)
class Chain:
    rate_hz: float = 48e3
    latency_s: float = 0.983e-3  # not a whole number of samples
    is_bare: bool = False

    @property
    def input_stages(self):
        if self.is_bare:
            return ()
        return low_pass("anti-alias", 2 * np.pi * 15e3), Stage.constant("in", delay_s=0.1e-3)

    @property
    def output_stages(self):
        if self.is_bare:
            return (Stage.constant("out", delay_s=self.latency_s),)
        return Stage.constant("out", delay_s=self.latency_s), low_pass("amp", 2 * np.pi * 60e3)


BASIS = ModalBasis(freq_hz=FREQ_HZ, damping_ratio=ZETA, shapes=Shapes(), labels=tuple("abcde"))
PICKUP = PickupPort(
    name="p",
    volts_per_coordinate=np.array([3e5, -2e5, 2e5, 1e5, 3e5]),
    quadratic_per_v=0.0,
    cubic_per_v2=0.0,
    path=(high_pass("corner", 2 * np.pi * 12), low_pass("preamp", 2 * np.pi * 1e6)),
    noise_v_per_rthz=0.0,
    full_scale_v=10.0,
)
DRIVER = DriverPort(
    name="d",
    drive_unit="A",
    force_per_drive=np.array([4.0, 5.0, -6.0, 3.0, 2.0]),
    path=(Stage(name="coil", zeros_rad_s=[], poles_rad_s=[-2e4], gain=200.0),),
    command_unit="V",
    command_limit=5.0,
    cold_heat_w=np.full(5, 50.0),
    current_a_per_drive=np.ones(5),
)


def continuous(chain, freq_hz):
    """Sum over modes times every stage and the zero-order hold."""
    s = 2j * np.pi * freq_hz
    omega = 2 * np.pi * FREQ_HZ
    modes = PICKUP.volts_per_coordinate * DRIVER.force_per_drive
    total = (modes / (s[:, None] ** 2 + 2 * ZETA * omega * s[:, None] + omega**2)).sum(axis=1)
    hold = (1 - np.exp(-s / chain.rate_hz)) / (s / chain.rate_hz)
    for stage in (*PICKUP.path, *chain.input_stages, *chain.output_stages, *DRIVER.path):
        total = total * stage.response(freq_hz)
    return total * hold


@pytest.mark.parametrize("chain", [Chain(), Chain(latency_s=0.0), Chain(rate_hz=96e3)])
def test_sampled_equals_continuous_at_the_modes_and_on_their_flanks(chain):
    half_width = FREQ_HZ * ZETA
    freq_hz = (FREQ_HZ[:, None] + half_width[:, None] * np.array([-2, -1, 0, 1, 2])).ravel()
    plant = build_plant(BASIS, PICKUP, DRIVER, chain, (0.0, 0.0))
    found = plant_response(plant, np.exp(2j * np.pi * freq_hz / chain.rate_hz))
    ratio = found / continuous(chain, freq_hz)
    # Left out are the terms at the stages' own poles; the coil's lies below the highest mode here.
    assert np.abs(20 * np.log10(np.abs(ratio))).max() < 0.1
    assert np.abs(np.degrees(np.angle(ratio))).max() < 1.0


def test_current_per_command_is_that_of_the_coil():
    plant = build_plant(BASIS, PICKUP, DRIVER, Chain(), (0.0, 0.0))
    expected = np.abs(200.0 / (2j * np.pi * FREQ_HZ + 2e4))
    np.testing.assert_allclose(np.abs(plant.drive_per_command), expected, rtol=0.01)


SLOW_COIL = Stage(name="coil", zeros_rad_s=[], poles_rad_s=[-4e3], gain=200.0)


@pytest.mark.parametrize("rate_hz", [8e3, 3e3, 96e3])
def test_sampled_modes_answer_as_scipy_samples_the_body(rate_hz):
    """Up to three quarters of the modes lie above half the rate; only body and hold, no stages."""
    chain = Chain(rate_hz=rate_hz, latency_s=1 / rate_hz)
    chain = dataclasses.replace(chain, is_bare=True)
    pickup = dataclasses.replace(PICKUP, path=())
    driver = dataclasses.replace(DRIVER, path=())
    plant = build_plant(BASIS, pickup, driver, chain, (0.0, 0.0))
    assert plant.is_aliased.sum() == {8e3: 1, 3e3: 2, 96e3: 0}[rate_hz]
    freq_hz = np.linspace(10, 0.49 * rate_hz, 200)
    z = np.exp(2j * np.pi * freq_hz / rate_hz)
    expected = 0
    omega = 2 * np.pi * FREQ_HZ
    for w, zeta, product in zip(
        omega, ZETA, PICKUP.volts_per_coordinate * DRIVER.force_per_drive, strict=True
    ):
        body = signal.StateSpace([[0, 1], [-w * w, -2 * zeta * w]], [[0], [1]], [[1, 0]], [[0]])
        a, b, c, _, _ = signal.cont2discrete((body.A, body.B, body.C, body.D), 1 / rate_hz)
        inverse = np.linalg.inv(z[:, None, None] * np.eye(2) - a)
        expected = expected + product * np.squeeze(c @ inverse @ b)
    np.testing.assert_allclose(plant_response(plant, z), expected / z, rtol=1e-6)


def test_slow_stage_is_exact_at_modes_far_above_it():
    """The bilinear form of a coil of 640 Hz is 1.5 dB off at a mode of 5100 Hz and 16 kHz."""
    driver = dataclasses.replace(DRIVER, path=(SLOW_COIL,))
    chain = Chain(rate_hz=16e3)
    plant = build_plant(BASIS, PICKUP, driver, chain, (0.0, 0.0))
    assert len(plant.output_sections.sos) == 1
    at_pole = plant.drive_gain * plant.output_sections.at(plant.rotation)
    flat = build_plant(BASIS, PICKUP, dataclasses.replace(DRIVER, path=()), chain, (0.0, 0.0))
    pole = 2 * np.pi * FREQ_HZ * (-ZETA + 1j * np.sqrt(1 - ZETA**2))
    np.testing.assert_allclose(at_pole / flat.drive_gain, 200.0 / (pole + 4e3), rtol=1e-9)
    amplifier = low_pass("amp", 2 * np.pi * 60e3)
    current = SLOW_COIL.at(pole) * amplifier.at(pole)
    np.testing.assert_allclose(plant.drive_per_command, current, rtol=1e-9)


def dense_answer(delay_s, period_s, count):
    """Signal sampled after a command held for one period: the modes' step responses, by formula."""
    elapsed_s = np.arange(count) * period_s - delay_s
    omega, total = 2 * np.pi * FREQ_HZ, 0.0
    damped = omega * np.sqrt(1 - ZETA**2)
    for when, sign in ((elapsed_s, 1), (elapsed_s - period_s, -1)):
        t = np.maximum(when, 0.0)[:, None]
        wave = np.cos(damped * t) + ZETA * omega / damped * np.sin(damped * t)
        step = (1 - np.exp(-ZETA * omega * t) * wave) / omega**2
        total = total + sign * step @ (PICKUP.volts_per_coordinate * DRIVER.force_per_drive)
    return total


@pytest.mark.parametrize("samples", [1.0, 1.3, 1.9, 2.0, 10.6])
def test_fractional_delay_equals_a_dense_solution_from_the_second_sample_on(samples):
    rate_hz = 48e3
    chain = Chain(rate_hz=rate_hz, latency_s=samples / rate_hz, is_bare=True)
    pickup, driver = (dataclasses.replace(part, path=()) for part in (PICKUP, DRIVER))
    plant = build_plant(BASIS, pickup, driver, chain, (0.0, 0.0))
    assert plant.delay_samples == int(samples)
    expected = dense_answer(samples / rate_hz, 1 / rate_hz, 400)
    since = np.arange(400) - plant.delay_samples - 1
    waves = plant.drive_gain * plant.pickup_gain * plant.rotation ** np.maximum(since, 0)[:, None]
    found = np.where(since >= 0, waves.sum(axis=1).real, 0.0)
    first = plant.delay_samples + 1
    np.testing.assert_allclose(np.delete(found - expected, first), 0, atol=1e-9 * expected.max())
    # What the docstring says of the sample during which the command still acts.
    late_s = (samples - int(samples)) / rate_hz
    missed = (PICKUP.volts_per_coordinate * DRIVER.force_per_drive).sum() * late_s**2 / 2
    assert found[first] - expected[first] == pytest.approx(-missed, rel=0.2, abs=1e-12)


def test_delay_below_a_sample_is_refused():
    """Its first response would come before the delay line ends and be lost."""
    chain = Chain(latency_s=15e-6, is_bare=True)
    with pytest.raises(LoopError, match=r"one sample \(20.8 µs at 48000 Hz\), got 15 µs"):
        build_plant(BASIS, PICKUP, DRIVER, chain, (0.0, 0.0))


def test_slow_stage_with_a_delay_is_the_same_stage_before_a_delay():
    late = dataclasses.replace(SLOW_COIL, delay_s=0.3e-3)
    driver = dataclasses.replace(DRIVER, path=(late,))
    apart = dataclasses.replace(DRIVER, path=(SLOW_COIL, Stage.constant("way", delay_s=0.3e-3)))
    one, other = (build_plant(BASIS, PICKUP, d, Chain(), (0.0, 0.0)) for d in (driver, apart))
    assert one.delay_samples == other.delay_samples
    np.testing.assert_allclose(one.drive_gain, other.drive_gain, rtol=1e-12)


def test_delay_of_thousands_of_samples_is_borne_and_more_refused():
    assert build_plant(
        BASIS, PICKUP, DRIVER, Chain(latency_s=80e-3), (0.0, 0.0)
    ).delay_samples == pytest.approx(3844, abs=1)
    with pytest.raises(LoopError, match=r"at most 170.65 ms, got 200.10 ms"):
        build_plant(BASIS, PICKUP, DRIVER, Chain(latency_s=0.2), (0.0, 0.0))


def test_modes_that_cannot_be_sampled_are_named():
    still = dataclasses.replace(BASIS, damping_ratio=np.array([5e-4, 1.2, 5e-4, 5e-4, 5e-4]))
    with pytest.raises(LoopError, match=r"got mode 2 \(b\) with a damping ratio of 1.2"):
        build_plant(still, PICKUP, DRIVER, Chain(), (0.0, 0.0))
    # An undamped mode at the rate itself turns to 0 Hz, where the high-pass passes nothing.
    at_rate = dataclasses.replace(
        BASIS,
        freq_hz=np.array([196.0, 361.0, 1184.0, 2250.0, 48e3]),
        damping_ratio=np.array([5e-4, 5e-4, 5e-4, 5e-4, 1e-15]),
    )
    with pytest.raises(LoopError, match=r"got mode 5 \(e, 48000.0 Hz\) on a zero"):
        build_plant(at_rate, PICKUP, DRIVER, Chain(), (0.0, 0.0))


@pytest.mark.parametrize("freq_hz", [12000.0, 18000.0, 23000.0])
def test_a_steep_slow_filter_leaves_weak_modes_weak(freq_hz):
    """Eight poles at 2 kHz let 6e-7 of 12 kHz through: little, but no zero of their sampling."""
    poles = signal.butter(8, 2 * np.pi * 2e3, analog=True, output="zpk")[1]
    steep = Stage(
        name="steep", zeros_rad_s=np.zeros(0, complex), poles_rad_s=poles,
        gain=(2 * np.pi * 2e3) ** 8,
    )  # fmt: skip
    basis = dataclasses.replace(BASIS, freq_hz=np.array([196.0, 361.0, 1184.0, 2250.0, freq_hz]))
    pickup = dataclasses.replace(PICKUP, path=(steep,))
    bare = dataclasses.replace(PICKUP, path=())
    plant, open_plant = (
        build_plant(basis, port, DRIVER, Chain(is_bare=True), (0, 0)) for port in (pickup, bare)
    )
    passed = np.abs(steep.at(2j * np.pi * basis.freq_hz))
    if freq_hz > 20e3:
        passed[4] = 0  # sampling keeps it out altogether
    heard = plant.pickup_gain * plant.input_sections.at(plant.rotation)
    np.testing.assert_allclose(np.abs(heard / open_plant.pickup_gain), passed, rtol=0.02, atol=0)
    # What makes up for the bend may not lift a mode far from its own frequency.
    assert np.abs(plant.pickup_gain / open_plant.pickup_gain).max() < 1e4
