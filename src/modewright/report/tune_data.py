"""What inverse design found, as plain data."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from modewright.design.hash import content_hash
from modewright.pitch import nearest_note
from modewright.report.tables import finite, origin
from modewright.tune.targets import mode_text

if TYPE_CHECKING:
    from modewright.chain.tune import TunedSolution, Tuning
    from modewright.chain.tune_terrain import TunedBody
    from modewright.chain.tune_verdict import Obstacle, Verdict
    from modewright.tune.demands import Demand

__all__ = ["tuning_data"]

Data = dict[str, Any]


def tuning_data(found: Tuning, design_hash: str) -> Data:
    """Everything about a search that a reader or a later program may want.

    Parameters
    ----------
    found : Tuning
    design_hash : str
        Content hash of the design as it was.

    Returns
    -------
    dict
        ``before``, ``solutions`` (best first), ``nearest`` and ``verdict`` (None unless there is no
        solution), with the settings that lead to the same result again.
    """
    task, settings = found.task, found.task.settings
    return {
        **origin(design_hash, settings.accuracy),
        "name": task.design.design.name,
        "a4_hz": task.design.design.a4_hz,
        "frequencies": "in air with bias and magnets" if task.is_biased else "in vacuum",
        "settings": {
            "modes": settings.modes,
            "solutions": settings.solutions,
            "starts": settings.starts,
            "seed": settings.seed,
        },
        "free": [
            {
                "address": dimension.name,
                "alike": list(dimension.addresses[1:]),
                "lowest": dimension.text(dimension.lowest),
                "highest": dimension.text(dimension.highest),
            }
            for dimension in task.dimensions
        ],
        "starts_tried": found.attempts,
        "is_complete": found.is_complete,
        "before": _body_data(found, found.before),
        "solutions": [_solution_data(found, solution) for solution in found.solutions],
        "nearest": None if found.nearest is None else _body_data(found, found.nearest),
        "verdict": None if found.verdict is None else _verdict_data(found.verdict),
    }


def _solution_data(found: Tuning, solution: TunedSolution) -> Data:
    return {
        **_body_data(found, solution.body),
        "start": solution.start,
        "change": solution.change,
        "room_cents": finite(solution.room_cents),
        "renamed": _renamed(solution.body),
    }


def _body_data(found: Tuning, body: TunedBody) -> Data:
    task, sample = found.task, body.sample
    values = [
        dimension.text(dimension.at(float(share)))
        for dimension, share in zip(task.dimensions, body.position, strict=True)
    ]
    named = {place: name for name, place in body.places.items()}
    first_hz = sample.freq_hz[min(named, default=0)]
    return {
        "design_hash": content_hash(body.design, task.folder),
        "values": dict(zip([d.name for d in task.dimensions], values, strict=True)),
        "targets": [_demand_data(demand, body) for demand in body.wanted],
        "modes": [
            {
                "number": i + 1,
                "label": label,
                "named": named.get(i),
                "freq_hz": float(sample.freq_hz[i]),
                "ratio": float(sample.freq_hz[i] / first_hz),
                "note": nearest_note(float(sample.freq_hz[i]), task.design.design.a4_hz).name,
                "note_cents": nearest_note(
                    float(sample.freq_hz[i]), task.design.design.a4_hz
                ).cents,
                "t60_s": float(sample.t60_s[i]),
                "shift_cents": float(sample.shift_cents[i]),
                "cents_error_estimate": float(sample.error_cents[i]),
            }
            for i, label in enumerate(sample.labels)
        ],
    }


def _demand_data(demand: Demand, body: TunedBody) -> Data:
    return {
        "what": demand.what,
        "is_limit": demand.is_limit,
        "cents": demand.sum_cents(body.sample.quantities),
        "within_cents": None if demand.is_limit else demand.within_cents,
        "is_met": demand.is_met(body.sample.quantities),
    }


def _renamed(body: TunedBody) -> list[str]:
    """Modes that the targets name and that go by another name in the tuned design."""
    sentences: list[str] = []
    for name, place in body.places.items():
        label = body.sample.labels[place]
        is_same = place + 1 == name if isinstance(name, int) else label == name
        if not is_same:
            sentences.append(
                f"{mode_text(name)} of this design is mode {place + 1}, {label}, of the tuned one"
            )
    return sentences


def _verdict_data(verdict: Verdict) -> Data:
    return {
        "missed": [demand.what for demand in verdict.missed],
        "obstacles": [_obstacle_data(obstacle) for obstacle in verdict.obstacles],
        "ends": [_obstacle_data(end) for end in verdict.ends],
        "further": [
            {
                "address": further.address,
                "now": further.now,
                "change": further.change,
                "then_cents": further.then_cents,
                "is_met_then": further.is_met_then,
            }
            for further in verdict.further
        ],
    }


def _obstacle_data(obstacle: Obstacle) -> Data:
    return {
        "what": obstacle.what,
        "if_moved": obstacle.if_moved,
        "now_cents": obstacle.now_cents,
        "then_cents": obstacle.then_cents,
        "is_met_then": obstacle.is_met_then,
    }
