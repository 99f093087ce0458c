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
    vector,
)
from modewright.report.safety import CAUTIONS, SafetyFigure
from modewright.report.tables import SMALL_HARMONIC

if TYPE_CHECKING:
    from collections.abc import Sequence

__all__ = ["DossierPictures", "SoundEntry", "dossier_page"]

Data = dict[str, Any]


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
    """Every picture of the dossier, as bytes of files."""

    drawing_svg: str
    plan_png: bytes
    animations: tuple[tuple[str, bytes], ...]
    losses_png: bytes
    path_png: bytes
    decay_png: bytes
    open_loop_png: bytes


def dossier_page(
    *,
    modes: Data,
    hearing: Data,
    loop: Data,
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
        From `modewright.report.tables`.
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
    first, sounding = modes["modes"][0], hearing["operating_point"]["sounding"]
    verdict = "stable" if loop["is_stable"] else "UNSTABLE"
    lead = (
        f"Sounds {sounding['note']} {sounding['note_cents']:+z.0f} cents, "
        f"{sounding['freq_hz']:.2f} Hz, with bias and magnets on "
        f"(± {first['cents_error_estimate']:.1f} cents of discretisation)"
        f"{_wanted_text(modes['wanted'])}; loop {verdict} with "
        f"{loop['modes_in_plant']} modes. {remarks}"
    )
    chapters = (
        _shape(modes, pictures),
        _modes(modes, pictures),
        _losses(modes, pictures),
        _listening(hearing),
        _pushing(hearing),
        _path(hearing, loop, pictures),
        _loop(loop, pictures),
        _sounds(sounds),
        _files(files),
        _safety(safety),
    )
    footer = (
        f"Design {modes['design_hash']}, accuracy {modes['accuracy']}, modewright "
        f"{modes['modewright']}."
    )
    return page(modes["name"], lead, chapters, footer)


def _wanted_text(wanted: Data | None) -> str:
    if wanted is None:
        return ""
    return f", {wanted['cents_off']:+z.1f} cents from the wanted {wanted['note']}"


def _shape(modes: Data, pictures: DossierPictures) -> Chapter:
    mass = modes["body_mass_kg"] * 1e3
    return Chapter(
        title="Shape",
        blocks=(
            paragraph(
                f"The body weighs {mass:.2f} g with what is fixed to it. The blue edge is held; "
                "the dash-dotted rectangle is a pickup plate under the sheet. The contour is drawn "
                "as it should be after cutting; kerf is not compensated."
            ),
            vector(pictures.drawing_svg, "Blank with dimensions in mm; also as outline.dxf."),
        ),
    )


def _modes(modes: Data, pictures: DossierPictures) -> Chapter:
    rows = [
        (
            str(m["number"]),
            f"{m['freq_hz']:.2f}",
            f"{m['cents_error_estimate']:.1f}",
            m["note"],
            f"{m['note_cents']:+.1f}",
            f"{m['air_cents']:+z.1f}",
            f"{m['ratio']:.3f}",
            f"{m['q']:.0f}",
            f"{m['t60_s']:.2f}",
            "−" if m["modal_mass_kg"] is None else f"{m['modal_mass_kg'] * 1e3:.3g}",
            m["label"],
        )
        for m in modes["modes"]
    ]
    place = modes["reference_point"]["name"]
    columns = (
        "mode", "Hz", "± cents", "note", "cents", "air cents", "ratio", "Q", "T60 s", "mass g",
        "kind",
    )  # fmt: skip
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
            table(columns, rows),
            picture(pictures.plan_png, "png", "Motion normal to the sheet, with node lines."),
            paragraph(f"The treated modes in motion ({EXAGGERATION_TEXT}):"),
            f'<div class="tiles">{tiles}</div>',
        ),
    )


def _losses(modes: Data, pictures: DossierPictures) -> Chapter:
    names = list(modes["modes"][0]["loss_shares"])
    rows = [
        (
            str(m["number"]),
            f"{m['q']:.0f}",
            *(f"{100 * m['loss_shares'][name]:.1f}" for name in names),
        )
        for m in modes["modes"]
    ]
    return Chapter(
        title="Losses",
        blocks=(
            paragraph("Every mechanism by itself, mode by mode; shares in per cent of 1/Q."),
            table(("mode", "Q", *names), rows),
            picture(pictures.losses_png, "png", "Who takes how much."),
        ),
    )


def _listening(hearing: Data) -> Chapter:
    blocks: list[str] = []
    for pickup in hearing["pickups"]:
        blocks.append(
            paragraph(
                f"{pickup['name']}: {pickup['capacitance_f'] * 1e12:.3g} pF, corner "
                f"{pickup['corner_hz']:.2g} Hz. Signal-to-noise ratio and second harmonic are for "
                "10 µm peak of each mode alone, measured at the reference point. "
                + _fringe_text(pickup["fringe_factor"])
            )
        )
        rows = [
            (
                str(i + 1),
                _figure(value, "+.4g"),
                _figure(pickup["phase_deg"][i], "z.0f"),
                _figure(pickup["signal_to_noise_db"][i], ".0f"),
                _harmonic(pickup["second_harmonic"][i]),
            )
            for i, value in enumerate(pickup["sensitivity_v_per_m"])
        ]
        blocks.append(table(("mode", "V/m", "phase °", "S/N dB", "2nd harmonic"), rows))
        noise = [(n, f"{v * 1e6:.3g}") for n, v in pickup["noise_v_rms"].items()]
        blocks.append(table(("noise 20 Hz to 20 kHz from", "µV"), noise))
    rest = hearing["operating_point"]
    gaps = [
        (
            gap["name"],
            f"{gap['pull_n'] * 1e3:.3g}",
            f"{gap['closure_m'] * 1e6:.3g}",
            f"{gap['pull_in_margin']:.3g}",
        )
        for gap in rest["gaps"]
    ]
    causes = rest["shift_by_cause_cents"]
    shifts = [
        (
            str(i + 1),
            f"{freq:.2f}",
            *(f"{causes[c][i]:+z.3f}" for c in causes),
            f"{rest['shift_cents'][i]:+z.3f}",
        )
        for i, freq in enumerate(rest["freq_hz"])
    ]
    blocks += [
        paragraph("Where the sheet rests under bias and magnets, and what they do to the pitch:"),
        table(("gap", "pull mN", "closed by µm", "pull-in margin"), gaps),
        table(("mode", "Hz", *causes, "together, cents"), shifts),
    ]
    return Chapter(title="Listening", blocks=tuple(blocks))


