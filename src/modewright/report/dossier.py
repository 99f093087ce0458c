"""The dossier of one note, in the order of the job."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from modewright.report.mode_animation import EXAGGERATION_TEXT
from modewright.report.page import (
    Chapter,
    audio,
    caution,
    page,
    paragraph,
    picture,
    table,
    to_paste,
    vector,
)
from modewright.report.safety import CAUTIONS, SafetyFigure
from modewright.report.text_tables import (
    detuning_table,
    driver_tables,
    loss_table,
    margin_table,
    modes_table,
    path_table,
    pickup_tables,
    rest_tables,
    treated_table,
)

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from modewright.report.text_tables import TextTable

__all__ = ["DossierPictures", "SoundEntry", "dossier_page"]

Data = dict[str, Any]

_NO_PATH = (
    "A signal path leads from a pickup to a driver; one of them is missing. Listening and Pushing "
    "say what to add."
)
_NO_LOOP = (
    "A loop needs a pickup, a driver and treated modes. Listening and Pushing say what to add"
)


@dataclass(frozen=True, slots=True, kw_only=True)
class SoundEntry:
    """A rendered sound with what it shows; levels only if modes are treated."""

    name: str
    caption: str
    wav: bytes
    level_png: bytes | None
    spectrum_png: bytes


@dataclass(frozen=True, slots=True, kw_only=True)
class DossierPictures:
    """Every picture of the dossier, as bytes of files; None for those that need a loop."""

    drawing_svg: str
    plan_png: bytes
    animations: tuple[tuple[str, bytes], ...]
    losses_png: bytes
    path_png: bytes | None
    decay_png: bytes | None
    open_loop_png: bytes | None


def dossier_page(
    *,
    modes: Data,
    hearing: Data,
    loop: Data | None,
    missing: Mapping[str, str],
    remarks: str,
    pictures: DossierPictures,
    sounds: Sequence[SoundEntry],
    safety: Sequence[SafetyFigure],
    files: Sequence[tuple[str, str]],
) -> str:
    """Build the page.

    Parameters
    ----------
    modes, hearing, loop : dict
        From `modewright.report.tables`; no loop without pickup and driver.
    missing : mapping of str to str
        What the design lacks (``pickup``, ``driver``, ``treated mode``) and what to paste for it.
    remarks : str
        Of the design.
    pictures : DossierPictures
    sounds : sequence of SoundEntry
    safety : sequence of SafetyFigure
    files : sequence of (name, what)
        What lies beside the page.

    Returns
    -------
    str
        HTML.
    """
    chapters = (
        _shape(modes, hearing, pictures),
        _modes(modes, pictures),
        _losses(modes, pictures),
        _listening(hearing, missing),
        _pushing(hearing, missing),
        _path(hearing, loop, pictures),
        _loop(loop, missing, pictures),
        _sounds(sounds),
        _files(files),
        _safety(safety),
    )
    footer = (
        f"Design {modes['design_hash']}, accuracy {modes['accuracy']}, modewright "
        f"{modes['modewright']}."
    )
    return page(modes["name"], f"{_lead(modes, hearing, loop)} {remarks}", chapters, footer)


def _lead(modes: Data, hearing: Data, loop: Data | None) -> str:
    first, rest = modes["modes"][0], hearing["operating_point"]
    sounding = rest["sounding"]
    acting = ", with bias and magnets on" if rest["gaps"] else ", with nothing that biases it"
    if loop is None:
        verdict = "no loop yet"
    else:
        stable = "stable" if loop["is_stable"] else "UNSTABLE"
        verdict = f"loop {stable} with {loop['modes_in_plant']} modes"
    return (
        f"Sounds {sounding['note']} {sounding['note_cents']:+z.0f} cents, "
        f"{sounding['freq_hz']:.2f} Hz{acting} "
        f"(± {first['cents_error_estimate']:.1f} cents of discretisation)"
        f"{_wanted_text(modes['wanted'])}; {verdict}."
    )


def _wanted_text(wanted: Data | None) -> str:
    if wanted is None:
        return ""
    return f", {wanted['cents_off']:+z.1f} cents from the wanted {wanted['note']}"


def _advice(lead: str, missing: Mapping[str, str], *parts: str) -> tuple[str, ...]:
    """What a chapter lacks, and the sections to add for it."""
    sections = [missing[part] for part in parts if part in missing]
    return (
        paragraph(lead),
        to_paste("\n".join(sections)),
    )


def _shape(modes: Data, hearing: Data, pictures: DossierPictures) -> Chapter:
    mass = modes["body_mass_kg"] * 1e3
    plates = " Dash-dotted: the pickup plates under the sheet." if hearing["pickups"] else ""
    return Chapter(
        title="Shape",
        blocks=(
            paragraph(
                f"The body weighs {mass:.2f} g with what is fixed to it. Blue is what is held."
                f"{plates} The contour is drawn as it should be after cutting; kerf is not "
                "compensated."
            ),
            vector(pictures.drawing_svg, "Blank with dimensions in mm; also as outline.dxf."),
        ),
    )


def _modes(modes: Data, pictures: DossierPictures) -> Chapter:
    place = modes["reference_point"]["name"]
    tiles = "".join(picture(gif, "gif", caption) for caption, gif in pictures.animations)
    return Chapter(
        title="Modes",
        blocks=(
            paragraph(
                f"Method: {modes['method']}, of the body by itself in vacuum; “air cents” is what "
                "the mass of the air adds; bias and magnets come under Listening. "
                "The error estimate compares two discretisations. Notes are counted "
                f"from A4 = {modes['a4_hz']:g} Hz; the modal mass is referred to {place}."
            ),
            _table(modes_table(modes)),
            picture(pictures.plan_png, "png", "Motion normal to the sheet, with node lines."),
            paragraph(f"Modes in motion ({EXAGGERATION_TEXT}):"),
            f'<div class="tiles">{tiles}</div>',
        ),
    )


def _losses(modes: Data, pictures: DossierPictures) -> Chapter:
    return Chapter(
        title="Losses",
        blocks=(
            paragraph("Every mechanism by itself, mode by mode; shares in per cent of 1/Q."),
            _table(loss_table(modes)),
            picture(pictures.losses_png, "png", "Who takes how much."),
        ),
    )


def _table(shown: TextTable) -> str:
    return table(shown.columns, shown.rows)


def _titled(shown: TextTable) -> tuple[str, str]:
    return paragraph(f"{shown.title}."), _table(shown)


def _listening(hearing: Data, missing: Mapping[str, str]) -> Chapter:
    blocks: list[str] = []
    for pickup in hearing["pickups"]:
        for shown in pickup_tables(pickup):
            blocks += _titled(shown)
        blocks.append(paragraph(_fringe_text(pickup["fringe_factor"])))
    if not hearing["pickups"]:
        blocks += _advice(
            "Nothing listens to this body yet. Add to the design file, for instance:",
            missing,
            "pickup",
        )
    rest = rest_tables(hearing["operating_point"])
    if rest:
        blocks.append(
            paragraph(
                "Where the sheet rests under bias and magnets, and what they do to the pitch:"
            )
        )
    blocks += [_table(shown) for shown in rest]
    return Chapter(title="Listening", blocks=tuple(blocks))


def _pushing(hearing: Data, missing: Mapping[str, str]) -> Chapter:
    blocks: list[str] = []
    for driver in hearing["drivers"]:
        for shown in driver_tables(driver):
            blocks += _titled(shown)
    if not hearing["drivers"]:
        blocks += _advice(
            "Nothing pushes this body yet. Add to the design file, for instance:", missing, "driver"
        )
    return Chapter(title="Pushing", blocks=tuple(blocks))


def _path(hearing: Data, loop: Data | None, pictures: DossierPictures) -> Chapter:
    if loop is None or pictures.path_png is None:
        return Chapter(title="Signal path", blocks=(paragraph(_NO_PATH),))
    return Chapter(
        title="Signal path",
        blocks=(
            paragraph("Every stage at every treated mode, in dB and degrees."),
            _table(path_table(hearing["signal_path"], loop)),
            picture(pictures.path_png, "png", "Gain and phase of the stages; grey: treated modes."),
        ),
    )


def _loop(loop: Data | None, missing: Mapping[str, str], pictures: DossierPictures) -> Chapter:
    if loop is None or pictures.decay_png is None or pictures.open_loop_png is None:
        treated = "treated mode" in missing
        return Chapter(
            title="Loop",
            blocks=_advice(f"{_NO_LOOP}, and besides:", missing, "treated mode")
            if treated
            else (paragraph(f"{_NO_LOOP}."),),
        )
    findings = loop["findings"] or ["Nothing stands against this loop."]
    treats_none = not loop["modes"]
    return Chapter(
        title="Loop",
        blocks=(
            *(
                _advice(
                    "The loop treats no mode yet. Add to the design file, for instance:",
                    missing,
                    "treated mode",
                )
                * treats_none
            ),
            paragraph(
                f"{loop['modes_in_plant']} modes up to {loop['highest_mode_hz']:.0f} Hz are part "
                f"of the prediction, {len(loop['observed_modes'])} are known to the observer, "
                f"{len(loop['modes'])} are treated. Total delay "
                f"{loop['total_delay_s'] * 1e3:.4g} ms, the hold's half sample not counted."
            ),
            _table(treated_table(loop)),
            _table(margin_table(loop)),
            *(_titled(detuning_table(loop)) if loop["detuning"] else ()),
            *(paragraph(sentence) for sentence in findings),
            picture(pictures.decay_png, "png", "T60 of every mode, alone and damped."),
            picture(pictures.open_loop_png, "png", "Open loop with everything damped."),
        ),
    )


def _sounds(sounds: Sequence[SoundEntry]) -> Chapter:
    blocks: list[str] = [
        paragraph(
            "Rendered by the same core that a controller would run. The files are calibrated: "
            "their comment says what stands at full scale. Turn the volume down first."
        )
    ]
    for sound in sounds:
        blocks.append(audio(sound.wav, f"{sound.name}.wav: {sound.caption}"))
        if sound.level_png is not None:
            blocks.append(
                picture(
                    sound.level_png,
                    "png",
                    f"Levels during {sound.name}, as the observer sees them.",
                )
            )
        blocks.append(
            picture(sound.spectrum_png, "png", f"Spectrum of the last second of {sound.name}.")
        )
    return Chapter(title="Sounds", blocks=tuple(blocks))


def _files(files: Sequence[tuple[str, str]]) -> Chapter:
    return Chapter(title="Files", blocks=(table(("file", "what"), files),))


def _safety(figures: Sequence[SafetyFigure]) -> Chapter:
    rows = [(f.what, f.value, f.usual, f.verdict) for f in figures]
    return Chapter(
        title="Safety",
        blocks=(
            table(("what", "this design", "usually cited", "verdict"), rows),
            caution(CAUTIONS),
        ),
    )


def _fringe_text(factor: float | None) -> str:
    if factor is None:
        return "Fringe fields are left out."
    return f"Fringe fields are left out; they would multiply the capacitance by about {factor:.2f}."
