"""Everything of one design in one folder."""

from __future__ import annotations

import csv
import io
import json
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from modewright.design.show import complete_text
from modewright.errors import LoopError, ModewrightError
from modewright.fabrication.blank_drawing import draw_blank
from modewright.fabrication.coefficients import loop_coefficients
from modewright.fabrication.dxf import drawing_to_dxf
from modewright.fabrication.svg import drawing_to_svg
from modewright.report.dossier import dossier_page
from modewright.report.dossier_content import (
    DossierContent,
    ShownElectrodes,
    ShownElectronics,
    ShownSpread,
    ShownTargets,
    SoundEntry,
)
from modewright.report.pictures import analysis_pictures
from modewright.report.plots.level_course import level_course_png
from modewright.report.plots.spectrum import spectrum_png
from modewright.report.safety import safety_figures
from modewright.report.tables import origin
from modewright.sound.audio_file import write_sound
from modewright.workflows.analysis import (
    Analysis,
    analyse,
    body_data,
    closed_loop_data,
    hearing_data,
    warning_texts,
)
from modewright.workflows.dossier_boards import shown_boards
from modewright.workflows.dossier_electrodes import shown_electrodes
from modewright.workflows.dossier_electronics import shown_electronics
from modewright.workflows.dossier_gaps import shown_gaps
from modewright.workflows.dossier_scores import FREE, dossier_scores
from modewright.workflows.dossier_spread import shown_spread
from modewright.workflows.dossier_studies import shown_targets_and_sweep
from modewright.workflows.drivers import compare_drivers
from modewright.workflows.files import check_folder, made_folder, write_text
from modewright.workflows.render import play, play_free

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    import numpy as np
    from numpy.typing import NDArray

    from modewright.fabrication.drawing import Drawing
    from modewright.modes.solid import Accuracy
    from modewright.sound.performance import Sound

__all__ = ["WrittenDossier", "drawing_of", "write_dossier"]

Data = dict[str, Any]


@dataclass(frozen=True, slots=True, kw_only=True)
class WrittenDossier:
    """What was written.

    Parameters
    ----------
    index : Path
        The page.
    is_stable : bool or None
        Whether the loop is; None if pickup or driver is missing.
    missing : tuple of str
        What the design lacks for a loop.
    findings : tuple of str
        What stands against it.
    warnings : tuple of str
        Of the design file.
    """

    index: Path
    is_stable: bool | None
    missing: tuple[str, ...]
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

    check_folder(folder)
    found = analyse(design, accuracy=accuracy, progress=progress)
    # Before anything is written: a fault of a study leaves an earlier dossier as it is.
    targets, sweep = shown_targets_and_sweep(found.loaded, tell)
    spread = shown_spread(found.loaded, accuracy, tell)
    tell("drawing")
    drawing = drawing_of(found)
    svg, dxf = drawing_to_svg(drawing), drawing_to_dxf(drawing)
    made_folder(folder)
    write_text(folder / "outline.dxf", dxf)
    write_text(folder / "outline.svg", svg)
    modes, hearing, loop = _data(found)
    _write_data(folder, found, modes, hearing, loop)
    sounds = _sounds(found, folder, tell)
    _drop_old(folder, {entry.name for entry in sounds}, has_loop=loop is not None)
    tell("pictures")
    pictures = analysis_pictures(
        found.placed.design, found.body, found.hearing, found.closed_loop, svg
    )
    gaps, electronics = shown_gaps(found, tell), shown_electronics(found)
    electrodes = shown_electrodes(found, tell)
    studies = _write_studies(folder, found, targets, spread, electronics, electrodes)
    content = DossierContent(
        modes=modes,
        hearing=hearing,
        loop=loop,
        missing=found.missing,
        remarks=found.loaded.design.design.remarks,
        pictures=pictures,
        targets=targets,
        sweep=sweep,
        spread=spread,
        driver_choice=_driver_choice(found, accuracy, tell),
        boards=shown_boards(found),
        gaps=gaps,
        electrodes=electrodes,
        electronics=electronics,
        sounds=sounds,
        safety=safety_figures(found.placed.design, found.hearing),
        files=[*_file_list(sounds, has_loop=loop is not None), *studies],
    )
    write_text(folder / "index.html", dossier_page(content))
    return WrittenDossier(
        index=folder / "index.html",
        is_stable=None if found.closed_loop is None else found.closed_loop.is_stable,
        missing=tuple(found.missing),
        findings=() if found.closed_loop is None else found.closed_loop.findings,
        warnings=tuple(warning_texts(found.loaded, found.placed)),
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
        drivers=tuple((driver.name, driver.face) for driver in body.drivers),
        reference=body.reference,
    )


def _driver_choice(
    found: Analysis, accuracy: Accuracy, tell: Callable[[str], None]
) -> Data | str | None:
    """Drivers compared as the design asks for."""
    settings = found.loaded.design.driver_choice
    if settings is None:
        return None
    tell("comparing drivers")
    try:
        return compare_drivers(found.loaded, settings, accuracy=accuracy)
    except ModewrightError as error:
        return str(error)


