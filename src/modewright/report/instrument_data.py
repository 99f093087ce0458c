"""A tuned instrument as plain data."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from modewright.design.hash import content_hash
from modewright.pitch import cents_between, ratio_of_cents
from modewright.report.tables import origin

if TYPE_CHECKING:
    from pathlib import Path

    from modewright.chain.compass import TunedCompass, TunedNote
    from modewright.chain.compass_coupling import Together
    from modewright.chain.compass_sheet import LaidOut
    from modewright.chain.instrument import Instrument
    from modewright.design.instrument_plan import InstrumentPlan

__all__ = ["instrument_data"]

Data = dict[str, Any]


def instrument_data(plan: InstrumentPlan, made: Instrument, folder: Path, family_hash: str) -> Data:
    """Everything about an instrument that a reader or a later program may want.

    Parameters
    ----------
    plan : InstrumentPlan
    made : Instrument
        Of that plan.
    folder : Path
        Folder of the family's design file.
    family_hash : str
        Content hash of the family.

    Returns
    -------
    dict
        ``freq_hz`` and ``miss_cents`` of a note are those on the base that gives way, if there is
        one; those of its ``modes`` are on a base that stands still.
    """
    laid, base_cents = made.laid, made.together.base_cents
    return {
        **origin(family_hash, plan.tune.accuracy),
        "plan_hash": content_hash(plan, folder),
        "name": plan.instrument.name,
        "a4_hz": plan.instrument.a4_hz,
        "even_modes": list(plan.compass.even_modes),
        "notes": [
            _note_data(made.compass, note, float(cents))
            for note, cents in zip(made.compass.notes, base_cents, strict=True)
        ],
        "sheet": _sheet_data(plan, laid),
        "row": {
            "places_m": [float(place) for place in laid.row_m],
            "length_m": laid.row_length_m,
            "base_length_m": None if plan.base is None else plan.base.length_m,
        },
        **_together_data(made.together),
    }


def _together_data(together: Together) -> Data:
    mechanical, found = together.mechanical, together.budget
    return {
        "crosstalk": {
            "plates_db": together.plates_db.tolist(),
            "coils_db": together.coils_db.tolist(),
            "base_db": None if mechanical is None else mechanical.level_db.tolist(),
            "asymmetry": None if mechanical is None else mechanical.asymmetry,
        },
        "pulls": [
            {
                "first": _spot(together, pull.first),
                "second": _spot(together, pull.second),
                "apart_cents": pull.apart_cents,
                "pull_cents": list(pull.pull_cents),
            }
            for pull in together.pulls
        ],
        "budget": {
            "inputs": found.inputs,
            "outputs": found.outputs,
            "voices": found.voices,
            "rest_a": found.rest_a,
            "holding_a": found.holding_a,
            "most_a": found.most_a,
            "coil_heat_w": found.coil_heat_w,
            "supply_w": found.supply_w,
            "bodies_kg": found.bodies_kg,
            "total_kg": found.total_kg,
            "shortages": list(found.shortages),
        },
    }


def _spot(together: Together, spot: tuple[int, int]) -> Data:
    motion = together.motions[spot[0]]
    return {
        "note": motion.name,
        "mode": spot[1] + 1,
        "label": motion.labels[spot[1]],
        "freq_hz": float(motion.freq_hz[spot[1]]),
    }


def _sheet_data(plan: InstrumentPlan, laid: LaidOut) -> Data:
    return {
        "sheets": 1 + max(place.sheet for place in laid.placements),
        "length_m": plan.sheet.length_m,
        "width_m": plan.sheet.width_m,
        "used": laid.used,
        "blanks": [
            {
                "name": name,
                "sheet": place.sheet + 1,
                "turned_deg": math.degrees(place.angle_rad),
                "offset_m": list(place.offset_m),
            }
            for name, place in zip(laid.names, laid.placements, strict=True)
        ],
    }


def _note_data(compass: TunedCompass, note: TunedNote, base_cents: float) -> Data:
    sample = note.body.sample
    freq_hz = float(sample.freq_hz[note.place]) * ratio_of_cents(base_cents)
    return {
        "degree": note.note.degree,
        "name": note.note.name,
        "wanted_hz": note.note.freq_hz,
        "cents_above_first": note.note.cents,
        "freq_hz": freq_hz,
        "miss_cents": cents_between(freq_hz, note.note.freq_hz),
        "base_cents": base_cents,
        "cents_error_estimate": float(sample.error_cents[note.place]),
        "even_cents": list(note.even_cents),
        "is_met": note.is_met,
        "missed": list(note.missed),
        "values": {
            dimension.name: dimension.text(dimension.at(float(share)))
            for dimension, share in zip(compass.dimensions, note.body.position, strict=True)
        },
        "modes": [
            {"number": i + 1, "label": label, "freq_hz": float(sample.freq_hz[i])}
            for i, label in enumerate(sample.labels)
        ],
    }
