"""Signals that the real-time core is fed sample by sample, a piece at a time.

A whole hour of them would fill the memory of most computers.
"""

from __future__ import annotations

import math
from collections import deque
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.sound.score import Noise, Score
    from modewright.sound.settings import StrikeSettings

__all__ = ["InputPiece", "InputSignals", "strike_pulse"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class InputPiece:
    """Signals of one piece, shape (samples,) each.

    Parameters
    ----------
    force_n : float array
        Contact force of the striker. [N]
    drive : float array
        Command added to that of the regulators. [command unit]
    noise_v : float array
        Noise of the pickup. [V]
    """

    force_n: NDArray[np.float64]
    drive: NDArray[np.float64]
    noise_v: NDArray[np.float64]


class InputSignals:
    """Blows and noises of a score and noise of the pickup, from the beginning on.

    The samples do not depend on how they are cut into pieces.

    Parameters
    ----------
    score : Score
    strike : StrikeSettings
        Force and width at full strength.
    rate_hz : float
        Sampling rate. [Hz]
    command_limit : float
        To which noise levels refer. [command unit]
    noise_v : float
        Root mean square of the pickup's noise. [V]
    noise_seed : int or None
        Seed of the pickup's noise; None leaves it out.
    """

    def __init__(
        self,
        score: Score,
        strike: StrikeSettings,
        rate_hz: float,
        *,
        command_limit: float = 0.0,
        noise_v: float = 0.0,
        noise_seed: int | None = None,
    ) -> None:
        self._strike, self._rate_hz = strike, rate_hz
        self._coming = deque(sorted(score.strikes, key=lambda blow: blow.at_s))
        self._pulses: list[tuple[int, NDArray[np.float64]]] = []
        self._noises = [_NoiseSource(noise, command_limit, rate_hz) for noise in score.noises]
        self._noise_v = noise_v
        self._pickup = None if noise_seed is None else np.random.default_rng(noise_seed)
        self._at = 0

    def take(self, samples: int) -> InputPiece:
        """Give the next so many samples."""
        first, self._at = self._at, self._at + samples
        drive, noise_v = np.zeros(samples), np.zeros(samples)
        for source in self._noises:
            source.add_to(drive, first)
        if self._pickup is not None:
            noise_v = self._noise_v * self._pickup.standard_normal(samples)
        return InputPiece(force_n=self._force_n(first, samples), drive=drive, noise_v=noise_v)

    def _force_n(self, first: int, samples: int) -> NDArray[np.float64]:
        force = np.zeros(samples)
        while self._coming and round(self._coming[0].at_s * self._rate_hz) < first + samples:
            blow = self._coming.popleft()
            width_s = blow.width_s if blow.width_s is not None else self._strike.width_s
            pulse = strike_pulse(self._strike.force_n * blow.strength, width_s, self._rate_hz)
            self._pulses.append((round(blow.at_s * self._rate_hz), pulse))
        for start, pulse in self._pulses:
            begin = max(start, first)
            part = pulse[begin - start : first + samples - start]
            force[begin - first : begin - first + len(part)] += part
        self._pulses = [one for one in self._pulses if one[0] + len(one[1]) > first + samples]
        return force


class _NoiseSource:
    """One noise drive of a score; draws its numbers in order."""

    def __init__(self, noise: Noise, command_limit: float, rate_hz: float) -> None:
        self._first, self._last = round(noise.at_s * rate_hz), round(noise.until_s * rate_hz)
        self._rms = noise.level * command_limit
        self._generator = np.random.default_rng(noise.seed)

    def add_to(self, drive: NDArray[np.float64], first: int) -> None:
        """Add to a piece that begins at the sample `first`; every piece has to come by once."""
        begin, end = (min(max(at - first, 0), len(drive)) for at in (self._first, self._last))
        drive[begin:end] += self._rms * self._generator.standard_normal(max(0, end - begin))


def strike_pulse(force_n: float, width_s: float, rate_hz: float) -> NDArray[np.float64]:
    """Raised-cosine force pulse, the usual stand-in for a soft striker.

    Parameters
    ----------
    force_n : float
        Peak. [N]
    width_s : float
        Duration. [s]
    rate_hz : float
        Sampling rate. [Hz]

    Returns
    -------
    float array
        Force held during each sample; the impulse is ``force_n · width_s / 2``. [N]

    References
    ----------
    Fletcher & Rossing, The Physics of Musical Instruments, 2nd ed., ch. 19.2 (from memory): contact
    times of mallets of 0.1 to 5 ms.
    """
    width = width_s * rate_hz
    count = max(1, math.ceil(width))
    edges = np.minimum(np.arange(count + 1), width) / width
    # Mean over each sample of (1 - cos 2πx)/2, so that the impulse is exact for any width.
    integral = edges / 2 - np.sin(2 * np.pi * edges) / (4 * np.pi)
    return force_n * np.diff(integral) * width
