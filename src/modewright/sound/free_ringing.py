"""A struck body left to itself: what a pickup gives of it, or how its reference point moves."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np

from modewright.checks import frozen_array
from modewright.loop.plant import build_plant
from modewright.sound.engine import Engine
from modewright.sound.inputs import InputSignals
from modewright.sound.performance import BLOCK
from modewright.sound.playing import play_free
from modewright.sound.program import force_gain_m_per_n
from modewright.sound.timeline import block_count
from modewright.sound.voice_program import VoiceProgram
from modewright.transducers.port import DriverPort, PickupPort
from modewright.transducers.stage import Stage

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    from modewright.loop.plant import SignalChain
    from modewright.modes.basis import ModalBasis
    from modewright.sound.score import Score
    from modewright.sound.settings import StrikeSettings

__all__ = ["FreeOutcome", "FreeRinging", "ring_freely", "ring_freely_to"]

# Farther than any sheet moves: nothing clips where no converter listens.
_NEVER_REACHED_M = 10.0


@dataclass(frozen=True, slots=True, kw_only=True)
class FreeOutcome:
    """How a struck body was heard.

    Parameters
    ----------
    rate_hz : float
        Sampling rate. [Hz]
    unit : {"V", "m"}
        Voltage at the converter, or displacement of the reference point.
    clipped_share : float
        Share of the samples at which the converter clipped.
    """

    rate_hz: float
    unit: Literal["V", "m"]
    clipped_share: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FreeRinging(FreeOutcome):
    """What is heard of a struck body.

    Parameters
    ----------
    output : float array, shape (samples,)
        [`unit`]
    """

    output: NDArray[np.float64]

    def __post_init__(self) -> None:
        object.__setattr__(self, "output", frozen_array(self.output))


@dataclass(frozen=True, slots=True, kw_only=True)
class _NoElectronics:
    """Samples the motion itself."""

    rate_hz: float
    input_stages: tuple[Stage, ...] = ()

    @property
    def output_stages(self) -> tuple[Stage, ...]:
        """One sample, the least that a plant bears; nothing is driven through it."""
        return (Stage.constant("computing", delay_s=1 / self.rate_hz),)


def ring_freely(
    basis: ModalBasis,
    pickup: PickupPort | None,
    chain: SignalChain,
    reference_m: tuple[float, float],
    score: Score,
    strike: StrikeSettings,
    strike_point_m: tuple[float, float],
    *,
    noise_seed: int | None = 1,
) -> FreeRinging:
    """Strike a body that nothing drives.

    Parameters
    ----------
    basis : ModalBasis
        As biased, if anything biases it.
    pickup : PickupPort or None
        What listens; without one the sound is the motion normal to the sheet of the reference
        point, in metres.
    chain : SignalChain
        Electronics behind the pickup; of a motion only the sampling rate counts.
    reference_m : tuple of two floats
        [m]
    score : Score
        Only its length and its blows count.
    strike : StrikeSettings
    strike_point_m : tuple of two floats
        Where blows fall. [m]
    noise_seed : int or None
        Seed of the pickup's noise; None leaves it out.

    Returns
    -------
    FreeRinging

    Raises
    ------
    LoopError
        If a mode cannot be sampled, see `modewright.loop.plant.build_plant`.
    SolveError
        If the core ran out of numbers.
    """
    pieces: list[NDArray[np.floating]] = []
    outcome = ring_freely_to(
        pieces.append,
        basis,
        pickup,
        chain,
        reference_m,
        score,
        strike,
        strike_point_m,
        noise_seed=noise_seed,
    )
    return FreeRinging(
        rate_hz=outcome.rate_hz,
        output=np.concatenate(pieces).astype(np.float64),
        unit=outcome.unit,
        clipped_share=outcome.clipped_share,
    )


def ring_freely_to(
    hear: Callable[[NDArray[np.floating]], None],
    basis: ModalBasis,
    pickup: PickupPort | None,
    chain: SignalChain,
    reference_m: tuple[float, float],
    score: Score,
    strike: StrikeSettings,
    strike_point_m: tuple[float, float],
    *,
    noise_seed: int | None = 1,
) -> FreeOutcome:
    """Strike a body that nothing drives and hand what is heard on piece by piece.

    Parameters
    ----------
    hear : callable
        Given the output, shape (samples,). [V] or [m]
    basis, pickup, chain, reference_m, score, strike, strike_point_m, noise_seed
        As for `ring_freely`, and so are the errors.
    """
    listener = _motion_of(basis, reference_m) if pickup is None else pickup
    heard = chain if pickup is not None else _NoElectronics(rate_hz=chain.rate_hz)
    plant = build_plant(basis, listener, _no_driver(basis), heard, reference_m)
    samples = BLOCK * block_count(score, plant.rate_hz, BLOCK)
    engine = Engine("float32", block=BLOCK)
    engine.load(
        0,
        VoiceProgram(
            rotation=plant.rotation,
            drive_gain=plant.drive_gain,
            force_gain=force_gain_m_per_n(plant, basis.shapes, strike_point_m),
            pickup_gain=plant.pickup_gain,
            quadratic_per_v=plant.quadratic_per_v,
            cubic_per_v2=plant.cubic_per_v2,
            full_scale_v=plant.full_scale_v,
            input_sections=plant.input_sections.sos,
        ),
    )
    inputs = InputSignals(
        score,
        strike,
        plant.rate_hz,
        noise_v=float(plant.noise_v_per_rthz * np.sqrt(plant.rate_hz / 2)),
        noise_seed=noise_seed,
    )
    play_free(engine, samples, inputs, hear)
    return FreeOutcome(
        rate_hz=plant.rate_hz,
        unit="m" if pickup is None else "V",
        clipped_share=float(engine.clipped_samples[0]) / samples,
    )


def _motion_of(basis: ModalBasis, reference_m: tuple[float, float]) -> PickupPort:
    """Reads the motion of a place, a metre as a volt."""
    return PickupPort(
        name="reference point",
        volts_per_coordinate=basis.shapes.displacement(np.array([reference_m]))[0, 2],
        quadratic_per_v=0.0,
        cubic_per_v2=0.0,
        path=(),
        noise_v_per_rthz=0.0,
        full_scale_v=_NEVER_REACHED_M,
    )


def _no_driver(basis: ModalBasis) -> DriverPort:
    return DriverPort(
        name="none",
        drive_unit="A",
        force_per_drive=np.zeros(len(basis.freq_hz)),
        path=(),
        command_unit="A",
        command_limit=0.0,
        cold_heat_w=np.zeros(len(basis.freq_hz)),
        current_a_per_drive=np.zeros(len(basis.freq_hz)),
    )
