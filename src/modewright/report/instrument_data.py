"""A tuned instrument as plain data."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from modewright.design.hash import content_hash
from modewright.pitch import cents_between, ratio_of_cents
from modewright.report.standing_data import target_data
from modewright.report.tables import origin
from modewright.tune.targets import Interval, Partials, Pitch, mode_text

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from modewright.chain.compass_coupling import Together
    from modewright.chain.compass_sheet import LaidOut
    from modewright.chain.instrument import Instrument
    from modewright.design.instrument_plan import InstrumentPlan

__all__ = ["instrument_data"]

Data = dict[str, Any]
_SCALE_PITCH = "pitch"
# The first note sets the pattern of overtones: it asks nothing of its own.
_ANY_CENTS = 1e5


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
        ``freq_hz`` and ``miss_cents`` of a note are those on the base that gives way, unless there
        is none or the plan means pitches on one that stands still (``is_on_base``); those of its
        ``modes`` are on a base that stands still.
    """
    laid = made.laid
    return {
        **origin(family_hash, plan.tune.accuracy),
        "plan_hash": content_hash(plan, folder),
        "name": plan.instrument.name,
        "a4_hz": plan.instrument.a4_hz,
        "is_on_base": made.tuned_for_cents is not None,
        "even_modes": list(plan.compass.even_modes),
        "goals": _goals(plan),
        "notes": [
            _note_data(made, number, _goals(plan)) for number in range(len(made.compass.notes))
        ],
        "sheet": _sheet_data(plan, laid),
        "row": {
            "places_m": [float(place) for place in laid.row_m],
            "length_m": laid.row_length_m,
            "base_length_m": None if plan.base is None else plan.base.length_m,
        },
        **_together_data(made.together),
    }


def _goals(plan: InstrumentPlan) -> list[str]:
    """What every note has a number of cents for, in the order of its demands."""
    names: list[str] = []
    for target in plan.tune.targets:
        match target:
            case Pitch() if not target.note and target.freq_hz is None:
                names.append(_SCALE_PITCH)
            case Pitch():
                names.append(f"pitch of {mode_text(target.mode)}")
            case Interval():
                names.append(f"{mode_text(target.mode)} above {mode_text(target.above)}")
            case Partials():
                names += [
                    f"{mode_text(m)} over {mode_text(target.modes[0])}" for m in target.modes[1:]
                ]
            case _:
                pass
    return [*names, *(f"{mode_text(mode)} even" for mode in plan.compass.even_modes)]


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
            for pull in together.pulls.pairs
        ],
        "one_with_base": [
            {**_spot(together, found.spot), "coupled_hz": found.freq_hz, "share": found.share}
            for found in together.pulls.not_own
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


def _note_data(made: Instrument, number: int, goals: list[str]) -> Data:
    note, base_cents = made.compass.notes[number], float(made.together.base_cents[number])
    sample = note.body.sample
    meant_cents = 0.0 if made.tuned_for_cents is None else base_cents
    freq_hz = float(sample.freq_hz[note.place]) * ratio_of_cents(meant_cents)
    miss_cents = cents_between(freq_hz, note.note.freq_hz)
    targets = [target_data(demand, sample.quantities) for demand in note.body.wanted]
    asked = _asked([t for t in targets if not t["is_limit"]], goals, miss_cents)
    limits = [target for target in targets if target["is_limit"]]
    faults = list(_base_faults(made, number, asked))
    return {
        "degree": note.note.degree,
        "name": note.note.name,
        "wanted_hz": note.note.freq_hz,
        "cents_above_first": note.note.cents,
        "freq_hz": freq_hz,
        "miss_cents": miss_cents,
        "base_cents": base_cents,
        "cents_error_estimate": float(sample.error_cents[note.place]),
        "even_cents": list(note.even_cents),
        "is_met": note.is_met and not faults,
        "missed": [*note.missed, *(f"in the way is {end}" for end in note.in_the_way), *faults],
        "goals": asked,
        "limits": limits,
        "values": {
            dimension.name: dimension.text(dimension.at(float(share)))
            for dimension, share in zip(made.compass.dimensions, note.body.position, strict=True)
        },
        "modes": [
            {"number": i + 1, "label": label, "freq_hz": float(sample.freq_hz[i])}
            for i, label in enumerate(sample.labels)
        ],
    }


def _base_faults(made: Instrument, number: int, goals: list[Data]) -> Iterator[str]:
    """What the base does to a note that tuning has not made up for."""
    together = made.together
    if made.tuned_for_cents is None or together.mechanical is None:
        return
    if made.compass.notes[number].in_the_way:
        # Notes that a range holds back end alike, and alike they split: the base is not to blame.
        return
    if not together.mechanical.has_one_pitch[number]:
        yield (
            f"it is split: {100 * together.mechanical.own_share[number]:.0f} % of it sound as one "
            "mode, the rest with the base or a neighbour "
            f"{together.mechanical.spread_cents[number]:.0f} cents away; a heavier base, or feet "
            "tuned away from it, would leave it alone"
        )
    elif not made.has_settled[number]:
        yield (
            f"the base moves it by {together.base_cents[number]:+.1f} cents where it was tuned for "
            f"{made.tuned_for_cents[number]:+.1f}; a heavier base moves it less"
        )
    elif made.compass.notes[number].is_met:
        # It was judged by what the base was taken to do, up to a fifth of a cent off.
        yield from (
            f"{goal['name']}: {goal['off_cents']:+.2f} cents off on the base, asked within "
            f"{goal['within_cents']:g}"
            for goal in goals
            if goal["name"] == _SCALE_PITCH and goal["margin"] < 0
        )


def _asked(targets: list[Data], goals: list[str], miss_cents: float) -> list[Data]:
    """Cents off each goal and the room that is left; that of the scale on the base as it is."""
    found: list[Data] = []
    for name, target in zip(goals, targets, strict=True):
        if target["asked"] > _ANY_CENTS:
            found.append({"name": name, "off_cents": None, "within_cents": None, "margin": None})
            continue
        off_cents = miss_cents if name == _SCALE_PITCH else target["found"]
        within_cents = target["asked"]
        found.append(
            {
                "name": name,
                "off_cents": off_cents,
                "within_cents": within_cents,
                "margin": within_cents - abs(off_cents),
            }
        )
    return found
