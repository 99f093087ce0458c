"""Shaped plates and how well they reject: plain data, tables, sentences."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from modewright.chain.electrode_plates import rejections_db
from modewright.chain.electrode_study import DEVIATIONS
from modewright.report.text_tables import TextTable

if TYPE_CHECKING:
    from modewright.chain.electrode_plates import PlateSet
    from modewright.chain.electrode_site import ElectrodeSite
    from modewright.chain.electrode_study import ElectrodeStudy
    from modewright.chain.place_map import PlaceMap

__all__ = ["electrode_tables", "electrode_text", "places_data", "plates_data", "study_data"]

Data = dict[str, Any]


def plates_data(site: ElectrodeSite, made: PlateSet) -> Data:
    """Plates as drawn, as plain data."""
    rejection = rejections_db(made.signals, made.wanted)
    wanted = len(site.hear)
    return {
        "modes": [
            {"number": mode + 1, "label": site.labels[mode], "is_wanted": place < wanted}
            for place, mode in enumerate(site.modes)
        ],
        "plates": [
            {
                "area_m2": plate.area,
                "corners_m": [[x, y] for x, y in list(plate.exterior.coords)[:-1]],
            }
            for plate in made.plates
        ],
        "kept": made.kept,
        "condition": made.condition,
        "signals": [
            {
                "hears": [site.modes[place] + 1 for place in own],
                "weights": made.weights[row].tolist(),
                "rejection_db": [
                    None if np.isnan(value) else float(value) for value in rejection[row]
                ],
            }
            for row, own in enumerate(made.wanted)
        ],
    }


def study_data(study: ElectrodeStudy) -> Data:
    """Made pieces as plain data."""
    refitted = study.refitted_two_sigma_db
    return {
        "pieces": len(study.rejection_db),
        "seed": study.seed,
        "median_db": study.median_db.tolist(),
        "two_sigma_db": study.two_sigma_db.tolist(),
        "refitted_two_sigma_db": None if refitted is None else refitted.tolist(),
        "signal_spread_db": study.signal_spread_db.tolist(),
        "alone_db": dict(zip(DEVIATIONS, study.alone_db.min(axis=1).tolist(), strict=True)),
        "worst": study.worst,
        "missed": study.missed,
    }


def places_data(found: PlaceMap) -> Data:
    """Best single place as plain data."""
    return {
        "diameter_m": found.diameter_m,
        "best_m": found.points_m[found.best].tolist(),
        "worst": found.worst,
        "coupling": found.coupling[found.best].tolist(),
    }


def electrode_tables(found: Data) -> tuple[TextTable, ...]:
    """What the plates hear, and what made pieces keep of it."""
    modes = found["modes"]
    names = tuple(f"mode {mode['number']}" for mode in modes)
    study = found["study"]
    refitted = study["refitted_two_sigma_db"]
    return (
        TextTable(
            title=f"{found['name']}: rejection as drawn, dB ({found['arrangement']})",
            columns=("signal", *names),
            rows=tuple(
                (
                    "hears " + ", ".join(map(str, signal["hears"])),
                    *(_db(value) for value in signal["rejection_db"]),
                )
                for signal in found["signals"]
            ),
        ),
        TextTable(
            title=f"{study['pieces']} made pieces, seed {study['seed']}: rejection in dB of the "
            "mode that comes through most",
            columns=("signal", "median", "all but 4.55 %")
            + (() if refitted is None else ("weights fitted, all but 4.55 %",)),
            rows=tuple(
                (
                    "hears " + ", ".join(map(str, signal["hears"])),
                    f"{study['median_db'][row]:.1f}",
                    f"{study['two_sigma_db'][row]:.1f}",
                    *(() if refitted is None else (f"{refitted[row]:.1f}",)),
                )
                for row, signal in enumerate(found["signals"])
            ),
        ),
        TextTable(
            title="One deviation alone: rejection that all but 4.55 % of pieces keep",
            columns=("deviation", "dB"),
            rows=tuple((name, f"{value:.1f}") for name, value in study["alone_db"].items()),
        ),
    )


def _db(value: float | None) -> str:
    if value is None:
        return "heard"
    return "> 120" if value > 120 else f"{value:.1f}"


def electrode_text(found: Data) -> str:
    """The same in sentences."""
    place, study = found["place"], found["study"]
    condition = found["condition"]
    told = (
        "" if condition is None else f"The wanted modes are told apart with {condition:.3g} : 1. "
    )
    text = (
        f"Kept is {found['kept'] * 100:.0f} % of what the whole area hears. {told}"
        f"Most is let through by {study['worst']}."
    )
    if place is None:
        return text
    x_mm, y_mm = (1e3 * coordinate for coordinate in place["best_m"])
    return (
        f"{text} A round pickup or driver of {place['diameter_m'] * 1e3:.3g} mm stands best at "
        f"({x_mm:z.2f}, {y_mm:z.2f}) mm: the weakest wanted mode has {place['worst'] * 100:.0f} % "
        "of its best place there."
    )
