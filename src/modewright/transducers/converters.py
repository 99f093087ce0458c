"""Kinds of converters and the delay that their principle makes.

*Successive approximation* is done before the next sample is due: one sample at the most. A *sinc
decimator* averages M fast samples K times over and is K (M - 1)/(2 M) slow samples late, K/2 for a
large M; here K = 3. A *sigma-delta* converter halves its rate with linear-phase filters, each half
its length late; Kaiser's estimate of a length is (A - 7.95)/(2.285 Δω) taps for A dB over a
transition of Δω. For *audio* the last one passes 0.4535 of the rate and stops 100 dB, for *low
latency* 0.35 and 70 dB (common practice). A *resistor ladder* follows at once; its hold is counted
apart.

References
----------
E. B. Hogenauer, An economical class of digital filters for decimation and interpolation, IEEE
Trans. Acoust. Speech Signal Process. 29 (1981) 155. J. F. Kaiser, Nonrecursive digital filter
design using the I0-sinh window function, Proc. IEEE Int. Symp. Circuits and Systems (1974) 20, as
in Oppenheim & Schafer, Discrete-Time Signal Processing, sec. 7.5 (from memory).
"""

from __future__ import annotations

import math

__all__ = [
    "AS_GIVEN",
    "INPUT_CONVERTERS",
    "OUTPUT_CONVERTERS",
    "converter_delay_s",
    "halving_delay_samples",
]

AS_GIVEN = "as given"
_HALVINGS = 3
_SINC_ORDER = 3


def halving_delay_samples(passed_share: float, stopped_db: float) -> float:
    """Delay of filters that bring eight times the rate down to the rate, halving it each.

    Parameters
    ----------
    passed_share : float
        Upper end of the band over the rate, below 0.5.
    stopped_db : float
        What each filter takes off what would fold into the band. [dB]

    Returns
    -------
    float
        In samples of the slow rate; the sinc decimator before them adds K/2 eighths of one.
    """
    total = _SINC_ORDER / 2 / 2**_HALVINGS
    for halving in range(1, _HALVINGS + 1):
        fast = 2.0**halving
        transition = 2 * math.pi * (fast / 2 - 2 * passed_share) / fast
        total += (stopped_db - 7.95) / (2.285 * transition) / 2 / fast
    return total


_LOW_LATENCY = halving_delay_samples(0.35, 70.0)
_AUDIO = halving_delay_samples(0.4535, 100.0)
_INPUT_SAMPLES = {
    "successive approximation": 1.0,
    "sinc decimator": _SINC_ORDER / 2,
    "low-latency sigma-delta": _LOW_LATENCY,
    "audio sigma-delta": _AUDIO,
}
_OUTPUT_SAMPLES = {
    "resistor ladder": 0.0,
    "low-latency sigma-delta": _LOW_LATENCY,
    "audio sigma-delta": _AUDIO,
}
INPUT_CONVERTERS = (AS_GIVEN, *_INPUT_SAMPLES)
OUTPUT_CONVERTERS = (AS_GIVEN, *_OUTPUT_SAMPLES)


def converter_delay_s(kind: str, rate_hz: float, given_s: float) -> float:
    """Delay of a converter.

    Parameters
    ----------
    kind : str
        One of `INPUT_CONVERTERS` or `OUTPUT_CONVERTERS`.
    rate_hz : float
        Sampling rate. [Hz]
    given_s : float
        Holds where the kind is "as given". [s]

    Returns
    -------
    float
        [s]
    """
    if kind == AS_GIVEN:
        return given_s
    return {**_INPUT_SAMPLES, **_OUTPUT_SAMPLES}[kind] / rate_hz
