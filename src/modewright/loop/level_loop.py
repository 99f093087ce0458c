"""The level loop of a held mode, seen from the swing itself.

A held mode swings steadily where its regulator's push, as a real gain N on the predicted state p,
just keeps it going (describing function: A. Gelb and W. E. Vander Velde, Multiple-Input Describing
Functions and Nonlinear System Design, 1968, ch. 3, from memory). Around that swing the push

    amp Re(w p/|p|),   amp = kp (target - |p|) + kff target + I

answers a small deviation q, turned back by the swing, with -κ on its radial and N on its tangential
part, κ = kp + ki z/(z - 1): the level is corrected, the phase is free. A radial part is half the
deviation and half its mirror image, so that each sideband of the swing meets the other:

    D(z) = 1 - (N - κ)/2 (a₁ + a₂) - N κ a₁ a₂,
    a₁ = a(z e^jθ),  a₂ = conj a(conj(z) e^jθ),

with θ the swing's turn per sample and a = ½ w P̂ the predicted state per push, all other regulators
acting (two-by-two harmonic transfer function: N. Wereley, Analysis and Control of Linear
Periodically Time Varying Systems, 1991, from memory). Third harmonics and the mirrored half of the
bank, a part in 4 Q, are left out. D(1) = 0 is the freedom of the phase; with an integral its pole
stands there instead. The turns of D along the circle count what hunts.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy import optimize

from modewright.loop.transfer import loop_terms

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.loop.observer import Observer
    from modewright.loop.plant import Plant
    from modewright.loop.regulators import Regulators

__all__ = ["LevelLoop", "Swing", "level_loop"]

_SAMPLED = 33
_WIDENINGS = 6
_LARGEST_TURN_RAD = 1.0
_REFINEMENTS = 40
_FIRST_STEP, _SMALLEST_STEP = 0.1, 1e-3
_NEWTON_STEPS = 30
_RELATIVE_STEP = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class Swing:
    """Steady motion of a held mode.

    Parameters
    ----------
    freq_hz : float
        As the controller hears it. [Hz]
    gain : float
        N: push per predicted displacement; negative where the mode has to be braked. [command/m]
    """

    freq_hz: float
    gain: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LevelLoop:
    """One held mode among modes whose regulators act as linear gains.

    Parameters
    ----------
    plant, observer, regulators : Plant, Observer, Regulators
        The plant may be another than the observer's.
    row : int
        Of the held mode among the treated ones.
    others : float array, shape (regulated,)
        Linear gains of the other regulators; that of `row` is zero. [command/m]
    """

    plant: Plant
    observer: Observer
    regulators: Regulators
    row: int
    others: NDArray[np.float64]

    def answer(
        self, freq_hz: NDArray[np.float64] | NDArray[np.complex128]
    ) -> NDArray[np.complex128]:
        """a: half the predicted state, turned by w, per push of this regulator. [m/command]"""
        observer, row = self.observer, self.row
        terms = loop_terms(self.plant, observer, self.regulators, freq_hz)
        z = np.exp(2j * np.pi * freq_hz / self.plant.rate_hz)
        innovation = (terms.plant - terms.delayed_command) / terms.innovation
        left = 1 - self.others @ (terms.push_by_command + terms.push_by_innovation * innovation)
        state = observer.predicted_correction[row] * innovation + observer.drive_gain[row]
        state = state / (z - observer.rotation[row]) / left
        return np.asarray(self.regulators.steering[row] * state / 2, dtype=np.complex128)

    def swing(self) -> Swing | None:
        """The steady swing between where the model and where the plant has the mode.

        Returns
        -------
        Swing or None
            None if there is none within some widths of the mode.
        """
        mode = int(self.regulators.modes[self.row])
        own_hz = float(self.plant.sampled_freq_hz[mode])
        model_hz = float(np.abs(np.angle(self.observer.rotation[self.row])))
        model_hz *= self.plant.rate_hz / (2 * np.pi)
        wider_hz = own_hz * float(self.plant.damping_ratio[mode])
        for _ in range(_WIDENINGS):
            grid_hz = np.linspace(
                min(own_hz, model_hz) - wider_hz, max(own_hz, model_hz) + wider_hz, _SAMPLED
            )
            needed = self._needed_gain(grid_hz)
            # The gain turns forwards through the real axis, whatever its sign.
            rises = np.nonzero((needed.imag[:-1] < 0) & (needed.imag[1:] >= 0))[0]
            reached = [self._between(grid_hz[i], grid_hz[i + 1]) for i in rises]
            hold = float(self.regulators.hold_gain[self.row])
            kept = [swing for swing in reached if hold + swing.gain > 0]
            if kept:
                return min(kept, key=lambda swing: abs(swing.freq_hz - own_hz))
            wider_hz *= 2
        return None

    def _needed_gain(self, freq_hz: NDArray[np.float64]) -> NDArray[np.complex128]:
        """Gain on p that would keep a swing going; real where one is steady.

        A real push also moves the mirrored half of p, on which the level ripples at twice the
        pitch; a fast regulator answers, and half of its answer falls back on the swing.
        """
        answer, mirrored = self.answer(freq_hz), np.conj(self.answer(-freq_hz))
        ripple = (self.regulators.hold_gain[self.row] - (1 / answer).real) / 2 * mirrored
        return np.asarray((1 + ripple) / answer, dtype=np.complex128)

    def _between(self, low_hz: float, high_hz: float) -> Swing:
        def needed(freq_hz: float) -> complex:
            return complex(self._needed_gain(np.array([freq_hz]))[0])

        freq_hz = optimize.brentq(lambda f: needed(f).imag, low_hz, high_hz, xtol=1e-12)
        return Swing(freq_hz=float(freq_hz), gain=needed(float(freq_hz)).real)

    def hunts(self, swing: Swing, grid_hz: NDArray[np.float64]) -> bool:
        """Whether a deviation from the swing grows.

        Parameters
        ----------
        swing : Swing
        grid_hz : float array
            Frequencies about which plant or observer change fast. [Hz]

        Returns
        -------
        bool
        """
        half_hz = self.plant.rate_hz / 2
        beside_hz = np.unique(
            np.concatenate([np.abs(grid_hz - swing.freq_hz), grid_hz + swing.freq_hz])
        )
        smallest_hz = 1e-3 * self._approach_per_s() / (2 * np.pi)
        beside_hz = beside_hz[(beside_hz > smallest_hz) & (beside_hz < half_hz)]
        near_hz = np.geomspace(smallest_hz, half_hz, 60)
        beside_hz = np.unique(np.concatenate([beside_hz, near_hz]))
        value = self._deviation(swing, beside_hz)
        for _ in range(_REFINEMENTS):
            turn = np.angle(value[1:] / value[:-1])
            coarse = np.nonzero(np.abs(turn) > _LARGEST_TURN_RAD)[0]
            if len(coarse) == 0:
                break
            between_hz = (beside_hz[coarse] + beside_hz[coarse + 1]) / 2
            beside_hz = np.insert(beside_hz, coarse + 1, between_hz)
            value = np.insert(value, coarse + 1, self._deviation(swing, between_hz))
        turn = np.angle(value[1:] / value[:-1])
        return round(-float(turn.sum()) / np.pi) > 0

    def level_rate_per_s(self, swing: Swing) -> float:
        """Rate at which a deviation of the level dies out, the slow trim of the integral left out.

        Parameters
        ----------
        swing : Swing

        Returns
        -------
        float
            Negative if it grows; not a number if the pole cannot be followed. [1/s]
        """
        mode = int(self.regulators.modes[self.row])
        own, approach = float(self.plant.decay_rate_per_s[mode]), self._approach_per_s()
        # Off the real axis, so that it can leave it where it meets a pole of the observer.
        s = complex(-own, 1e-2 * own)
        share, step = 0.0, _FIRST_STEP
        while share < 1:
            step = min(step, 1 - share)
            expected = s - step * (approach - own)
            found = self._radial_pole(swing, expected, share + step)
            if found is None or abs(found - expected) > step * approach:
                step /= 2
                if step < _SMALLEST_STEP:
                    return float("nan")
                continue
            s, share, step = found, share + step, 1.5 * step
        return -s.real

    def _radial_pole(self, swing: Swing, start: complex, share: float) -> complex | None:
        period_s = 1 / self.plant.rate_hz

        def radial(s: complex) -> complex:
            # Without the free phase.
            beside_hz = np.array([s / (2j * np.pi)])
            value = self._deviation(swing, beside_hz, share=share, integral=False)[0]
            return complex(value / (1 - np.exp(-s * period_s)))

        s = start
        for _ in range(_NEWTON_STEPS):
            step = _RELATIVE_STEP * abs(s)
            value = radial(s)
            slope = (radial(s + step) - value) / step
            if slope == 0 or not np.isfinite(slope):
                return None
            change = value / slope
            s -= change * min(1.0, 0.5 * abs(s) / abs(change)) if change else 0.0
            if abs(change) < 1e-7 * abs(s):
                return s
        return None

    def _deviation(
        self,
        swing: Swing,
        beside_hz: NDArray[np.float64] | NDArray[np.complex128],
        *,
        share: float = 1.0,
        integral: bool = True,
    ) -> NDArray[np.complex128]:
        """D at frequencies counted from the swing."""
        z = np.exp(2j * np.pi * beside_hz / self.plant.rate_hz)
        kappa = share * self.regulators.hold_gain[self.row] * np.ones(z.shape, dtype=complex)
        if integral:
            kappa = kappa + self.regulators.integral_gain[self.row] * z / (z - 1)
        # What the ripple does to the swing itself it does to its neighbourhood too.
        carried = 1 / (swing.gain * self.answer(np.array([swing.freq_hz]))[0])
        upper = carried * self.answer(swing.freq_hz + beside_hz)
        lower = np.conj(carried * self.answer(swing.freq_hz - np.conj(beside_hz)))
        product = swing.gain * kappa * upper * lower
        return np.asarray(
            1 - (swing.gain - kappa) / 2 * (upper + lower) - product, dtype=np.complex128
        )

    def _approach_per_s(self) -> float:
        mode = int(self.regulators.modes[self.row])
        per_gain = np.abs(self.observer.push_gain[self.row]) * self.plant.rate_hz / 2
        rate = per_gain * self.regulators.hold_gain[self.row]
        return float(rate + self.plant.decay_rate_per_s[mode])


def level_loop(
    plant: Plant,
    observer: Observer,
    regulators: Regulators,
    states: tuple[str, ...],
    row: int,
) -> LevelLoop:
    """The level loop of one mode that is held.

    Parameters
    ----------
    plant, observer, regulators : Plant, Observer, Regulators
    states : tuple of str, length regulated
        What the others do.
    row : int
        Of the mode among the treated ones.

    Returns
    -------
    LevelLoop
    """
    others = regulators.linear_gain(states)
    others[row] = 0.0
    return LevelLoop(plant=plant, observer=observer, regulators=regulators, row=row, others=others)
