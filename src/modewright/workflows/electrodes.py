"""Plates that choose modes: a design in, outlines, tables, pictures and files out."""

from __future__ import annotations

import json
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from modewright.chain.body import analyse_placed
from modewright.chain.electrode_site import pickup_with
from modewright.chain.hearing import operating_point_of
from modewright.chain.places import check_places, located_faults
from modewright.design.load import load_design
from modewright.design.write import shown_sections
from modewright.errors import ModewrightError
from modewright.fabrication.drawing import Contour, Drawing, part_layer
from modewright.fabrication.dxf import drawing_to_dxf
from modewright.geometry.loop import Loop
from modewright.modes.solid import Accuracy
from modewright.report.electrode_data import electrode_tables, electrode_text
from modewright.report.tables import origin
from modewright.workflows.analysis import warning_texts
from modewright.workflows.files import check_folder, made_folder, write_bytes, write_text
from modewright.workflows.shaped_plates import plate_names, plates_picture, shape_plates

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from modewright.chain.places import PlacedDesign
    from modewright.electrodes.settings import ElectrodeSettings
    from modewright.workflows.shaped_plates import ShapedPlates

__all__ = ["Accuracy", "electrode_tables", "electrode_text", "report_electrodes"]

Data = dict[str, Any]

_MODES = 12
_EXAMPLE = "[electrodes]\nhear = [1]\nreject = [2, 3, 4]"


def report_electrodes(
    path: Path,
    *,
    folder: Path | None = None,
    accuracy: Accuracy = "normal",
    progress: Callable[[str], None] | None = None,
) -> Data:
    """Shape plates as the section ``[electrodes]`` of a design asks for.

    Parameters
    ----------
    path : Path
        Design file.
    folder : Path, optional
        Where ``electrodes.json``, ``plates.dxf``, ``plates.toml``, ``plates.png`` and
        ``places.png`` go.
    accuracy : {"draft", "normal", "fine"}
    progress : callable, optional
        Told what is being done.

    Returns
    -------
    dict
        ``modes``, ``plates``, ``signals``, ``study``, ``place``, ``files``.

    Raises
    ------
    ModewrightError
        If the design is at fault or no plates do what is asked for; nothing is written then.
    """
    if folder is not None:
        check_folder(folder)
    loaded = load_design(path)
    settings = loaded.design.electrodes
    if settings is None:
        raise ModewrightError(
            f"{loaded.file}: electrodes: expected a section that says what to hear, got none.",
            hint=f"Add, for instance:\n{_EXAMPLE}",
        )
    placed = check_places(loaded)
    with located_faults(loaded):
        body = analyse_placed(placed, count=_MODES, accuracy=accuracy, progress=progress)
        shaped = shape_plates(body, operating_point_of(placed.design, body), settings, progress)
    data = shaped.data
    found: Data = {
        "name": loaded.design.design.name,
        **origin(loaded.design_hash, accuracy),
        **data,
        "warnings": [
            *warning_texts(loaded, placed),
            *_doubts(settings, data["study"]),
            *(_unplaced(settings) if shaped.places is None else ()),
        ],
        "files": [],
    }
    if folder is not None:
        found["files"] = _write(folder, placed, shaped, found)
    return found


def _doubts(settings: ElectrodeSettings, study: Data) -> list[str]:
    """Where the plates fall short of what was asked for."""
    if min(study["two_sigma_db"]) >= settings.two_sigma_db:
        return []
    return [
        f"electrodes.two_sigma: asked for {settings.two_sigma_db:.3g} dB, all but 4.55 % of the "
        f"made pieces keep {min(study['two_sigma_db']):.1f} dB; most is let through by "
        f"{study['worst']}."
    ]


def _unplaced(settings: ElectrodeSettings) -> tuple[str]:
    return (
        f"electrodes.tried: a face of {settings.tried_m * 1e3:.3g} mm fits nowhere in the area; "
        "there is no map of places.",
    )


def _write(folder: Path, placed: PlacedDesign, shaped: ShapedPlates, found: Data) -> list[str]:
    made_folder(folder)
    write_text(folder / "plates.dxf", _dxf(placed, shaped, found))
    write_text(folder / "plates.toml", _toml(placed, shaped, found))
    write_bytes(folder / "plates.png", plates_picture(shaped, found["name"]))
    files = ["plates.dxf", "plates.toml", "plates.png", "electrodes.json"]
    picture = shaped.places_png
    if picture is None:
        (folder / "places.png").unlink(missing_ok=True)
    else:
        files.append("places.png")
        write_bytes(folder / "places.png", picture)
    write_text(folder / "electrodes.json", json.dumps(found | {"files": files}, indent=2) + "\n")
    return files


def _dxf(placed: PlacedDesign, shaped: ShapedPlates, found: Data) -> str:
    outline = placed.blank.outline
    plates = [Loop.polygon(list(plate.exterior.coords)[:-1]) for plate in shaped.made.plates]
    contours = [Contour(loop=loop, layer="OUTLINE") for loop in (outline.outer, *outline.holes)]
    contours += [
        Contour(loop=loop, layer=part_layer("ELECTRODE", name))
        for loop, name in zip(plates, plate_names(shaped), strict=True)
    ]
    title = f"{found['name']}, design {found['design_hash'][:12]}"
    return drawing_to_dxf(Drawing(title=title, contours=tuple(contours)))


def _toml(placed: PlacedDesign, shaped: ShapedPlates, found: Data) -> str:
    """Sections of a design file with these plates, to stand in for that of the pickup."""
    pickups = tuple(
        replace(pickup_with(shaped.site, plate), name=name)
        for plate, name in zip(shaped.made.plates, plate_names(shaped), strict=True)
    )
    lines = [f"# Plates for {found['name']}, design {found['design_hash'][:12]}."]
    for signal in found["signals"]:
        weights = ", ".join(f"{weight:.6g}" for weight in signal["weights"])
        hears = ", ".join(map(str, signal["hears"]))
        lines.append(f"# The signal that hears mode {hears} takes the plates times {weights}.")
    for shown in shown_sections(replace(placed.design, pickups=pickups)):
        if shown.heading.strip("[]").split(".", maxsplit=1)[0] == "pickups":
            lines += ["", shown.heading]
            lines += [
                f"{entry.key} = {entry.value_text}" for entry in shown.entries if entry.value_text
            ]
    return "\n".join(lines) + "\n"
