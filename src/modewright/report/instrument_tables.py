"""Tables and sentences about a tuned instrument, for the terminal and the page."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from modewright.report.text_tables import TextTable
from modewright.tune.targets import mode_text

if TYPE_CHECKING:
    from collections.abc import Iterator

__all__ = ["instrument_sentences", "instrument_tables"]

Data = dict[str, Any]


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
    return [_notes(data), _dimensions(data)]


def instrument_sentences(data: Data) -> list[str]:
    """What a maker should know that no table says."""
    return list(_sentences(data))


def _notes(data: Data) -> TextTable:
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


def _dimensions(data: Data) -> TextTable:
    names = list(data["notes"][0]["values"])
    return TextTable(
        title="What differs from note to note",
        columns=("note", *names),
        rows=tuple(
            (note["name"], *(note["values"][name] for name in names)) for note in data["notes"]
        ),
    )


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
            f"{mode_text(mode)} lies {min(cents):.1f} to {max(cents):.1f} cents above the tuned "
            "mode over the compass."
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
    for note in notes:
        if not note["is_met"]:
            yield f"{note['name']} is not met: {'; '.join(note['missed'])}."
