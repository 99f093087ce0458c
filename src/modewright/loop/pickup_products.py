"""Tones that the curvature of the pickup makes of held modes, where the observer mistakes them.

With v = s + n2 s² + n3 s³, held modes that make V_i cos and V_j cos at the pickup give, besides
themselves, n2 V_i²/2 at twice the frequency, n3 V_i³/4 at three times, and n2 V_i V_j at the sum
and at the difference (the trigonometric identities). A bank that is excited beside its frequency
answers as l/(z - λ̂)/(1 + D_l): the less, the narrower the observer. A tone above half the rate
folds back: the converter samples what the curve has made, and so does the core.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from modewright.loop.transfer import rotation_bank

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.loop.observer import Observer
    from modewright.loop.plant import Plant
    from modewright.loop.regulators import Regulators

__all__ = ["phantom_level_m", "pickup_products_on_modes"]

# A tone from this share of a treated mode's level on is told wherever it lies.
_TOLD_SHARE = 0.01
# One this near to a mode, in units of the observer's bandwidth, from a tenth of that on: of a
# treated mode's level, or of what the held mode itself makes at the pickup.
_REACH, _NEAR_SHARE = 2.0, 0.001


@dataclass(frozen=True, slots=True, kw_only=True)
class _Product:
    """One tone: what makes it, of which held modes, and how loud beside the loudest of them.

    `freq_hz` is where it is heard, `made_hz` where it is made.
    """

    name: str
    parents: tuple[int, ...]
    made_hz: float
    freq_hz: float
    tone_v: float
    parent_v: float
    order: int


def phantom_level_m(
    plant: Plant, observer: Observer, freq_hz: float, tone_v: float
) -> NDArray[np.float64]:
    """Level that the observer believes each of its modes to have because of a tone from elsewhere.

    Parameters
    ----------
    plant, observer : Plant, Observer
    freq_hz : float
        Of the tone, below half the rate. [Hz]
    tone_v : float
        Its amplitude at the pickup. [V]

    Returns
    -------
    float array, shape (observed,)
        [m]
    """
    z = np.exp(2j * np.pi * np.array([freq_hz]) / plant.rate_hz)
    innovation = 1 + rotation_bank(z, observer.rotation, observer.pickup_gain * observer.correction)
    heard = tone_v * np.abs(plant.input_sections.at(z) / innovation)
    return np.abs(observer.correction / (z - observer.rotation)) * heard / 2


def pickup_products_on_modes(plant: Plant, observer: Observer, regulators: Regulators) -> list[str]:
    """Tones of held modes that the observer takes for another mode, each as a sentence.

    Parameters
    ----------
    plant, observer, regulators : Plant, Observer, Regulators

    Returns
    -------
    list of str
    """
    found: list[str] = []
    for product in _products(plant, regulators):
        phantom = phantom_level_m(plant, observer, product.freq_hz, product.tone_v)
        for row, mode in enumerate(observer.modes):
            if int(mode) in product.parents:
                continue
            away_hz = abs(product.freq_hz - float(plant.sampled_freq_hz[mode]))
            level_m = float(regulators.level_m[row]) if row < len(regulators.modes) else None
            heard_m = product.parent_v / float(np.abs(plant.pickup_gain[mode]))
            share = float(phantom[row]) / (heard_m if level_m is None else level_m)
            is_near = away_hz < _REACH * observer.bandwidth_hz
            is_strong = level_m is not None and share > _TOLD_SHARE
            if is_strong or (is_near and share > _NEAR_SHARE):
                found.append(
                    _sentence(plant, product, int(mode), away_hz, float(phantom[row]), level_m)
                )
    return found


def _products(plant: Plant, regulators: Regulators) -> list[_Product]:
    held = {
        int(mode): float(level * np.abs(plant.pickup_gain[mode]))
        for mode, level, state in zip(
            regulators.modes, regulators.level_m, regulators.state, strict=True
        )
        if state == "held"
    }
    n2, n3 = abs(plant.quadratic_per_v), abs(plant.cubic_per_v2)
    freq = plant.freq_hz
    made: list[_Product] = []
    for i, volts in held.items():
        for times, name, product_v in (
            (2, "twice the pitch", n2 * volts**2 / 2),
            (3, "three times the pitch", n3 * volts**3 / 4),
        ):
            made.append(
                _product(plant, times * float(freq[i]), name=name, parents=(i,), tone_v=product_v,
                         parent_v=volts, order=times)
            )  # fmt: skip
    for (i, volts), (j, other) in itertools.combinations(held.items(), 2):
        for sign, name in ((1, "the sum"), (-1, "the difference")):
            made.append(
                _product(plant, abs(float(freq[i] + sign * freq[j])), name=name, parents=(i, j),
                         tone_v=n2 * volts * other, parent_v=max(volts, other), order=2)
            )  # fmt: skip
    return [p for p in made if p.tone_v > 0 and p.freq_hz > 0]


def _product(
    plant: Plant,
    made_hz: float,
    *,
    name: str,
    parents: tuple[int, ...],
    tone_v: float,
    parent_v: float,
    order: int,
) -> _Product:
    """A tone, folded to where the controller hears it."""
    turn = made_hz % plant.rate_hz
    return _Product(
        name=name,
        parents=parents,
        made_hz=made_hz,
        freq_hz=min(turn, plant.rate_hz - turn),
        tone_v=tone_v,
        parent_v=parent_v,
        order=order,
    )


def _sentence(
    plant: Plant,
    product: _Product,
    mode: int,
    away_hz: float,
    phantom_m: float,
    level_m: float | None,
) -> str:
    parents = " and ".join(f"mode {i + 1} ({plant.labels[i]})" for i in product.parents)
    are_held = "which is to be held" if len(product.parents) == 1 else "which are to be held"
    against = (
        ""
        if level_m is None
        else f" ({20 * np.log10(phantom_m / level_m):.0f} dB against its level), and its regulator "
        "pushes at what is not there"
    )
    ratio_db = 20 * np.log10(product.tone_v / product.parent_v)
    folded = (
        f" at {product.made_hz:.0f} Hz, heard at {product.freq_hz:.0f} Hz,"
        if product.made_hz > plant.rate_hz / 2
        else ","
    )
    return (
        f"Harmonic on a mode: {product.name} of {parents}, {are_held}{folded} lies "
        f"{away_hz:.1f} Hz from mode {mode + 1} ({plant.labels[mode]}). The pickup's curvature "
        f"makes it {ratio_db:.0f} dB against the held mode, and the observer takes it for "
        f"{phantom_m * 1e6:.2g} um of mode {mode + 1}{against}. Half the held level "
        f"lowers it by {6 * product.order} dB; a wider pickup gap, a lower "
        "loop.observer_bandwidth or another ratio of the two modes helps too."
    )
