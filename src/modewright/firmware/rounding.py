"""What float32 coefficients do to the loop."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from modewright.checks import frozen_array
from modewright.loop.held_modes import held_modes
from modewright.loop.poles import loop_poles
from modewright.loop.transfer import loop_terms

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.loop.close import ClosedLoop
    from modewright.loop.observer import Observer
    from modewright.loop.plant import Plant
    from modewright.loop.regulators import Regulators

__all__ = ["Rounding", "rounding_of"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Rounding:
    """The treated modes, float32 against exact coefficients.

    Parameters
    ----------
    held_cents : float array, shape (regulated,)
        By which the pitch moves with every mode held; not a number for one that has no steady
        swing. [cents]
    damped_cents : float array, shape (regulated,)
        And with every mode damped. [cents]
    damped_t60_share : float array, shape (regulated,)
        By which the decay time changes then.
    """

    held_cents: NDArray[np.float64]
    damped_cents: NDArray[np.float64]
    damped_t60_share: NDArray[np.float64]

    def __post_init__(self) -> None:
        for name in ("held_cents", "damped_cents", "damped_t60_share"):
            object.__setattr__(self, name, frozen_array(getattr(self, name)))


def rounding_of(loop: ClosedLoop) -> Rounding:
    """Close the loop once more with rounded coefficients.

    Parameters
    ----------
    loop : ClosedLoop

    Returns
    -------
    Rounding
    """
    plant, modes = loop.plant, loop.regulators.modes
    observer, regulators = _rounded_observer(loop.observer), _rounded_regulators(loop.regulators)
    exact = loop.all_damped
    gain = regulators.linear_gain(exact.states)
    terms = loop_terms(plant, observer, regulators, loop.freq_hz)
    poles = loop_poles(plant, observer, regulators, gain, terms)
    return Rounding(
        held_cents=_cents(
            _held_hz(plant, observer, regulators), _held_hz(plant, loop.observer, loop.regulators)
        ),
        damped_cents=_cents(poles.freq_hz[modes], exact.poles.freq_hz[modes]),
        damped_t60_share=exact.poles.decay_rate_per_s[modes] / poles.decay_rate_per_s[modes] - 1,
    )


def _held_hz(plant: Plant, observer: Observer, regulators: Regulators) -> NDArray[np.float64]:
    """Pitch of each treated mode with all held; not a number where one has no steady swing."""
    states = ("held",) * len(regulators.modes)
    found = {m.mode: m.freq_hz for m in held_modes(plant, observer, regulators, states)}
    return np.array([found.get(int(mode), np.nan) for mode in regulators.modes])


def _cents(freq_hz: NDArray[np.float64], exact_hz: NDArray[np.float64]) -> NDArray[np.float64]:
    return 1200 * np.log2(freq_hz / exact_hz)


def _rounded_observer(observer: Observer) -> Observer:
    """As the core holds it: what is only heard is rounded in volts."""
    heard = observer.pickup_gain
    return replace(
        observer,
        rotation=_rounded(observer.rotation),
        drive_gain=_rounded(heard * observer.drive_gain) / heard,
        correction=_rounded(heard * observer.correction) / heard,
        predicted_correction=_rounded(observer.predicted_correction),
    )


def _rounded_regulators(regulators: Regulators) -> Regulators:
    return replace(
        regulators,
        steering=_rounded(regulators.steering),
        **{
            name: getattr(regulators, name).astype(np.float32).astype(np.float64)
            for name in ("hold_gain", "damp_gain", "sustain_gain", "integral_gain")
        },
    )


def _rounded(values: NDArray[np.complex128]) -> NDArray[np.complex128]:
    return np.asarray(values.astype(np.complex64), dtype=np.complex128)
