"""One design as it stands against what is wanted of it: found, asked, margin, verdict."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from modewright.pitch import ratio_of_cents
from modewright.report.tables import finite
from modewright.report.text_tables import TextTable

if TYPE_CHECKING:
    from modewright.chain.tune_task import TuneTask
    from modewright.chain.tune_terrain import TunedBody
    from modewright.tune.demands import Demand
    from modewright.tune.quantities import Quantities

__all__ = [
    "amount",
    "relative_room",
    "standing_data",
    "standing_sentences",
    "standing_table",
    "target_data",
    "verdict",
]

Data = dict[str, Any]
_MANY_LIMITS = 10


def standing_data(task: TuneTask, body: TunedBody) -> Data:
    """Hold a solved design against its targets.

    Parameters
    ----------
    task : TuneTask
    body : TunedBody
        The design as it stands.

    Returns
    -------
    dict
        ``targets`` in the order of the file, each with ``what``, ``is_limit``, ``bound``, ``unit``,
        ``found``, ``asked``, ``margin`` (in that unit, below 0 if it is not met) and ``is_met``.
        Pitches and intervals count cents from where they should be, distances cents, decays
        seconds, sizes metres.
    """
    return {
        "frequencies": "in air with bias and magnets" if task.is_biased else "in vacuum",
        "accuracy": task.settings.accuracy,
        "cents_error_estimate": float(
            max((body.sample.error_cents[i] for i in body.places.values()), default=0.0)
        ),
        "targets": [target_data(demand, body.sample.quantities) for demand in body.wanted],
    }


def target_data(demand: Demand, quantities: Quantities) -> Data:
    """One entry of ``targets`` in `standing_data`."""
    unit, found, asked, margin = _figures(demand, quantities)
    return {
        "what": demand.what,
        "is_limit": demand.is_limit,
        "bound": _bound(demand),
        "unit": unit,
        "found": finite(found),
        "asked": asked,
        "margin": finite(margin),
        "is_met": demand.is_met(quantities),
    }


def _bound(demand: Demand) -> str:
    if not demand.is_limit:
        return "within"
    is_most = len(demand.terms) == 1 and demand.terms[0][1] < 0
    return "at most" if is_most else "at least"


def _figures(demand: Demand, quantities: Quantities) -> tuple[str, float, float, float]:
    """Unit, what there is, what is asked for, how far inside that is."""
    total = demand.sum_cents(quantities)
    if not demand.is_limit:
        return "cents", total, demand.within_cents, demand.within_cents - abs(total)
    if demand.distance_cents:
        return "cents", total + demand.distance_cents, demand.distance_cents, total
    ((place, weight),) = demand.terms
    found = ratio_of_cents(float(quantities.stacked[place]))
    asked = ratio_of_cents(-demand.offset_cents / weight)
    unit = "s" if place < 2 * quantities.mode_count else "m"
    return unit, found, asked, weight * (found - asked)


def verdict(*, is_met: bool) -> str:
    """Word for met or missed: read, not only seen."""
    return "pass" if is_met else "FAIL"


def standing_table(data: Data) -> TextTable:
    """Targets with what there is, what is asked for, margin and verdict.

    Parameters
    ----------
    data : dict
        From `standing_data`.

    Returns
    -------
    TextTable
        Of the limits only those with the least room.
    """
    goals = [target for target in data["targets"] if not target["is_limit"]]
    limits = sorted((target for target in data["targets"] if target["is_limit"]), key=relative_room)
    return TextTable(
        title="Targets of [tune] as the design stands",
        columns=("target", "found", "asked", "margin", "verdict"),
        rows=tuple(_row(target) for target in (*goals, *limits[:_MANY_LIMITS])),
    )


def standing_sentences(data: Data) -> list[str]:
    """What the table says, in words, and what it leaves out."""
    missed = [target["what"] for target in data["targets"] if not target["is_met"]]
    count = len(data["targets"])
    verdict_text = (
        f"Missed: {'; '.join(missed[:_MANY_LIMITS])}."
        if missed
        else f"All {count} targets and limits are met."
    )
    sentences = [
        f"{verdict_text} Frequencies are meant {data['frequencies']}, accuracy {data['accuracy']}; "
        f"the computation itself may be {data['cents_error_estimate']:.1f} cents off."
    ]
    left_out = sum(target["is_limit"] for target in data["targets"]) - _MANY_LIMITS
    if left_out > 0:
        sentences.append(f"{left_out} limits with more room are left out of the table.")
    return sentences


def relative_room(target: Data) -> float:
    """Margin over what is asked for; limits that nothing comes near have the most."""
    return float("inf") if target["margin"] is None else target["margin"] / target["asked"]


def _row(target: Data) -> tuple[str, ...]:
    words = verdict(is_met=target["is_met"])
    if not target["is_limit"]:
        return (
            target["what"],
            f"{target['found']:+z.2f} cents",
            _asked(target),
            f"{target['margin']:+z.2f} cents",
            words,
        )
    return (
        target["what"],
        amount(target["found"], target["unit"]),
        _asked(target),
        amount(target["margin"], target["unit"], signed=True),
        words,
    )


def _asked(target: Data) -> str:
    # What the file says, without figures behind the point that it did not give.
    value, unit = target["asked"], target["unit"]
    shown = f"{value:g} cents" if unit == "cents" else amount(value, unit)
    return f"{target['bound']} {shown}"


def amount(value: float | None, unit: str, *, signed: bool = False) -> str:
    """Found, asked or margin to read; a value without an end is `none`."""
    if value is None:
        return "none"
    sign = "+" if signed else ""
    if unit == "cents":
        return f"{value:{sign}.1f} cents"
    if unit == "s":
        return f"{value:{sign}.3g} s"
    return f"{value * 1e3:{sign}.3g} mm"
