"""The sampled plant against the continuous one, written down as a sum over modes."""

from dataclasses import dataclass

import numpy as np
import pytest

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

    @property
    def input_stages(self):
        return low_pass("anti-alias", 2 * np.pi * 15e3), Stage.constant("in", delay_s=0.1e-3)

    @property
    def output_stages(self):
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
    force_per_ampere=np.array([4.0, 5.0, -6.0, 3.0, 2.0]),
    force_factor_n_per_a=1.0,
    path=(Stage(name="coil", zeros_rad_s=[], poles_rad_s=[-2e4], gain=200.0),),
    command_unit="V",
    command_limit=5.0,
    resistance_ohm=100.0,
)


def continuous(chain, freq_hz):
    """Sum over modes times every stage and the zero-order hold."""
    s = 2j * np.pi * freq_hz
    omega = 2 * np.pi * FREQ_HZ
    modes = PICKUP.volts_per_coordinate * DRIVER.force_per_ampere
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
    np.testing.assert_allclose(np.abs(plant.ampere_per_command), expected, rtol=0.01)


def test_mode_above_half_the_rate_is_refused():
    with pytest.raises(LoopError, match=r"below half the sampling rate \(4000 Hz\), got .* 5100"):
        build_plant(BASIS, PICKUP, DRIVER, Chain(rate_hz=8e3), (0.0, 0.0))


def test_delay_beyond_the_line_is_refused():
    with pytest.raises(LoopError, match=r"at most 5.31 ms, got 8.10 ms"):
        build_plant(BASIS, PICKUP, DRIVER, Chain(latency_s=8e-3), (0.0, 0.0))
