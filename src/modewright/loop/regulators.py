"""One level regulator per treated mode, the same law for holding and damping.

The regulator sees the predicted state p of its mode and pushes along its motion with the force

    amp = kp (target - |p|) + kff target + I,     u += amp Re(w (p + ε)/(|p| + ε)),

w = λ b̄/|b|, |λ| left out, turning the push into phase with the motion as it will be one sample on,
when the push has acted. A target of zero makes it a linear damper;
with a target it is a level loop. Averaged over a period (Krylov & Bogoliubov; see Khalil,
Nonlinear Systems, 2002, ch. 10) a push of amplitude amp changes the level by |b| amp/2 per sample,
so that

    kp  = 2 T (rate - σ)/|b|   for a wanted decay or approach rate,
    kff = 2 T σ/|b|            replaces what the mode loses by itself,
    ki  = 0.03 · 2 T² rate²/|b| per sample, which trims with the slow root of
          s² + s rate + 0.03 rate²: a thirtieth as fast as the approach.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from modewright.checks import frozen_array
from modewright.decay import DECAY_60_DB
from modewright.errors import LoopError
from modewright.loop.filtered_states import turned_response

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.loop.observer import Observer
    from modewright.loop.plant import Plant
    from modewright.loop.settings import ModeControl

__all__ = [
    "Regulators",
    "behind_band_pass",
    "design_regulators",
    "with_one_gain",
    "without_holding",
]

# A mode that the driver pushes a thousand times less than another cannot be treated with it.
_REACH_SHARE = 1e-3
# The integrator only trims what the model got wrong; a faster one would overshoot on every attack.
_INTEGRAL_SHARE = 0.03
_INTEGRAL_AUTHORITY = 0.25
_SILENCE_FRACTION = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Regulators:
    """Coefficients of every regulator in both of its roles.

    All arrays have shape (regulated,).

    Parameters
    ----------
    modes : int array
        Index of the mode in the plant.
    steering : complex array
        w, modulus 1.
    damp_gain : float array
        kp when damping. [command/m]
    hold_gain : float array
        kp when holding. [command/m]
    sustain_gain : float array
        kff. [command/m]
    integral_gain : float array
        ki per sample, when holding. [command/m]
    integral_limit, command_limit : float arrays
        Limits of I and of amp. [command]
    silence_m : float array
        ε. [m]
    level_m : float array
        Target when held. [m]
    state : tuple of str
        What each mode does until a score says otherwise.
    can_hold : bool
        Whether modes can be held; with a method that cannot the gains of holding are zero.
    """

    modes: NDArray[np.int64]
    steering: NDArray[np.complex128]
    damp_gain: NDArray[np.float64]
    hold_gain: NDArray[np.float64]
    sustain_gain: NDArray[np.float64]
    integral_gain: NDArray[np.float64]
    integral_limit: NDArray[np.float64]
    command_limit: NDArray[np.float64]
    silence_m: NDArray[np.float64]
    level_m: NDArray[np.float64]
    state: tuple[str, ...]
    can_hold: bool = True

    def __post_init__(self) -> None:
        object.__setattr__(self, "steering", frozen_array(self.steering, complex))
        for name in (
            "damp_gain",
            "hold_gain",
            "sustain_gain",
            "integral_gain",
            "integral_limit",
            "command_limit",
            "silence_m",
            "level_m",
        ):
            object.__setattr__(self, name, frozen_array(getattr(self, name)))

    def linear_gain(self, states: tuple[str, ...]) -> NDArray[np.float64]:
        """Equivalent gain of each regulator on its predicted state: u = Σ gain Re(w p).

        A held mode meets, at other frequencies than its own, the mean of the radial gain -kp and
        the tangential gain kff of its level loop (incremental describing function: Atherton,
        Nonlinear Control Engineering, 1975, ch. 3). What it does itself: `level_loop`.

        Parameters
        ----------
        states : tuple of str, length regulated
            ``free``, ``held`` or ``damped``.

        Returns
        -------
        float array, shape (regulated,)
            Positive feeds the mode, negative damps it. [command/m]
        """
        held = (self.sustain_gain - self.hold_gain) / 2
        table = {"free": np.zeros_like(held), "held": held, "damped": -self.damp_gain}
        return np.array([table[state][i] for i, state in enumerate(states)])


def design_regulators(
    plant: Plant, observer: Observer, controls: tuple[ModeControl, ...]
) -> Regulators:
    """Choose the gains that give each mode its level, attack and decay.

    Parameters
    ----------
    plant : Plant
    observer : Observer
        Its first modes are those of `controls`, in that order.
    controls : tuple of ModeControl

    Returns
    -------
    Regulators

    Raises
    ------
    LoopError
        If the driver cannot reach one of the modes.
    """
    count = len(controls)
    drive = np.abs(observer.push_gain[:count])
    along = plant.rotation[observer.modes[:count]] * observer.push_gain[:count].conj()
    modes = observer.modes[:count]
    _check_reach(plant, modes, drive)
    sigma = plant.decay_rate_per_s[modes]
    per_rate = 2 / (plant.rate_hz * drive)  # command per metre for a rate of 1/s
    wanted_decay = DECAY_60_DB / np.array([c.decay_s for c in controls])
    approach = 1 / np.array([c.attack_s for c in controls])
    limit = np.full(count, plant.command_limit)
    level = np.array([c.level_m for c in controls])
    return Regulators(
        modes=modes,
        steering=along / np.abs(along),
        damp_gain=per_rate * np.maximum(wanted_decay - sigma, 0),
        hold_gain=per_rate * np.maximum(approach - sigma, 0),
        sustain_gain=per_rate * sigma,
        integral_gain=per_rate * approach**2 * _INTEGRAL_SHARE / plant.rate_hz,
        integral_limit=_INTEGRAL_AUTHORITY * limit,
        command_limit=limit,
        silence_m=_SILENCE_FRACTION * level,
        level_m=level,
        state=tuple(c.state for c in controls),
    )


def behind_band_pass(
    plant: Plant,
    observer: Observer,
    regulators: Regulators,
    controls: tuple[ModeControl, ...],
) -> Regulators:
    """The same regulators, as quick as wanted though their states come late through a filter.

    A mode that decays by σ, pushed through a filter that follows by β, has the poles of
    (s + σ)(s + β) + β Δ = 0, Δ being what the push alone would add. One of them stands at -σt for
    Δ = (σt - σ)(1 - σt/β), up to σt = (σ + β)/2 where both meet: no gain decays faster.

    Parameters
    ----------
    plant, observer : Plant, Observer
        The latter from `band_pass_states`; its bandwidth is β/2π.
    regulators : Regulators
    controls : tuple of ModeControl

    Returns
    -------
    Regulators
    """
    sigma = plant.decay_rate_per_s[regulators.modes]
    beta = 2 * np.pi * observer.bandwidth_hz
    per_rate = 2 / (plant.rate_hz * np.abs(observer.push_gain))

    def gain(rate: NDArray[np.float64]) -> NDArray[np.float64]:
        reached = np.minimum(rate, (sigma + beta) / 2)
        return per_rate * np.maximum(reached - sigma, 0) * (1 - reached / beta)

    return replace(
        regulators,
        damp_gain=gain(DECAY_60_DB / np.array([c.decay_s for c in controls])),
        hold_gain=gain(1 / np.array([c.attack_s for c in controls])),
    )


def without_holding(regulators: Regulators) -> Regulators:
    """The same regulators, damping only."""
    nothing = np.zeros(len(regulators.modes))
    return replace(
        regulators,
        hold_gain=nothing,
        sustain_gain=nothing,
        integral_gain=nothing,
        can_hold=False,
    )


def with_one_gain(
    plant: Plant,
    observer: Observer,
    regulators: Regulators,
    controls: tuple[ModeControl, ...],
) -> Regulators:
    """Let the first row push all modes, as hard as the one needs that needs most.

    Parameters
    ----------
    plant, observer : Plant, Observer
        The latter from `velocity_states`.
    regulators : Regulators
    controls : tuple of ModeControl

    Returns
    -------
    Regulators
        Modes that one differentiator would feed, by sign or delay, do not raise the gain; whether
        it holds at all is for the poles to say.
    """
    sigma = plant.decay_rate_per_s[regulators.modes]
    wanted = DECAY_60_DB / np.array([c.decay_s for c in controls]) - sigma
    damping = turned_response(plant, observer)[0].real
    per_gain = damping * np.abs(observer.push_gain) * plant.rate_hz / 2
    needed = np.divide(wanted, per_gain, out=np.zeros_like(wanted), where=per_gain > 0)
    gain = np.zeros_like(wanted)
    gain[0] = max(0.0, float(needed.max()))
    return replace(without_holding(regulators), damp_gain=gain)


def _check_reach(plant: Plant, modes: NDArray[np.int64], drive: NDArray[np.float64]) -> None:
    per_coordinate = drive / np.abs(plant.scale_per_sqrt_kg[modes])
    every = np.abs(plant.drive_gain / plant.scale_per_sqrt_kg) * 2 * np.pi * plant.freq_hz
    per_coordinate = per_coordinate * 2 * np.pi * plant.freq_hz[modes]
    strongest = float(every.max())
    for index, value in zip(modes, per_coordinate, strict=True):
        if value <= _REACH_SHARE * strongest:
            raise LoopError(
                f"loop: expected a driver that moves mode {index + 1} ({plant.labels[index]}), got "
                "next to no force on it: it sits on a node, or the mode moves in the "
                "sheet's plane.",
                hint="Move the driver, or leave the mode out of loop.modes.",
            )
