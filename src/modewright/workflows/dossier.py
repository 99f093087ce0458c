"""Everything of one design in one folder."""

from __future__ import annotations

import csv
import io
import json
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from modewright.design.show import complete_text
from modewright.fabrication.blank_drawing import draw_blank
from modewright.fabrication.coefficients import loop_coefficients
from modewright.fabrication.dxf import drawing_to_dxf
from modewright.fabrication.svg import drawing_to_svg
from modewright.geometry.corners import circle
from modewright.report.dossier import SoundEntry, dossier_page
from modewright.report.pictures import analysis_pictures
from modewright.report.plots.level_course import level_course_png
from modewright.report.plots.spectrum import spectrum_png
from modewright.report.safety import safety_figures
from modewright.report.tables import loop_data, modes_data, origin, wanted_data
from modewright.sound.audio_file import write_sound
from modewright.workflows.analysis import Analysis, analyse, hearing_data
from modewright.workflows.dossier_scores import dossier_scores
from modewright.workflows.files import made_folder, write_text
from modewright.workflows.render import play

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from modewright.fabrication.drawing import Drawing
    from modewright.modes.solid import Accuracy

__all__ = ["WrittenDossier", "drawing_of", "write_dossier"]

Data = dict[str, Any]


@dataclass(frozen=True, slots=True, kw_only=True)
class WrittenDossier:
    """What was written.

    Parameters
    ----------
    index : Path
        The page.
    is_stable : bool
        Whether the loop is.
    findings : tuple of str
        What stands against it.
    warnings : tuple of str
        Of the design file.
    """

    index: Path
    is_stable: bool
    findings: tuple[str, ...]
    warnings: tuple[str, ...]


def write_dossier(
    design: Path,
    folder: Path,
    *,
    accuracy: Accuracy = "normal",
    progress: Callable[[str], None] | None = None,
) -> WrittenDossier:
    """Write the dossier of a design.

    Parameters
    ----------
    design : Path
        Design file.
    folder : Path
        Made if it is not there; files of an earlier dossier are replaced one by one.
    accuracy : {"draft", "normal", "fine"}
    progress : callable, optional
        Told what is being done.

    Returns
    -------
    WrittenDossier

    Raises
    ------
    ModewrightError
        If the design cannot be analysed.
    """

    def tell(text: str) -> None:
        if progress is not None:
            progress(text)

    found = analyse(design, accuracy=accuracy, progress=progress)
    made_folder(folder)
    tell("drawing")
    drawing = drawing_of(found)
    svg = drawing_to_svg(drawing)
    write_text(folder / "outline.dxf", drawing_to_dxf(drawing))
    write_text(folder / "outline.svg", svg)
    modes, hearing, loop = _data(found)
    _write_data(folder, found, modes, hearing, loop)
    sounds = _sounds(found, folder, tell)
    _drop_old_sounds(folder, {entry.name for entry in sounds})
    tell("pictures")
    pictures = analysis_pictures(found.loaded.design, found.body, found.hearing, found.loop, svg)
    page = dossier_page(
        modes=modes,
        hearing=hearing,
        loop=loop,
        remarks=found.loaded.design.design.remarks,
        pictures=pictures,
        sounds=sounds,
        safety=safety_figures(found.loaded.design, found.hearing),
        files=_file_list(sounds),
    )
    write_text(folder / "index.html", page)
    return WrittenDossier(
        index=folder / "index.html",
        is_stable=found.loop.is_stable,
        findings=found.loop.findings,
        warnings=tuple(str(warning) for warning in found.loaded.warnings),
    )


def drawing_of(found: Analysis) -> Drawing:
    """Drawing of the blank with all that lies near it.

    Parameters
    ----------
    found : Analysis

    Returns
    -------
    Drawing
    """
    body = found.body
    return draw_blank(
        body.blank,
        title=found.loaded.design.design.name,
        facts=(
            f"{body.material.name}, {body.modes.body_mass_kg * 1e3:.2f} g complete",
            f"design {found.loaded.design_hash[:12]}",
        ),
        plates=tuple((pickup.name, pickup.placed_plate.loop) for pickup in body.pickups),
        drivers=tuple(
            (driver.name, circle(driver.place_m, driver.face_diameter_m)) for driver in body.drivers
        ),
        reference=body.reference,
    )


