"""Tables and sentences about a tuned instrument, for the terminal and the page."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from modewright.report.standing_data import amount, relative_room, verdict
from modewright.report.text_tables import TextTable
from modewright.tune.targets import mode_text

if TYPE_CHECKING:
    from collections.abc import Iterator

__all__ = [
    "budget_table",
    "dimensions_table",
    "instrument_sentences",
    "instrument_tables",
    "neighbours_table",
    "note_targets_table",
    "notes_table",
    "pulls_table",
]

Data = dict[str, Any]
_NOTHING_DB = -300.0
_WAYS = (
    ("through the base", "base_db"),
    ("plate to plate", "plates_db"),
    ("coil to wires", "coils_db"),
)
_MOST_PULLS = 8
_LEAST_PULL_CENTS = 0.5
_ROUNDING = 1e-16


def instrument_tables(data: Data) -> list[TextTable]:
    """Tables of the notes and of what differs between them.

    Parameters
    ----------
    data : dict
        From `modewright.report.instrument_data.instrument_data`.

    Returns
    -------
    list of TextTable
    """
    tables = [notes_table(data), dimensions_table(data), neighbours_table(data)]
    if data["pulls"]:
        tables.append(pulls_table(data))
    return [*tables, budget_table(data)]


def instrument_sentences(data: Data) -> list[str]:
    """What a maker should know that no table says."""
    return list(_sentences(data))


def note_targets_table(data: Data) -> TextTable:
    """What is asked of every note, with what is missing or left, and a verdict."""
    has_limits = any(note["limits"] for note in data["notes"])
    heads = [head for name in data["goals"] for head in (f"{name}: off", "margin")]
    limits = ("nearest limit", "margin") if has_limits else ()
    rows: list[tuple[str, ...]] = []
    for note in data["notes"]:
        cells = [cell for goal in note["goals"] for cell in _goal_cells(goal)]
        nearest = _limit_cells(note["limits"]) if has_limits else ()
        rows.append((note["name"], *cells, *nearest, verdict(is_met=note["is_met"])))
    return TextTable(
        title="Targets, in cents", columns=("note", *heads, *limits, "verdict"), rows=tuple(rows)
    )


def _goal_cells(goal: Data) -> tuple[str, str]:
    if goal["margin"] is None:
        return "−", "−"
    return f"{goal['off_cents']:+z.2f}", f"{goal['margin']:+z.2f}"


def _limit_cells(limits: list[Data]) -> tuple[str, str]:
    if not limits:
        return "−", "−"
    nearest = min(limits, key=relative_room)
    return nearest["what"], amount(nearest["margin"], nearest["unit"], signed=True)


def notes_table(data: Data) -> TextTable:
    """Pitch of every note, wanted and found."""
    even = [f"{mode_text(mode)} cents" for mode in data["even_modes"]]
    return TextTable(
        title=f"{data['name']}: {len(data['notes'])} notes, A4 = {data['a4_hz']:g} Hz",
        columns=("note", "degree", "cents", "wanted Hz", "Hz", "off cents", "± cents", *even, ""),
        rows=tuple(
            (
                note["name"],
                str(note["degree"]),
                f"{note['cents_above_first']:.2f}",
                f"{note['wanted_hz']:.3f}",
                f"{note['freq_hz']:.3f}",
                f"{note['miss_cents']:+z.2f}",
                f"{note['cents_error_estimate']:.1f}",
                *(f"{cents:.1f}" for cents in note["even_cents"]),
                "" if note["is_met"] else "✗",
            )
            for note in data["notes"]
        ),
    )


def dimensions_table(data: Data) -> TextTable:
    """Values that differ from note to note."""
    names = list(data["notes"][0]["values"])
    return TextTable(
        title="What differs from note to note",
        columns=("note", *names),
        rows=tuple(
            (note["name"], *(note["values"][name] for name in names)) for note in data["notes"]
        ),
    )


def neighbours_table(data: Data) -> TextTable:
    """Where each note is heard loudest besides its own pickup."""
    names = [note["name"] for note in data["notes"]]
    shown = {head: data["crosstalk"][key] for head, key in _WAYS if data["crosstalk"][key]}
    rows: list[tuple[str, ...]] = []
    for column, name in enumerate(names):
        cells: list[str] = []
        for levels in shown.values():
            others = [(levels[i][column], names[i]) for i in range(len(names)) if i != column]
            level, where = max(others, default=(_NOTHING_DB, ""))
            cells += [_decibels(level), where if level > _NOTHING_DB else ""]
        rows.append((name, f"{data['notes'][column]['base_cents']:+z.2f}", *cells))
    heads = [head for way in shown for head in (f"{way} dB", "in")]
    return TextTable(
        title="Loudest in another pickup, against its own; how far the base moves its pitch",
        columns=("driven", "base cents", *heads),
        rows=tuple(rows),
    )


def _decibels(level: float) -> str:
    return f"{level:.0f}" if level > _NOTHING_DB else "−"


def pulls_table(data: Data) -> TextTable:
    """Partials of different notes that lie close together."""
    return TextTable(
        title=f"Partials of different notes within 120 cents, strongest pull first "
        f"({min(len(data['pulls']), _MOST_PULLS)} of {len(data['pulls'])})",
        columns=("lower", "Hz", "upper", "apart cents", "lower moves", "upper moves"),
        rows=tuple(
            (
                _partial(pull["first"]),
                f"{pull['first']['freq_hz']:.1f}",
                _partial(pull["second"]),
                f"{pull['apart_cents']:.1f}",
                *(f"{cents:+z.3f}" for cents in pull["pull_cents"]),
            )
            for pull in data["pulls"][:_MOST_PULLS]
        ),
    )


def _partial(spot: Data) -> str:
    return f"{spot['note']}: {spot['mode']}, {spot['label']}"


def _pull_cents(pull: Data) -> float:
    first, second = pull["pull_cents"]
    return max(abs(first), abs(second))


def budget_table(data: Data) -> TextTable:
    """Channels, current, heat, mass."""
    found = data["budget"]
    rows = [
        ("input and output channels", f"{found['inputs']} and {found['outputs']}"),
        ("each rail at rest", f"{found['rest_a'] * 1e3:.0f} mA"),
        (f"each rail with {found['voices']} notes held", f"{found['holding_a'] * 1e3:.0f} mA"),
        ("each rail with their amplifiers at the limit", f"{found['most_a'] * 1e3:.0f} mA"),
        ("heat in the coils while held", f"{found['coil_heat_w'] * 1e3:.2g} mW"),
        ("taken from the supply while held", f"{found['supply_w']:.2g} W"),
        ("all bodies", f"{found['bodies_kg'] * 1e3:.1f} g"),
    ]
    if found["total_kg"] is not None:
        rows.append(("bodies and base", f"{found['total_kg']:.2f} kg"))
    return TextTable(title="Budget", columns=("what", "needed"), rows=tuple(rows))


def _at_the_start(text: str) -> str:
    return text[:1].upper() + text[1:]


def _sentences(data: Data) -> Iterator[str]:
    notes = data["notes"]
    worst = max(notes, key=lambda note: abs(note["miss_cents"]))
    yield (
        f"The note farthest from its pitch is {worst['name']}, {worst['miss_cents']:+.2f} cents "
        "in the model."
    )
    for place, mode in enumerate(data["even_modes"]):
        cents = [note["even_cents"][place] for note in notes]
        yield (
            f"{_at_the_start(mode_text(mode))} lies {min(cents):.1f} to {max(cents):.1f} cents "
            "above the tuned mode over the compass."
        )
    sheet, row = data["sheet"], data["row"]
    yield (
        f"{len(sheet['blanks'])} blanks on {sheet['sheets']} sheet"
        f"{'s' if sheet['sheets'] > 1 else ''} of {sheet['length_m'] * 1e3:g} by "
        f"{sheet['width_m'] * 1e3:g} mm, of which {100 * sheet['used']:.0f} % become blanks; the "
        f"row takes {row['length_m'] * 1e3:.0f} mm of base."
    )
    if row["base_length_m"] is not None and row["length_m"] > row["base_length_m"]:
        yield (
            f"The base is too short: {row['base_length_m'] * 1e3:.0f} mm for a row of "
            f"{row['length_m'] * 1e3:.0f} mm. Lengthen it or lessen the spacing."
        )
    yield from _between_notes(data)
    yield from data["budget"]["shortages"]
    for note in notes:
        if not note["is_met"]:
            yield f"{note['name']} is not met: {'; '.join(note['missed'])}."


def _between_notes(data: Data) -> Iterator[str]:
    """What notes do to each other through the base."""
    asymmetry = data["crosstalk"]["asymmetry"]
    if asymmetry is not None:
        yield (
            "Driven at one note and heard at another, and the other way round, the base answers "
            f"alike to {max(asymmetry, _ROUNDING):.0e} of its largest answer, as reciprocity asks."
        )
    strong = [pull for pull in data["pulls"] if _pull_cents(pull) >= _LEAST_PULL_CENTS]
    for pull in strong[:_MOST_PULLS]:
        yield (
            f"{_partial(pull['first'])} and {_partial(pull['second'])} pull each other by "
            f"{pull['pull_cents'][0]:+z.1f} and {pull['pull_cents'][1]:+z.1f} cents."
        )
    if data["pulls"] and not strong:
        yield (
            "No two partials of different notes pull each other by "
            f"{_LEAST_PULL_CENTS:g} cents or more."
        )
    mixed = data["one_with_base"]
    for spot in mixed[:_MOST_PULLS]:
        yield (
            f"{_partial(spot)} and the base are one: {100 * spot['share']:.0f} % of it sound at "
            f"{spot['coupled_hz']:.1f} Hz. It is left out of the pairs."
        )
    if len(mixed) > _MOST_PULLS:
        yield f"So are {len(mixed) - _MOST_PULLS} more modes and the base."
