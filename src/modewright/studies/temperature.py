"""What the warmth of the room does to a note whose controller stays as it is."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from modewright.chain.body import analyse_placed
from modewright.chain.mode_numbers import numbered_loop
from modewright.chain.places import place_design
from modewright.errors import ModewrightError
from modewright.materials.choice import chosen_material
from modewright.materials.model import freq_drift_per_k
from modewright.studies.trial import Trial, run_trials

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from numpy.typing import NDArray

    from modewright.design.schema import Design
    from modewright.modes.solid import Accuracy

__all__ = ["TEMPERATURES_K", "TemperatureCourse", "temperature_course"]

TEMPERATURES_K = (273.15, 293.15, 318.15)
_CENTS_PER_NEPER = 1200 / np.log(2)
_LEAST_MODES = 12


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TemperatureCourse:
    """A note from 0 to 45 °C; arrays have shape (temperatures, modes).

    Parameters
    ----------
    temperature_k : float array, shape (temperatures,)
    freq_hz : float array
        In air, with bias and magnets acting.
    cents_per_k : float array, shape (modes,)
        Over the whole range.
    law_cents_per_k : float
        ½ (β_E + α) of the metal.
    drift_hz : float array
        Against the design's temperature.
    drift_share : float array
        That over the observer's bandwidth; 1 and above leaves the mode to itself.
    path_deg : float array
        Change of the phase of the whole path from motion to force at each mode, delay left out; not
        a number without a loop.
    """

    temperature_k: NDArray[np.float64]
    freq_hz: NDArray[np.float64]
    cents_per_k: NDArray[np.float64]
    law_cents_per_k: float
    drift_hz: NDArray[np.float64]
    drift_share: NDArray[np.float64]
    path_deg: NDArray[np.float64]


def temperature_course(
    design: Design,
    folder: Path,
    *,
    modes: int = 6,
    scheduler: str = "serial",
    accuracy: Accuracy = "draft",
    progress: Callable[[str], None] = lambda _: None,
) -> TemperatureCourse:
    """Work out a design at 0, 20 and 45 °C.

    Parameters
    ----------
    design : Design
    folder : Path
        Folder of the design file.
    modes : int
        How many of the lowest.
    scheduler : str
        As for `modewright.parallel.map_tasks`.
    accuracy : {"draft", "normal", "fine"}
    progress : callable
        Told what is being done.

    Returns
    -------
    TemperatureCourse

    Raises
    ------
    ModewrightError
        If the design cannot be at one of them.

    Notes
    -----
    Body, air and clamp are evenly warm; gaps are those of the design.
    """
    count = max(_LEAST_MODES, modes)
    body = analyse_placed(place_design(design, folder), count=count, accuracy=accuracy)
    bare = replace(design, loop=replace(numbered_loop(design.loop, body.modes.labels), modes=()))
    here_k = design.material.temperature_k
    base = Trial(
        design=bare,
        folder=folder,
        moves=(),
        solved_modes=count,
        followed_modes=modes,
        accuracy=accuracy,
        traces=None,
    )
    trials = [
        replace(base, moves=(("material.temperature", t),)) for t in (*TEMPERATURES_K, here_k)
    ]
    found = run_trials(trials, scheduler, progress)
    for tried in found:
        if tried.fault:
            raise ModewrightError(f"spread: at another temperature: {tried.fault}")
    freq_hz = np.array([tried.arrays["freq_hz"] for tried in found])
    path_deg = np.array([tried.arrays["path_deg"] for tried in found])
    temperature_k = np.array(TEMPERATURES_K)
    drift_hz = freq_hz[:-1] - freq_hz[-1]
    return TemperatureCourse(
        temperature_k=temperature_k,
        freq_hz=freq_hz[:-1],
        cents_per_k=_CENTS_PER_NEPER
        * np.log(freq_hz[-2] / freq_hz[0])
        / (temperature_k[-1] - temperature_k[0]),
        law_cents_per_k=_CENTS_PER_NEPER * freq_drift_per_k(chosen_material(design.material)),
        drift_hz=drift_hz,
        drift_share=np.abs(drift_hz) / design.loop.observer_bandwidth_hz,
        path_deg=np.mod(path_deg[:-1] - path_deg[-1] + 180, 360) - 180,
    )
