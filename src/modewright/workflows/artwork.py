"""Boards that carry the pickup plates, as files for the board house."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from modewright import __version__
from modewright.chain.boards import boards_of
from modewright.chain.places import check_places, located_faults
from modewright.design.load import load_design
from modewright.errors import ModewrightError
from modewright.fabrication.board.drawing import draw_board
from modewright.fabrication.board.faults import BoardError
from modewright.fabrication.board.gerber import board_gerbers
from modewright.fabrication.dxf import drawing_to_dxf
from modewright.fabrication.svg import drawing_to_svg
from modewright.report.board_data import board_data, pin_table, plate_table
from modewright.report.parts_list import parts_csv, parts_list
from modewright.report.wiring_sketch import wiring_svg
from modewright.workflows.analysis import warning_texts
from modewright.workflows.files import check_folder, made_folder, write_text

if TYPE_CHECKING:
    from pathlib import Path

    from modewright.chain.boards import DesignBoards
    from modewright.chain.places import PlacedDesign
    from modewright.fabrication.board.model import Board
    from modewright.report.text_tables import TextTable

__all__ = ["Artwork", "artwork_tables", "make_artwork", "write_artwork", "write_files"]

Data = dict[str, Any]

_AREA_SHARE = 2e-3
_OUR_FILES = re.compile(
    r"board_\d+(_copper_top|_copper_bottom|_mask_top|_mask_bottom|_edge|_holes_lined|_holes_bare)?"
    r"\.(gbr|dxf|svg)"
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Artwork:
    """Files of all boards of a design, not yet on the disk.

    Parameters
    ----------
    boards : tuple of dict
        From `modewright.report.board_data.board_data`.
    texts : dict of str to str
        File name and content.
    remarks : tuple of str
        What the maker of the boards should know.
    """

    boards: tuple[Data, ...]
    texts: dict[str, str]
    remarks: tuple[str, ...]


def make_artwork(placed: PlacedDesign, design_hash: str) -> Artwork:
    """Lay out, check and draw the boards of a design.

    Parameters
    ----------
    placed : PlacedDesign
    design_hash : str
        Written on the drawings.

    Returns
    -------
    Artwork
        Empty for a design without pickups.

    Raises
    ------
    BoardError
        If a board breaks a rule, or its files do not hold the plates as they should be.
    """
    found = boards_of(placed)
    texts: dict[str, str] = {}
    boards: list[Data] = []
    for board in found.boards:
        layers = board_gerbers(board)
        data = board_data(board, placed.design.board, layers[f"{board.name}_copper_top.gbr"])
        _check_areas(data)
        boards.append(data)
        texts |= layers
        texts |= _drawings(board, found, placed, design_hash)
    if found.boards:
        texts |= _papers(placed, boards)
    return Artwork(boards=tuple(boards), texts=texts, remarks=found.remarks)


def _papers(placed: PlacedDesign, boards: list[Data]) -> dict[str, str]:
    """What is bought and how it is joined."""
    design = placed.design
    return {
        "parts.csv": parts_csv(parts_list(design, boards)),
        "wiring.svg": wiring_svg(design, f"{design.design.name}: wiring"),
    }


def _drawings(
    board: Board, found: DesignBoards, placed: PlacedDesign, design_hash: str
) -> dict[str, str]:
    number = board.name.removeprefix("board_")
    drawing = draw_board(
        board,
        found.sheet,
        placed.design.board,
        title=f"{placed.design.design.name}, board {number}",
        facts=(f"design {design_hash[:12]}",),
    )
    return {
        f"{board.name}.dxf": drawing_to_dxf(drawing),
        f"{board.name}.svg": drawing_to_svg(drawing),
    }


def _check_areas(board: Data) -> None:
    """Refuse a file whose plates are not those of the model."""
    for plate in board["plates"]:
        if abs(plate["off"]) > _AREA_SHARE:
            raise BoardError(
                f"{board['name']}: {plate['pickup']}: expected the plate in the file within "
                f"{_AREA_SHARE * 100:g} % of {plate['area_m2'] * 1e6:.4f} mm², got "
                f"{plate['written_area_m2'] * 1e6:.4f} mm².",
                hint="Please report this design: it should not happen.",
            )


def write_artwork(design: Path, folder: Path | None) -> Data:
    """Lay out the boards of a design file and write them into a folder.

    Parameters
    ----------
    design : Path
        Design file.
    folder : Path or None
        Made if it is not there; files of the same names are replaced. None only lays out and
        checks.

    Returns
    -------
    dict
        ``boards``, ``remarks``, ``files``, ``warnings``.

    Raises
    ------
    ModewrightError
        If the design has no pickup or a board breaks a rule; nothing is written then.
    """
    if folder is not None:
        check_folder(folder)
    loaded = load_design(design)
    placed = check_places(loaded)
    if not placed.design.pickups:
        raise ModewrightError(
            f"{loaded.file}: pickups: expected at least one plate for a board, got none.",
            hint="Add a [[pickups]] section; modewright dossier shows one to paste.",
        )
    with located_faults(loaded):
        artwork = make_artwork(placed, loaded.design_hash)
    if folder is not None:
        write_files(folder, artwork)
    return {
        "name": placed.design.design.name,
        "design_hash": loaded.design_hash,
        "modewright": __version__,
        "boards": list(artwork.boards),
        "remarks": list(artwork.remarks),
        "files": [] if folder is None else list(artwork.texts),
        "warnings": warning_texts(loaded, placed),
    }


def write_files(folder: Path, artwork: Artwork) -> None:
    """Write the files of all boards and remove those of boards that the design no longer has.

    Parameters
    ----------
    folder : Path
        Made if it is not there.
    artwork : Artwork
    """
    made_folder(folder)
    for name, text in artwork.texts.items():
        write_text(folder / name, text)
    for old in folder.iterdir():
        if _OUR_FILES.fullmatch(old.name) and old.name not in artwork.texts:
            old.unlink(missing_ok=True)


def artwork_tables(found: Data) -> tuple[TextTable, ...]:
    """What `write_artwork` gave, as tables to read."""
    return plate_table(found["boards"]), pin_table(found["boards"])
