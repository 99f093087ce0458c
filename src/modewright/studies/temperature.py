"""What the warmth of the room does to a note whose controller stays as it is."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from modewright.chain.body import analyse_placed
from modewright.chain.closed_loop import (
    analyse_loop,
    chosen_driver,
    chosen_pickup,
    signal_path,
)
from modewright.chain.hearing import analyse_hearing
from modewright.chain.mode_numbers import numbered_loop
from modewright.chain.places import place_design
from modewright.errors import ModewrightError
from modewright.loop.carried import carry_controller
from modewright.loop.plant import build_plant
from modewright.materials.choice import chosen_material
from modewright.materials.model import freq_drift_per_k
from modewright.studies.trial import MARGINS, UNSTABLE, least_margins
from modewright.tolerances.warmth import Warmth, gap_change_m
from modewright.transducers.electromagnet import BiasedElectromagnet

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

    from numpy.typing import NDArray

    from modewright.chain.body import Body
    from modewright.chain.hearing import Hearing
    from modewright.design.schema import Design
    from modewright.loop.close import ClosedLoop
    from modewright.modes.solid import Accuracy

__all__ = ["TemperatureCourse", "temperature_course", "warmed_design"]

_CENTS_PER_NEPER = 1200 / np.log(2)
_LEAST_MODES = 12


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TemperatureCourse:
    """A note from the coldest room to the warmest, the design's own temperature among them.

    Parameters
    ----------
    temperature_k : float array, shape (temperatures,)
        Rising. [K]
    freq_hz : float array, shape (temperatures, modes)
        In air, with bias and magnets acting. [Hz]
    cents_per_k : float array, shape (modes,)
        Over the whole range.
    law_cents_per_k : float
        ½ (β_E + α) of the metal.
    drift_hz : float array, shape (temperatures, modes)
        Against the design's temperature. [Hz]
    drift_share : float array, shape (temperatures, modes)
        That over the observer's bandwidth; 1 and above leaves the mode to itself.
    path_deg : float array, shape (temperatures, modes)
        Change of the phase of pickup, electronics and driver at each mode, delay left out; not a
        number without a loop. [deg]
    gap_names : tuple of str
        Pickups first.
    gap_m : float array, shape (temperatures, gaps)
        Air, in the mean, as bias and magnets leave it. [m]
    treated : tuple of int
        Numbers of the modes that the loop treats.
    turn_deg : float array, shape (temperatures, treated)
        Change of the phase of the whole loop at these modes, delay and observer included. [deg]
    margins : float array, shape (temperatures, 3)
        As `modewright.studies.trial.MARGINS`, of the controller as designed; not a number without a
        loop.
    """

    temperature_k: NDArray[np.float64]
    freq_hz: NDArray[np.float64]
    cents_per_k: NDArray[np.float64]
    law_cents_per_k: float
    drift_hz: NDArray[np.float64]
    drift_share: NDArray[np.float64]
    path_deg: NDArray[np.float64]
    gap_names: tuple[str, ...]
    gap_m: NDArray[np.float64]
    treated: tuple[int, ...]
    turn_deg: NDArray[np.float64]
    margins: NDArray[np.float64]


def temperature_course(
    design: Design,
    folder: Path,
    *,
    modes: int = 6,
    accuracy: Accuracy = "normal",
    progress: Callable[[str], None] = lambda _: None,
) -> TemperatureCourse:
    """Work out a design from the coldest room to the warmest.

    Parameters
    ----------
    design : Design
        From the coldest room to the warmest of its section ``[spread.warmth]``.
    folder : Path
        Folder of the design file.
    modes : int
        How many of the lowest.
    accuracy : {"draft", "normal", "fine"}
    progress : callable
        Told what is being done.

    Returns
    -------
    TemperatureCourse

    Raises
    ------
    ModewrightError
        If the design makes no body, or cannot be as cold or warm.

    Notes
    -----
    Body, air, clamp and all that bears them are evenly warm, and the sheet grows freely. Magnets
    keep their magnetomotive force, coils their resistance.
    """
    warmth = Warmth() if design.spread is None else design.spread.warmth
    has_loop = bool(design.pickups and design.drivers and design.loop.modes)
    body = analyse_placed(
        place_design(design, folder),
        count=max(_LEAST_MODES, modes),
        up_to_hz=design.loop.highest_mode_hz if has_loop else None,
        accuracy=accuracy,
    )
    numbered = replace(design, loop=numbered_loop(design.loop, body.modes.labels))
    hearing = analyse_hearing(place_design(numbered, folder).design, body)
    loop = analyse_loop(numbered, body, hearing) if has_loop else None
    here_k = design.material.temperature_k
    temperature_k = np.unique([warmth.coldest_k, here_k, warmth.warmest_k])

    def state_at(value_k: float) -> _State:
        warmed = place_design(warmed_design(numbered, warmth, value_k), folder)
        warm_body = body
        if value_k != here_k:
            warm_body = analyse_placed(warmed, count=len(body.modes.freq_hz), accuracy=accuracy)
        return _state(warmed.design, warm_body, loop)

    states = list(_at_each(temperature_k, state_at, progress))
    here = states[int(np.flatnonzero(temperature_k == here_k)[0])]
    freq_hz = np.array([state.freq_hz[:modes] for state in states])
    path_deg = np.array([state.path_deg[:modes] - here.path_deg[:modes] for state in states])
    drift_hz = freq_hz - here.freq_hz[:modes]
    return TemperatureCourse(
        temperature_k=temperature_k,
        freq_hz=freq_hz,
        cents_per_k=_CENTS_PER_NEPER
        * np.log(freq_hz[-1] / freq_hz[0])
        / (temperature_k[-1] - temperature_k[0]),
        law_cents_per_k=_CENTS_PER_NEPER * freq_drift_per_k(chosen_material(design.material)),
        drift_hz=drift_hz,
        drift_share=np.abs(drift_hz) / design.loop.observer_bandwidth_hz,
        path_deg=np.mod(path_deg + 180, 360) - 180,
        gap_names=tuple(rest.name for rest in hearing.operating_point.at_rest),
        gap_m=np.array([state.gap_m for state in states]),
        treated=tuple(c.number for c in numbered.loop.modes) if has_loop else (),
        turn_deg=np.array([state.turn_deg for state in states]),
        margins=np.array([state.margins for state in states]),
    )


def _at_each(
    temperature_k: NDArray[np.float64],
    state_at: Callable[[float], _State],
    progress: Callable[[str], None],
) -> Iterator[_State]:
    for value_k in temperature_k.tolist():
        progress(f"at {value_k - 273.15:.0f} °C")
        try:
            yield state_at(value_k)
        except ModewrightError as error:
            raise ModewrightError(f"spread: at {value_k - 273.15:.0f} degC: {error}") from error


def warmed_design(design: Design, warmth: Warmth, temperature_k: float) -> Design:
    """The same piece in a room of another temperature.

    Parameters
    ----------
    design : Design
        As built at its own temperature.
    warmth : Warmth
    temperature_k : float
        [K]

    Returns
    -------
    Design
        With warmer metal and air, and gaps grown with what bears them; the magnetomotive force of
        magnets is kept.
    """
    warming_k = temperature_k - design.material.temperature_k

    def grown(gap_m: float, *, is_above: bool) -> float:
        return gap_m + gap_change_m(warmth, gap_m, warming_k, is_above=is_above)

    pickups = tuple(
        replace(pickup, gap_m=grown(pickup.gap_m, is_above=False)) for pickup in design.pickups
    )
    drivers = tuple(
        _with_gap(driver, grown(driver.gap_m, is_above=driver.side == "above"))
        if isinstance(driver, BiasedElectromagnet)
        else driver
        for driver in design.drivers
    )
    return replace(
        design,
        material=replace(design.material, temperature_k=temperature_k),
        pickups=pickups,
        drivers=drivers,
    )


def _with_gap(driver: BiasedElectromagnet, gap_m: float) -> BiasedElectromagnet:
    """The magnet at another distance, with the magnetomotive force it has."""
    before, after = (length + driver.iron_gap_m for length in (driver.gap_m, gap_m))
    flux_density_t = driver.bias_flux_density_t * before / after
    return replace(driver, gap_m=gap_m, bias_flux_density_t=flux_density_t)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _State:
    """The note at one temperature."""

    freq_hz: NDArray[np.float64]
    path_deg: NDArray[np.float64]
    gap_m: NDArray[np.float64]
    turn_deg: NDArray[np.float64]
    margins: NDArray[np.float64]


def _state(design: Design, body: Body, loop: ClosedLoop | None) -> _State:
    hearing = analyse_hearing(design, body)
    turn_deg, margins = np.zeros(0), np.full(len(MARGINS), np.nan)
    path_deg = np.full(len(body.modes.freq_hz), np.nan)
    if hearing.pickups and hearing.drivers:
        path_deg = signal_path(design, hearing)[-1].phase_deg
    if loop is not None:
        plant = build_plant(
            hearing.operating_point.basis,
            chosen_pickup(design, hearing).port,
            chosen_driver(design, hearing).port,
            design.electronics,
            body.reference.point_m,
            hearing.touch_level_m,
        )
        carried = carry_controller(loop, plant)
        turn_deg = carried.turn_deg
        margins = UNSTABLE
        if carried.is_stable:
            margins = least_margins(carried.stated, carried.all_damped)
    return _State(
        freq_hz=hearing.operating_point.basis.freq_hz,
        path_deg=path_deg,
        gap_m=_gaps_m(design, hearing),
        turn_deg=turn_deg,
        margins=margins,
    )


def _gaps_m(design: Design, hearing: Hearing) -> NDArray[np.float64]:
    built = {part.name: part.gap_m for part in design.pickups}
    built |= {d.name: d.gap_m for d in design.drivers if isinstance(d, BiasedElectromagnet)}
    at_rest = hearing.operating_point.at_rest
    return np.array([built[rest.name] - (rest.closure_m or 0.0) for rest in at_rest])
