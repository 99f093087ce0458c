"""Electronics around the pickup of a design, for its dossier."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from modewright.chain.closed_loop import chosen_pickup
from modewright.report.dossier_content import ShownElectronics
from modewright.report.plots.electronics_chart import electronics_chart_png
from modewright.transducers.pickup_noise import (
    electrical_noise_v2_per_hz,
    thermal_motion_v2_per_hz,
)
from modewright.workflows.electronics import electronics_data

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.workflows.analysis import Analysis

__all__ = ["shown_electronics"]

_LOWEST_HZ, _HIGHEST_HZ, _POINTS = 20.0, 20e3, 400
# Around each resonance in half widths, so that its peak is met.
_HALF_WIDTHS = np.concatenate([-np.geomspace(300, 0.1, 20), [0.0], np.geomspace(0.1, 300, 20)])


def shown_electronics(found: Analysis) -> ShownElectronics | None:
    """Data and picture of what stands around the pickup.

    Parameters
    ----------
    found : Analysis

    Returns
    -------
    ShownElectronics or None
        None without a loop.
    """
    if found.closed_loop is None:
        return None
    data = electronics_data(found)
    disturbances = data["disturbances"]
    levels: dict[str, list[float | None]] = {}
    if disturbances is not None and disturbances["modes"]:
        levels = {one["cause"]: one["level_db"] for one in disturbances["steady"]}
        levels |= {f"{one['cause']}, bare": one["bare_db"] for one in disturbances["feedthrough"]}
    chosen = chosen_pickup(found.placed.design, found.hearing)
    freq_hz = _freq_hz(found)
    chart_png = electronics_chart_png(
        freq_hz,
        _densities(found, found.hearing.pickups.index(chosen), freq_hz),
        [f"mode {mode['number']}" for mode in data["latency"]["modes"]],
        levels,
        title=f"{found.placed.design.design.name}, pickup {chosen.figures.name}",
    )
    return ShownElectronics(data=data, chart_png=chart_png)


def _freq_hz(found: Analysis) -> NDArray[np.float64]:
    basis = found.hearing.operating_point.basis
    near = basis.freq_hz[:, None] * (1 + basis.damping_ratio[:, None] * _HALF_WIDTHS)
    every = np.unique([*np.geomspace(_LOWEST_HZ, _HIGHEST_HZ, _POINTS), *near.ravel()])
    return every[(every >= _LOWEST_HZ) & (every <= _HIGHEST_HZ)]


def _densities(
    found: Analysis, number: int, freq_hz: NDArray[np.float64]
) -> dict[str, NDArray[np.float64]]:
    """By contributor. [V/√Hz]"""
    point, pickup = found.hearing.operating_point, found.body.pickups[number]
    biased, temperature_k = point.pickup_gaps[number], found.body.material.temperature_k
    squared = electrical_noise_v2_per_hz(pickup, biased.gap.permeance, freq_hz, temperature_k)
    squared["thermal motion"] = thermal_motion_v2_per_hz(
        pickup, biased, point.basis, freq_hz, temperature_k
    )
    return {name: np.sqrt(values) for name, values in squared.items()}
