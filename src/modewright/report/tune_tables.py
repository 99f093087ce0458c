"""Tables of what inverse design found: the same rows for the terminal and the page."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from modewright.report.text_tables import TextTable

if TYPE_CHECKING:
    from collections.abc import Sequence

__all__ = ["tune_sentences", "tune_tables"]

Data = dict[str, Any]
_MANY_LIMITS = 12


def tune_tables(data: Data) -> list[TextTable]:
    """Tables of targets, free dimensions and modes.

    Parameters
    ----------
    data : dict
        From `modewright.report.tune_data.tuning_data`.

    Returns
    -------
    list of TextTable
    """
    columns, bodies = _columns(data)
    return [
        _targets(data, columns, bodies),
        _dimensions(data, columns, bodies),
        _modes(bodies[-1 if data["nearest"] else min(1, len(bodies) - 1)], columns, data),
    ]


def _columns(data: Data) -> tuple[tuple[str, ...], list[Data]]:
    names = ["as it was", *(f"solution {i + 1}" for i in range(len(data["solutions"])))]
    bodies = [data["before"], *data["solutions"]]
    if data["nearest"] is not None:
        names.append("nearest")
        bodies.append(data["nearest"])
    return tuple(names), bodies


def _targets(data: Data, columns: tuple[str, ...], bodies: Sequence[Data]) -> TextTable:
    shown = [i for i, t in enumerate(bodies[-1]["targets"]) if not t["is_limit"]]
    rows = [
        (bodies[-1]["targets"][i]["what"], *(_cents(body["targets"][i]) for body in bodies))
        for i in shown
    ]
    rows += _limit_rows(bodies)
    title = (
        f"{data['name']}: cents off each target, or cents left to each limit; frequencies "
        f"{data['frequencies']}"
    )
    return TextTable(title=title, columns=("target", *columns), rows=tuple(rows))


def _limit_rows(bodies: Sequence[Data]) -> list[tuple[str, ...]]:
    """Limits by their text, the tightest first: not every design has the same modes in the way."""
    tightest: dict[str, float] = {}
    for limit in bodies[-1]["targets"]:
        if limit["is_limit"]:
            tightest[limit["what"]] = limit["cents"]
    kept = sorted(tightest, key=lambda what: tightest[what])[:_MANY_LIMITS]
    rows: list[tuple[str, ...]] = []
    for what in kept:
        cells = [[t for t in body["targets"] if t["what"] == what] for body in bodies]
        rows.append((what, *(_cents(found[0]) if found else "" for found in cells)))
    return rows


def _cents(target: Data) -> str:
    return f"{target['cents']:+z.2f}{'' if target['is_met'] else ' ✗'}"


def _dimensions(data: Data, columns: tuple[str, ...], bodies: Sequence[Data]) -> TextTable:
    rows = [
        (
            " = ".join([free["address"], *free["alike"]]),
            f"{free['lowest']} to {free['highest']}",
            *(body["values"][free["address"]] for body in bodies),
        )
        for free in data["free"]
    ]
    return TextTable(
        title="Free dimensions", columns=("value", "range", *columns), rows=tuple(rows)
    )


def _modes(body: Data, columns: tuple[str, ...], data: Data) -> TextTable:
    which = columns[-1] if data["nearest"] else columns[min(1, len(columns) - 1)]
    rows = [
        (
            str(mode["number"]),
            f"{mode['freq_hz']:.2f}",
            f"{mode['cents_error_estimate']:.1f}",
            f"{mode['note']} {mode['note_cents']:+.1f}",
            f"{mode['ratio']:.4f}",
            f"{mode['shift_cents']:+z.2f}",
            f"{mode['t60_s']:.3g}",
            mode["label"],
        )
        for mode in body["modes"]
    ]
    heads = ("mode", "Hz", "± cents", "note", "ratio", "shift cents", "T60 s", "kind")
    return TextTable(title=f"Modes of {which}", columns=heads, rows=tuple(rows))


def tune_sentences(data: Data) -> list[str]:
    """What came of the search, in words.

    Parameters
    ----------
    data : dict
        From `modewright.report.tune_data.tuning_data`.

    Returns
    -------
    list of str
    """
    sentences = [] if data["is_complete"] else [_INTERRUPTED]
    if data["solutions"]:
        return [*sentences, *_success(data)]
    if data["nearest"] is None:
        return [*sentences, "No start made a sound body; change the ranges."]
    return [*sentences, *_failure(data)]


_INTERRUPTED = "Interrupted: what was solved is kept, and the same command goes on from there."


def _success(data: Data) -> list[str]:
    solutions = data["solutions"]
    best = solutions[0]
    many = f"{len(solutions)} distinct solutions" if len(solutions) > 1 else "One solution"
    why = ", the first of which changes the design least" if len(solutions) > 1 else ""
    room = best["room_cents"]
    spare = "" if room is None else f" and keeps {room:.0f} cents clear of the nearest limit"
    sentences = [
        f"{many} from {_starts(data)}{why}.",
        f"Solution 1 moves the free dimensions by {100 * best['change']:.0f} % of their ranges "
        f"(root mean square){spare}.",
    ]
    return [*sentences, *(f"Note: {sentence}." for sentence in best["renamed"])]


def _starts(data: Data) -> str:
    count: int = data["starts_tried"]
    return "1 start" if count == 1 else f"{count} starts"


def _failure(data: Data) -> list[str]:
    missed = [t for t in data["nearest"]["targets"] if not t["is_met"]]
    sentences = [
        f"The targets cannot be met together: {_starts(data)}, and the nearest "
        "design found misses "
        + "; ".join(f"{t['what']} by {abs(t['cents']):.1f} cents" for t in missed)
        + "."
    ]
    sentences += _in_the_way(data["verdict"])
    named = [m for m in data["nearest"]["modes"] if m["named"] is not None]
    chain = " : ".join(f"{m['ratio']:.4g}" for m in named)
    if len(named) > 1:
        sentences.append(f"Nearest ratios: {chain} ({', '.join(m['label'] for m in named)}).")
    return sentences


def _in_the_way(verdict: Data) -> list[str]:
    """What binds, what does not although it looks like it, and what would help."""
    obstacles, ends = verdict["obstacles"], verdict["ends"]
    sentences = [
        f"In the way: {o['what']}. {o['if_moved'].capitalize()}, {_then(o)}" for o in obstacles
    ]
    if not obstacles and ends:
        sentences = [
            f"At an end of its range: {e['what']}. It would help little to move that end: "
            f"{e['if_moved']}, {_then(e)}"
            for e in ends
        ]
    if not obstacles:
        blameless = (
            "These ends are not what stands in the way"
            if ends
            else "No range and no limit stands in the way"
        )
        sentences.append(
            f"{blameless}: the free dimensions alone do not move the targets apart far enough. "
            "Free another one, or ask for less."
        )
    return sentences + [
        f"It would help to free {f['address']} as well: {f['change']} from {f['now']}, and "
        f"{_then(f)}"
        for f in verdict["further"]
    ]


def _then(found: Data) -> str:
    """What slopes promise of the largest miss."""
    if found["is_met_then"]:
        return "all targets would be met, as far as slopes tell."
    return f"the largest miss would be about {found['then_cents']:.3g} cents."
