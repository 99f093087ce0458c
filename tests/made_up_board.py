"""Plates for boards, and a sound board to spoil."""

from shapely import box

from modewright.fabrication.board.layout import lay_out_board
from modewright.fabrication.board.model import Board, BoardPlate
from modewright.fabrication.board.settings import BoardSettings
from modewright.transducers.guard import Guard, guard_ring
from modewright.transducers.plate import Plate, RectanglePlate

SETTINGS = BoardSettings()
SHEET = box(0.0, -12e-3, 70e-3, 12e-3)
GUARD = Guard(width_m=1e-3, gap_m=0.2e-3)


def board_plate(
    name: str, plate: Plate, *, bias_v: float = 100.0, guard: Guard | None = GUARD
) -> BoardPlate:
    return BoardPlate(
        name=name,
        loop=plate.loop,
        area_m2=plate.area_points().area_m2,
        bias_v=bias_v,
        guard=guard,
        ring=None if guard is None else guard_ring(plate, guard),
    )


def rectangle(x_mm: float, y_mm: float, length_mm: float, width_mm: float) -> RectanglePlate:
    return RectanglePlate(
        centre_m=(x_mm * 1e-3, y_mm * 1e-3), length_m=length_mm * 1e-3, width_m=width_mm * 1e-3
    )


def board_of(*plates: BoardPlate, settings: BoardSettings = SETTINGS) -> Board:
    return lay_out_board("board_1", plates, SHEET, settings, gap_m=0.5e-3, tilt=(0.0, 0.0))


def sound_board() -> Board:
    """Two guarded plates beside each other."""
    return board_of(
        board_plate("low", rectangle(50, -7, 10, 5)), board_plate("high", rectangle(50, 7, 10, 5))
    )