def _data(found: Analysis) -> tuple[Data, Data, Data]:
    design = found.loaded.design
    heading = {**origin(found.loaded.design_hash, found.accuracy), "name": design.design.name}
    modes = {
        **heading,
        "a4_hz": design.design.a4_hz,
        "reference_point": {
            "name": found.body.reference.name,
            "point_m": list(found.body.reference.point_m),
        },
        "body_mass_kg": found.body.modes.body_mass_kg,
        "method": found.body.modes.source,
        "wanted": wanted_data(
            float(found.hearing.operating_point.basis.freq_hz[0]),
            design.design.note,
            design.design.a4_hz,
        ),
        "modes": modes_data(found.body, design.design.a4_hz, found.shown_modes),
    }
    return (
        modes,
        {**heading, **hearing_data(found)},
        {**heading, **loop_data(found.loop, design.electronics.delay_s)},
    )


def _write_data(folder: Path, found: Analysis, modes: Data, hearing: Data, loop: Data) -> None:
    for name, data in (("modes", modes), ("hearing", hearing), ("loop", loop)):
        write_text(folder / f"{name}.json", json.dumps(data, indent=2) + "\n")
    coefficients = {
        **origin(found.loaded.design_hash, found.accuracy),
        **loop_coefficients(found.loop),
    }
    write_text(folder / "coefficients.json", json.dumps(coefficients, indent=1) + "\n")
    write_text(folder / "design.toml", complete_text(found.loaded.design, found.loaded.written))
    stream = io.StringIO()
    rows = [{k: v for k, v in m.items() if k != "loss_shares"} for m in modes["modes"]]
    writer = csv.DictWriter(stream, fieldnames=list(rows[0]), lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
    write_text(folder / "modes.csv", stream.getvalue())


def _sounds(found: Analysis, folder: Path, tell: Callable[[str], None]) -> list[SoundEntry]:
    """Every performance that the loop can play."""
    plant, regulators = found.loop.plant, found.loop.regulators
    treated = tuple(f"mode {int(m) + 1}" for m in regulators.modes)
    entries: list[SoundEntry] = []
    for name, caption, score in dossier_scores(regulators):
        uses_loop = score.start != "free" or bool(score.holds)
        if uses_loop and not found.loop.is_stable:
            continue
        tell(f"playing {name}")
        performance, sound = play(found, score)
        path = folder / f"{name}.wav"
        write_sound(sound, path, remark=f"design {found.loaded.design_hash[:12]}")
        last = performance.voltage_v[-round(performance.rate_hz) :]
        entry = SoundEntry(
            name=name,
            caption=f"{caption}; full scale = {sound.full_scale_v:.3g} V peak",
            wav=path.read_bytes(),
            level_png=level_course_png(
                performance.level_time_s, performance.level_m, treated, f"{name}: {caption}"
            )
            if treated
            else None,
            spectrum_png=spectrum_png(last, performance.rate_hz, plant.freq_hz, name),
        )
        entries.append(entry)
    return entries


def _drop_old_sounds(folder: Path, written: set[str]) -> None:
    """Remove sounds of an earlier dossier that this one has not; nothing else is touched."""
    patterns = ("free.wav", "damped.wav", "all_held.wav", "mode_*_held.wav", "mode_*_swelling.wav")
    for pattern in patterns:
        for old in folder.glob(pattern):
            if old.stem not in written:
                old.unlink(missing_ok=True)


def _file_list(sounds: list[SoundEntry]) -> list[tuple[str, str]]:
    return [
        ("outline.dxf", "contour with held edges and dimensions, in mm, for the cutter"),
        ("outline.svg", "the same to read and print at true size"),
        ("design.toml", "the complete design with defaults marked"),
        ("modes.json, modes.csv", "modes and losses"),
        ("hearing.json", "operating point, pickups, drivers, signal path"),
        ("loop.json", "poles, margins, what each mode can reach"),
        ("coefficients.json", "coefficients of the real-time core"),
        *((f"{sound.name}.wav", sound.caption) for sound in sounds),
    ]
