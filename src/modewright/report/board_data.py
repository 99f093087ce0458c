"""Boards of a design as plain data, and as tables to read."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from modewright.fabrication.board.clearance import clearance_m
from modewright.fabrication.board.read_back import plate_areas_m2
from modewright.fabrication.board.rules import RULES
from modewright.report.text_tables import TextTable

if TYPE_CHECKING:
    from collections.abc import Sequence

    from modewright.fabrication.board.model import Board
    from modewright.fabrication.board.settings import BoardSettings

__all__ = ["board_data", "pin_table", "plate_table", "rule_table"]

Data = dict[str, Any]


def board_data(board: Board, settings: BoardSettings, upper_copper: str) -> Data:
    """One board with its plates as written.

    Parameters
    ----------
    board : Board
    settings : BoardSettings
    upper_copper : str
        Text of its upper copper layer, from which the areas of the plates are read back.

    Returns
    -------
    dict
        Sizes in metres, areas in square metres.
    """
    low_x, low_y, high_x, high_y = board.outline.bounds
    volts = max(abs(plate.bias_v) for plate in board.plates)
    written = plate_areas_m2(board, upper_copper)
    return {
        "name": board.name,
        "length_m": high_x - low_x,
        "width_m": high_y - low_y,
        "corner_m": [low_x, low_y],
        "gap_m": board.gap_m,
        "bias_v": volts,
        "clearance_m": clearance_m(volts, settings.altitude),
        "plates": [
            {
                "pickup": plate.name,
                "area_m2": plate.area_m2,
                "written_area_m2": written[plate.name],
                "off": written[plate.name] / plate.area_m2 - 1,
                "bias_v": plate.bias_v,
                "guard_slit_m": None if plate.guard is None else plate.guard.gap_m,
                "guard_width_m": None if plate.guard is None else plate.guard.width_m,
            }
            for plate in board.plates
        ],
        "pins": [
            {"number": number, "net": net, "place_m": list(place)}
            for number, (net, place) in enumerate(board.pins, 1)
        ],
        "rules": dict(RULES),
    }


def plate_table(boards: Sequence[Data]) -> TextTable:
    """Plates with the area of the model and of the file."""
    return TextTable(
        title="Plates as written",
        columns=("board", "pickup", "model mm²", "file mm²", "off %", "bias V", "guard, slit mm"),
        rows=tuple(
            (
                board["name"],
                plate["pickup"],
                f"{plate['area_m2'] * 1e6:.4f}",
                f"{plate['written_area_m2'] * 1e6:.4f}",
                f"{plate['off'] * 100:+z.4f}",
                f"{plate['bias_v']:g}",
                _guard(plate),
            )
            for board in boards
            for plate in board["plates"]
        ),
    )


def _guard(plate: Data) -> str:
    if plate["guard_width_m"] is None:
        return "none"
    return f"{plate['guard_width_m'] * 1e3:g}, {plate['guard_slit_m'] * 1e3:g}"


def pin_table(boards: Sequence[Data]) -> TextTable:
    """Pins of the connectors; places from the origin of the design."""
    return TextTable(
        title="Pins, from below; places seen from the sheet",
        columns=("board", "pin", "bears", "x mm", "y mm"),
        rows=tuple(
            (
                board["name"],
                str(pin["number"]),
                pin["net"],
                f"{pin['place_m'][0] * 1e3:.2f}",
                f"{pin['place_m'][1] * 1e3:.2f}",
            )
            for board in boards
            for pin in board["pins"]
        ),
    )


def rule_table() -> TextTable:
    """Rules that every board keeps, or it is not written."""
    return TextTable(
        title="Rules that the boards keep",
        columns=("rule", "what it says"),
        rows=tuple(RULES.items()),
    )