def _data(found: Analysis) -> tuple[Data, Data, Data | None]:
    heading = {
        **origin(found.loaded.design_hash, found.accuracy),
        "name": found.loaded.design.design.name,
    }
    sounding_hz = float(found.hearing.operating_point.basis.freq_hz[0])
    loop = found.closed_loop
    return (
        body_data(found.loaded, found.body, found.accuracy, found.shown_modes, sounding_hz),
        {**heading, **hearing_data(found)},
        None
        if loop is None
        else {**heading, **closed_loop_data(loop, found.loaded.design.electronics.delay_s)},
    )


def _write_data(
    folder: Path, found: Analysis, modes: Data, hearing: Data, loop: Data | None
) -> None:
    for name, data in (("modes", modes), ("hearing", hearing)):
        write_text(folder / f"{name}.json", json.dumps(data, indent=2) + "\n")
    if loop is not None:
        write_text(folder / "loop.json", json.dumps(loop, indent=2) + "\n")
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


def _write_studies(
    folder: Path,
    found: Analysis,
    targets: ShownTargets | str | None,
    spread: ShownSpread | str | None,
    electronics: ShownElectronics | None,
    electrodes: ShownElectrodes | str | None,
) -> list[tuple[str, str]]:
    """Write data of the studies and remove those of an earlier dossier; names, what they are."""
    written: list[tuple[str, str]] = []
    for name, what, shown in (
        ("targets.json", "targets as the design stands", targets),
        ("spread.json", "made pieces, yield, causes and warmth", spread),
        ("electronics.json", "noise, recovery, delays and disturbances", electronics),
        ("electrodes.json", "plates that choose modes", electrodes),
    ):
        if isinstance(shown, ShownTargets | ShownSpread | ShownElectronics | ShownElectrodes):
            data = {**origin(found.loaded.design_hash, found.accuracy), **shown.data}
            write_text(folder / name, json.dumps(data, indent=2) + "\n")
            written.append((name, what))
        else:
            (folder / name).unlink(missing_ok=True)
    return written


def _sounds(found: Analysis, folder: Path, tell: Callable[[str], None]) -> list[SoundEntry]:
    """Every performance that the design can play."""
    if found.closed_loop is None:
        tell("playing free")
        return [_free_sound(found, folder)]
    loop = found.closed_loop
    treated = tuple(f"mode {int(m) + 1}" for m in loop.regulators.modes)
    entries: list[SoundEntry] = []
    for name, caption, score in dossier_scores(loop.regulators):
        tell(f"playing {name}")
        try:
            performance, sound = play(found, score)
        except LoopError as howl:  # the loop's chapter tells of it
            tell(f"left out {name}: {howl}")
            continue
        level_png = None
        if treated:
            level_png = level_course_png(
                performance.level_time_s, performance.level_m, treated, f"{name}: {caption}"
            )
        entries.append(
            SoundEntry(
                name=name,
                caption=f"{caption}; full scale = {sound.full_scale:.3g} V peak",
                wav=_written(sound, folder / f"{name}.wav", found),
                level_png=level_png,
                spectrum_png=_spectrum(performance.voltage_v, sound, found, name),
            )
        )
    return entries


def _free_sound(found: Analysis, folder: Path) -> SoundEntry:
    name, caption, score = FREE
    ringing, sound = play_free(found, score)
    if ringing.unit == "V":
        scale = f"full scale = {sound.full_scale:.3g} V peak"
    else:
        scale = (
            "no pickup listens: the sound is the motion of the reference point, full scale = "
            f"{sound.full_scale * 1e3:.3g} mm peak"
        )
    return SoundEntry(
        name=name,
        caption=f"{caption}; {scale}",
        wav=_written(sound, folder / f"{name}.wav", found),
        level_png=None,
        spectrum_png=_spectrum(ringing.output, sound, found, name),
    )


def _written(sound: Sound, path: Path, found: Analysis) -> bytes:
    write_sound(sound, path, remark=f"design {found.loaded.design_hash[:12]}")
    return path.read_bytes()


def _spectrum(output: NDArray[np.float64], sound: Sound, found: Analysis, name: str) -> bytes:
    last = output[-round(sound.rate_hz) :]
    freq_hz = found.hearing.operating_point.basis.freq_hz
    return spectrum_png(last, sound.rate_hz, freq_hz, name, sound.unit)


def _drop_old(folder: Path, sounds: set[str], *, has_loop: bool) -> None:
    """Remove what an earlier dossier had and this one has not; nothing else is touched."""
    patterns = ("free.wav", "damped.wav", "all_held.wav", "mode_*_held.wav", "mode_*_swelling.wav")
    for pattern in patterns:
        for old in folder.glob(pattern):
            if old.stem not in sounds:
                old.unlink(missing_ok=True)
    if not has_loop:
        for name in ("loop.json", "coefficients.json"):
            (folder / name).unlink(missing_ok=True)


def _file_list(sounds: list[SoundEntry], *, has_loop: bool) -> list[tuple[str, str]]:
    of_the_loop = [
        ("loop.json", "poles, margins, what each mode can reach"),
        ("coefficients.json", "coefficients of the real-time core"),
    ]
    return [
        ("outline.dxf", "contour with held edges and dimensions, in mm, for the cutter"),
        ("outline.svg", "the same to read and print at true size"),
        ("design.toml", "the complete design with defaults marked"),
        ("modes.json, modes.csv", "modes and losses"),
        ("hearing.json", "operating point, pickups, drivers, signal path"),
        *(of_the_loop if has_loop else []),
        *((f"{sound.name}.wav", sound.caption) for sound in sounds),
    ]