def _pushing(hearing: Data) -> Chapter:
    blocks: list[str] = []
    for driver in hearing["drivers"]:
        blocks.append(
            paragraph(
                f"{driver['name']}: {driver['force_factor_n_per_a']:.3g} N/A, at most "
                f"{driver['current_limit_a'] * 1e3:.3g} mA peak for ever, limited by "
                f"{driver['binding_limit']}; {driver['force_limit_n'] * 1e3:.3g} mN on the sheet."
            )
        )
        limits = [
            (cause, _text(None if a is None else a * 1e3, ".3g"))
            for cause, a in driver["limit_by_cause_a"].items()
        ]
        blocks.append(table(("limit", "mA peak"), limits))
        rows = [
            (str(i + 1), _figure(f, "+.4g")) for i, f in enumerate(driver["force_on_mode_n_per_a"])
        ]
        blocks.append(table(("mode", "N/A at the reference point"), rows))
    return Chapter(title="Pushing", blocks=tuple(blocks))


def _path(hearing: Data, loop: Data, pictures: DossierPictures) -> Chapter:
    path = hearing["signal_path"]
    shown = [m["number"] for m in loop["modes"] if m["number"] <= len(path[0]["phase_deg"])]
    rows = [
        (
            row["stage"],
            row["unit"],
            *(
                f"{_text(row['magnitude_db'][n - 1], 'z.1f')} ∠ {row['phase_deg'][n - 1]:z.0f}°"
                for n in shown
            ),
        )
        for row in path
    ]
    return Chapter(
        title="Signal path",
        blocks=(
            paragraph("Every stage at every treated mode, in dB and degrees."),
            table(("stage", "unit", *(f"mode {n}" for n in shown)), rows),
            picture(pictures.path_png, "png", "Gain and phase of the stages; grey: treated modes."),
        ),
    )


def _loop(loop: Data, pictures: DossierPictures) -> Chapter:
    damped = loop["cases"][1]["poles"]
    rows = [
        (
            str(m["number"]),
            m["label"],
            m["state"],
            f"{m['level_m'] * 1e6:.3g}",
            f"{m['highest_level_m'] * 1e6:.3g}",
            m["highest_level_by"],
            f"{m['hold_power_w'] * 1e3:.2g}",
            f"{damped[m['number'] - 1]['t60_s']:.3f}",
            f"{damped[m['number'] - 1]['shift_cents']:+.2f}",
            f"{m['fastest_t60_s']:.3f}",
            m["fastest_t60_by"],
        )
        for m in loop["modes"]
    ]
    columns = (
        "mode", "kind", "state", "level µm", "most µm", "by", "hold mW",
        "damped T60 s", "shift cents", "fastest T60 s", "T60 limited by",
    )  # fmt: skip
    margins = [_margin_row(case) for case in loop["cases"]]
    findings = loop["findings"] or ["Nothing stands against this loop."]
    return Chapter(
        title="Loop",
        blocks=(
            paragraph(
                f"{loop['modes_in_plant']} modes up to {loop['highest_mode_hz']:.0f} Hz are part "
                f"of the prediction, {len(loop['observed_modes'])} are known to the observer, "
                f"{len(loop['modes'])} are treated. Total delay "
                f"{loop['total_delay_s'] * 1e3:.4g} ms, the hold's half sample not counted."
            ),
            table(columns, rows),
            table(("case", "gain margin dB", "phase margin °", "delay margin ms"), margins),
            *(paragraph(sentence) for sentence in findings),
            picture(pictures.decay_png, "png", "T60 of every mode, alone and damped."),
            picture(pictures.open_loop_png, "png", "Open loop with everything damped."),
        ),
    )


def _margin_row(case: Data) -> tuple[str, str, str, str]:
    if not case["is_stable"]:
        return (case["case"], "none: unstable", "none", "none")
    margins = case["margins"]
    return (
        case["case"],
        _text(margins["gain_db"], ".1f"),
        _text(margins["phase_deg"], ".0f"),
        _text(_scaled(margins["delay_s"], 1e3), ".3g"),
    )


def _sounds(sounds: Sequence[SoundEntry]) -> Chapter:
    blocks: list[str] = [
        paragraph(
            "Rendered by the same core that a controller would run. The files are calibrated: "
            "their comment says which voltage stands at full scale. Turn the volume down first."
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


def _harmonic(value: float | None) -> str:
    """The second harmonic, which the expansion in the motion only knows while it is small."""
    if value is None:
        return "−"
    return f"{value:.2%}" if value < SMALL_HARMONIC else "large"


def _scaled(value: float | None, factor: float) -> float | None:
    return None if value is None else value * factor


def _text(value: float | None, spec: str) -> str:
    return "∞" if value is None else format(value, spec)


def _figure(value: float | None, spec: str) -> str:
    """A figure at the reference point; a dash for a mode that does not move there."""
    return "−" if value is None else format(value, spec)
