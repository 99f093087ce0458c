"""Everything the controller cannot change, sampled: modes, transducers, electronics, delay."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Protocol

import numpy as np

from modewright.checks import frozen_array
from modewright.errors import LoopError
from modewright.loop.discrete import (
    Sections,
    held_input_gain,
    mode_pole_rad_s,
    sections_from_stages,
    split_by_speed,
)

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.modes.basis import ModalBasis
    from modewright.transducers.hysteresis import RayleighLag
    from modewright.transducers.port import DriverPort, PickupPort
    from modewright.transducers.stage import Stage

__all__ = ["LONGEST_DELAY_SAMPLES", "Plant", "SignalChain", "build_plant"]

# Sampling may bend a slow stage by this factor; the gain that makes up for it also lifts what the
# mode does far from its own frequency.
_LEAST_SHARE = 1e-4
# A stage that lets no more through than this, before sampling too, leaves the mode out: -100 dB.
_UNHEARD = 1e-5
# Longer than any loop that still follows a note; the core's delay line is made as long as asked.
LONGEST_DELAY_SAMPLES = 8191
_NODE_FRACTION = 1e-3


class SignalChain(Protocol):
    """Electronics between pickup and controller, and between controller and driver."""

    @property
    def rate_hz(self) -> float:
        """Sampling rate of the controller. [Hz]"""
        ...

    @property
    def input_stages(self) -> tuple[Stage, ...]:
        """Anti-alias filter and converter."""
        ...

    @property
    def output_stages(self) -> tuple[Stage, ...]:
        """Computing time, converter and amplifier; the hold is not among them."""
        ...


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Plant:
    """Sampled plant ``Z[k+1] = λ Z[k] + g i[k]``, ``y = H_in Re Σ c Z``, ``i = H_out u[k-D]``.

    Parameters
    ----------
    rate_hz : float
        Sampling rate. [Hz]
    freq_hz, damping_ratio : float arrays, shape (modes,)
        Of the modes as mounted, biased and heard; also above half the rate. [Hz]
    labels : tuple of str, length modes
        Names of the modes.
    rotation : complex array, shape (modes,)
        λ, modulus below 1.
    drive_gain : complex array, shape (modes,)
        g: motion at the reference point per command, output stages included. [m/command]
    pickup_gain : complex array, shape (modes,)
        c: volts per motion at the reference point, input stages included. [V/m]
    scale_per_sqrt_kg : float array, shape (modes,)
        Normal displacement of the reference point per modal coordinate; where the point lies on a
        node of the mode, a thousandth of the largest among all modes. [1/sqrt(kg)]
    delay_samples : int
        D, >= 1.
    input_sections, output_sections : Sections
        Slow stages; the gains make each mode's path exact at its own pole.
    command_limit : float
        Largest command. [command unit]
    command_unit : str
        V or A.
    drive_per_command : complex array, shape (modes,)
        Drive per command at each mode, delays left out. [A/command or V/command]
    cold_heat_w : float array, shape (modes,)
        Heat in the driver for a peak drive of one at each mode. [W]
    quadratic_per_v, cubic_per_v2 : float
        Nonlinearity of the pickup. [1/V], [1/V²]
    noise_v_per_rthz : float
        White noise at the pickup's output. [V/√Hz]
    full_scale_v : float
        Clipping voltage of the input. [V]
    touch_level_m : float array, shape (modes,)
        Level at which each mode alone makes the sheet touch a plate or pole, or snap onto it. [m]
    bias_current_a : float
        Of the driver: the current that would make the flux of its bias, infinite if its force is
        proportional to the current. [A]
    drive_lag : RayleighLag or None
        Of the driver's force behind its drive as the level grows; not part of the linear loop.
    """

    rate_hz: float
    freq_hz: NDArray[np.float64]
    damping_ratio: NDArray[np.float64]
    labels: tuple[str, ...]
    rotation: NDArray[np.complex128]
    drive_gain: NDArray[np.complex128]
    pickup_gain: NDArray[np.complex128]
    scale_per_sqrt_kg: NDArray[np.float64]
    delay_samples: int
    input_sections: Sections
    output_sections: Sections
    command_limit: float
    command_unit: str
    drive_per_command: NDArray[np.complex128]
    cold_heat_w: NDArray[np.float64]
    quadratic_per_v: float
    cubic_per_v2: float
    noise_v_per_rthz: float
    full_scale_v: float
    touch_level_m: NDArray[np.float64]
    bias_current_a: float = float("inf")
    drive_lag: RayleighLag | None = None

    def __post_init__(self) -> None:
        for name in (
            "freq_hz",
            "damping_ratio",
            "scale_per_sqrt_kg",
            "cold_heat_w",
            "touch_level_m",
        ):
            object.__setattr__(self, name, frozen_array(getattr(self, name)))
        for name in ("rotation", "drive_gain", "pickup_gain", "drive_per_command"):
            object.__setattr__(self, name, frozen_array(getattr(self, name), complex))

    @property
    def mode_count(self) -> int:
        """Number of modes."""
        return len(self.freq_hz)

    @property
    def is_aliased(self) -> NDArray[np.bool_]:
        """Whether each mode lies at or above half the sampling rate."""
        return np.asarray(self.freq_hz >= self.rate_hz / 2)

    @property
    def sampled_freq_hz(self) -> NDArray[np.float64]:
        """Frequency at which the controller hears each mode: its alias where it has one. [Hz]"""
        return np.abs(np.angle(self.rotation)) * self.rate_hz / (2 * np.pi)

    @property
    def decay_rate_per_s(self) -> NDArray[np.float64]:
        """Amplitude decay rate σ of each mode left alone. [1/s]"""
        return -np.log(np.abs(self.rotation)) * self.rate_hz


def reference_scale(basis: ModalBasis, reference_m: tuple[float, float]) -> NDArray[np.float64]:
    """Normal displacement of the reference point per modal coordinate, kept away from zero.

    Returns
    -------
    float array, shape (modes,)
        As `Plant.scale_per_sqrt_kg`. [1/sqrt(kg)]
    """
    normal = basis.shapes.displacement(np.array([reference_m]))[0, 2]
    floor = _NODE_FRACTION * np.abs(normal).max()
    sign = np.where(normal < 0, -1.0, 1.0)
    return np.maximum(np.abs(normal), floor) * sign


def build_plant(
    basis: ModalBasis,
    pickup: PickupPort,
    driver: DriverPort,
    chain: SignalChain,
    reference_m: tuple[float, float],
    touch_level_m: NDArray[np.float64] | None = None,
) -> Plant:
    """Sample the body with its transducers and electronics.

    Parameters
    ----------
    basis : ModalBasis
        Modes as biased.
    pickup, driver : PickupPort, DriverPort
        For the same modes.
    chain : SignalChain
        Electronics.
    reference_m : tuple of two floats
        Point to which levels refer. [m]
    touch_level_m : float array, shape (modes,), optional
        As `Plant.touch_level_m`; nothing is ever touched if not given. [m]

    Returns
    -------
    Plant

    Raises
    ------
    LoopError
        If the delay is shorter than one sample or longer than `LONGEST_DELAY_SAMPLES`, a mode is
        damped so much that it no longer vibrates, or lies where a slow stage, as sampled, lets
        nothing through.

    Notes
    -----
    A mode above half the rate is sampled like any other: the held input, the stages and the body
    are taken at its true pole, and λ turns at the alias. Sections see the alias, so the gains of
    every mode carry the quotient of each slow stage at the true pole over its sampled form at λ.

    A delay of D + d samples, 0 <= d < 1, is D samples of the delay line and a turn of every mode
    (modified z-transform: Franklin, Powell & Workman, Digital Control of Dynamic Systems, ch. 4).
    Every sample of the response to a held command is then exact but the first, D + 1 samples after
    it, during which the command still acts: there the turned modes are off by about the sum of
    their ``(d T)²/2`` times gains, which takes no part in any resonance. Below one sample the first
    response would fall before the delay line ends and be lost: such a delay is refused.
    """
    _check_vibrates(basis)
    pole = mode_pole_rad_s(basis.omega_rad_s, basis.damping_ratio)
    fast_in, slow_in = split_by_speed((*pickup.path, *chain.input_stages), chain.rate_hz)
    fast_out, slow_out = split_by_speed(
        (*chain.output_stages, *driver.path, *driver.mechanics), chain.rate_hz
    )
    samples = _whole_delay((*fast_in, *fast_out), chain.rate_hz)
    scale = reference_scale(basis, reference_m)
    # The whole samples of delay go to the delay line: take them out of the folded stages.
    back = np.exp(pole * (samples / chain.rate_hz))
    rotation = np.exp(pole / chain.rate_hz)
    input_sections = sections_from_stages(slow_in, chain.rate_hz)
    output_sections = sections_from_stages(slow_out, chain.rate_hz)
    into = _product_at(fast_in, pole)
    out = _product_at((*chain.output_stages, *driver.path), pole)
    force = (
        driver.force_per_drive * _product_at(fast_out, pole) * held_input_gain(pole, chain.rate_hz)
    )
    bent_out = _bend(basis, output_sections.at(rotation), slow_out, "output", chain.rate_hz)
    bent_in = _bend(basis, input_sections.at(rotation), slow_in, "input", chain.rate_hz)
    without_delay = np.exp(pole * sum(stage.delay_s for stage in fast_out))
    return Plant(
        rate_hz=chain.rate_hz,
        freq_hz=basis.freq_hz,
        damping_ratio=basis.damping_ratio,
        labels=basis.labels,
        rotation=rotation,
        drive_gain=scale * force * back * bent_out,
        pickup_gain=pickup.volts_per_coordinate / scale * into * bent_in,
        scale_per_sqrt_kg=scale,
        delay_samples=samples,
        input_sections=input_sections,
        output_sections=output_sections,
        command_limit=driver.command_limit,
        command_unit=driver.command_unit,
        drive_per_command=out * without_delay,
        cold_heat_w=driver.cold_heat_w,
        quadratic_per_v=pickup.quadratic_per_v,
        cubic_per_v2=pickup.cubic_per_v2,
        noise_v_per_rthz=pickup.noise_v_per_rthz,
        full_scale_v=pickup.full_scale_v,
        touch_level_m=np.full(len(scale), np.inf) if touch_level_m is None else touch_level_m,
        bias_current_a=driver.bias_current_a,
        drive_lag=driver.lag,
    )


def _check_vibrates(basis: ModalBasis) -> None:
    still = np.nonzero(basis.damping_ratio >= 1)[0]
    if len(still):
        first = int(still[0])
        raise LoopError(
            f"loop: expected modes that vibrate, got mode {first + 1} ({basis.labels[first]}) with "
            f"a damping ratio of {basis.damping_ratio[first]:.3g}.",
            hint="Look at its losses in `modewright modes`; the film of a narrow gap under a large "
            "plate is the usual cause. Widen the gap.",
        )


def _bend(
    basis: ModalBasis,
    sampled: NDArray[np.complex128],
    stages: tuple[Stage, ...],
    side: str,
    rate_hz: float,
) -> NDArray[np.complex128]:
    """Slow stages at the true pole of each mode over their sampled form where it is heard.

    Zero for a mode that the stages keep out anyway and sampling still more. One that they let
    through is refused where it lies on a zero that only sampling made, at 0 Hz or half the rate.
    """
    true = _product_at(stages, mode_pole_rad_s(basis.omega_rad_s, basis.damping_ratio))
    is_lost = np.abs(sampled) < _LEAST_SHARE * np.abs(true)
    is_unheard = np.abs(true) < _UNHEARD
    lost = np.nonzero(is_lost & ~is_unheard)[0]
    if len(lost):
        first = int(lost[0])
        raise LoopError(
            f"loop: expected modes that the sampled {side} stages let through, got mode "
            f"{first + 1} ({basis.labels[first]}, {basis.freq_hz[first]:.1f} Hz) on a zero of "
            f"theirs at a sampling rate of {rate_hz:.0f} Hz.",
            hint="Choose a sampling rate some hertz away.",
        )
    return np.where(is_lost, 0.0, true / np.where(is_lost, 1.0, sampled))


def _whole_delay(stages: tuple[Stage, ...], rate_hz: float) -> int:
    total_s = sum(stage.delay_s for stage in stages)
    samples = int(total_s * rate_hz + 1e-9)
    if samples < 1:
        raise LoopError(
            f"loop: expected a total delay of at least one sample ({1e6 / rate_hz:.3g} µs at "
            f"{rate_hz:.0f} Hz), got {total_s * 1e6:.3g} µs.",
            hint="A command takes effect at the next sample at the earliest: count the computing "
            "time.",
        )
    if samples > LONGEST_DELAY_SAMPLES:
        longest_ms = LONGEST_DELAY_SAMPLES / rate_hz * 1e3
        raise LoopError(
            f"loop: expected a total delay of at most {longest_ms:.2f} ms, got "
            f"{total_s * 1e3:.2f} ms.",
            hint="Shorten the latencies in the section electronics.",
        )
    return samples


def _product_at(stages: tuple[Stage, ...], s: NDArray[np.complex128]) -> NDArray[np.complex128]:
    value = np.ones(s.shape, dtype=np.complex128)
    for stage in stages:
        value = value * stage.at(s)
    return value
