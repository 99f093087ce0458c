"""Results as tables to read, the same on the terminal and in the dossier."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from modewright.report.tables import SMALL_HARMONIC

if TYPE_CHECKING:
    from collections.abc import Sequence

__all__ = [
    "TextTable",
    "detuning_table",
    "driver_tables",
    "held_table",
    "loss_table",
    "margin_table",
    "modes_table",
    "path_table",
    "pickup_tables",
    "rest_tables",
    "treated_table",
]

Data = dict[str, Any]

# Not another contributor: Johnson noise of the resistor over the capacitance, summed over all
# frequencies, most of it below 20 Hz.
_KTC = "kT/C, the bias resistor's at all frequencies"


@dataclass(frozen=True, slots=True, kw_only=True)
class TextTable:
    """A table with its heading, every cell as text."""

    title: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


def modes_table(modes: Data) -> TextTable:
    """Pitch, decay and modal mass of every mode; from the data of ``modes``."""
    place = modes["reference_point"]["name"]
    return TextTable(
        title=(
            f"{modes['name']}: modes in vacuum ({modes['method']}), modal mass at {place}"
        ),
        columns=(
            "mode", "Hz", "± cents", "note", "cents", "air cents", "ratio", "Q", "T60 s", "mass g",
            "kind",
        ),
        rows=tuple(
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
                _grams(m["modal_mass_kg"]),
                m["label"],
            )
            for m in modes["modes"]
        ),
    )  # fmt: skip


def loss_table(modes: Data) -> TextTable:
    """Share of each loss mechanism in every mode."""
    names = list(modes["modes"][0]["loss_shares"])
    return TextTable(
        title="Share of each loss in %",
        columns=("mode", "Q", *names),
        rows=tuple(
            (
                str(m["number"]),
                f"{m['q']:.0f}",
                *(f"{100 * m['loss_shares'][name]:.1f}" for name in names),
            )
            for m in modes["modes"]
        ),
    )


def _closed(gap: Data) -> tuple[str, str, str]:
    """How far a gap has closed, what that leaves out, and its margin."""
    if gap["closure_m"] is None:
        return "not held", "−", "−"
    return (
        f"{gap['closure_m'] * 1e6:.3g}",
        f"{gap['closure_left_out_m'] * 1e6:.1g}",
        f"{gap['pull_in_margin']:.3g}",
    )


def rest_tables(rest: Data) -> tuple[TextTable, ...]:
    """Gaps at rest, and the pitch with bias by cause; empty if nothing pulls."""
    causes = rest["shift_by_cause_cents"]
    gaps = TextTable(
        title="At rest",
        columns=("gap", "pull mN", "closed by µm", "modes left out, up to µm", "pull-in margin"),
        rows=tuple(
            (
                gap["name"],
                f"{gap['pull_n'] * 1e3:.3g}",
                *_closed(gap),
            )
            for gap in rest["gaps"]
        ),
    )
    shifts = TextTable(
        title="Pitch with bias, by cause",
        columns=("mode", "Hz", *(f"{cause}, cents" for cause in causes), "together, cents"),
        rows=tuple(
            (
                str(i + 1),
                f"{freq:.2f}",
                *(f"{cents[i]:+z.3f}" for cents in causes.values()),
                f"{rest['shift_cents'][i]:+z.3f}",
            )
            for i, freq in enumerate(rest["freq_hz"])
        ),
    )
    return (*((gaps,) if gaps.rows else ()), *((shifts,) if causes else ()))


def pickup_tables(pickup: Data) -> tuple[TextTable, TextTable]:
    """Sensitivity by mode, and noise by contributor."""
    sensitivity = TextTable(
        title=(
            f"Pickup {pickup['name']}: {pickup['capacitance_f'] * 1e12:.3g} pF, corner "
            f"{pickup['corner_hz']:.2g} Hz; signal to noise and second harmonic for "
            f"{pickup['motion_m'] * 1e6:.3g} µm peak"
        ),
        columns=("mode", "V/mm", "phase °", "S/N dB", "2nd harmonic"),
        rows=tuple(
            (
                str(i + 1),
                _figure(_scaled(value, 1e-3), "+.4g"),
                _figure(pickup["phase_deg"][i], "z.0f"),
                _figure(pickup["signal_to_noise_db"][i], ".0f"),
                _harmonic(pickup["second_harmonic"][i]),
            )
            for i, value in enumerate(pickup["sensitivity_v_per_m"])
        ),
    )
    noise = TextTable(
        title="Noise 20 Hz to 20 kHz",
        columns=("from", "µV"),
        rows=(
            *((name, f"{v * 1e6:.3g}") for name, v in pickup["noise_v_rms"].items()),
            (_KTC, f"{pickup['ktc_noise_v_rms'] * 1e6:.3g}"),
        ),
    )
    return sensitivity, noise


def driver_tables(driver: Data) -> tuple[TextTable, TextTable]:
    """What limits a driver, and its force on every mode."""
    unit = driver["drive_unit"]
    per = unit.lower()
    # Coils take milliamperes, patches volts.
    shown, factor = ("mA", 1e3) if unit == "A" else ("V", 1.0)
    lag_deg = driver["lag_at_limit_deg"]
    limits = TextTable(
        title=(
            f"Driver {driver['name']}: {driver[f'force_factor_n_per_{per}']:.3g} N/{unit} of "
            f"{driver['acts_by']}, at most {driver[f'drive_limit_{per}'] * factor:.3g} {shown} "
            f"peak {driver['duty']} ({driver['binding_limit']}), "
            f"{driver['force_limit_n'] * 1e3:.3g} mN with "
            f"{driver['second_harmonic_at_limit'] * 100:.2g} % at twice the frequency"
            + (f", {lag_deg:.1f}° late by hysteresis" if lag_deg else "")
        ),
        columns=("limit", f"{shown} peak"),
        rows=tuple(
            (cause, _bounded(_scaled(drive, factor), ".3g"))
            for cause, drive in driver[f"limit_by_cause_{per}"].items()
        ),
    )
    force = TextTable(
        title="Force on each mode, as if at the reference point",
        columns=("mode", f"N/{unit}"),
        rows=tuple(
            (str(i + 1), _figure(f, "+.4g"))
            for i, f in enumerate(driver[f"force_on_mode_n_per_{per}"])
        ),
    )
    return limits, force


def path_table(path: Sequence[Data], loop: Data) -> TextTable:
    """Every stage of the signal path at every treated mode."""
    known = len(path[0]["phase_deg"])
    shown = [m["number"] for m in loop["modes"] if m["number"] <= known]
    return TextTable(
        title="Signal path: dB ∠ degrees",
        columns=("stage", "unit", *(f"mode {n}" for n in shown)),
        rows=tuple(
            (
                row["stage"],
                row["unit"],
                *(
                    f"{_bounded(row['magnitude_db'][n - 1], 'z.1f')} ∠ "
                    f"{row['phase_deg'][n - 1]:z.0f}"
                    for n in shown
                ),
            )
            for row in path
        ),
    )


def treated_table(loop: Data) -> TextTable:
    """What the loop does with each mode it treats, and what it could do at most.

    The shortest exponential T60 stays within the driver's limit and the usual margins; at the limit
    all the way no loop could be faster.
    """
    damped = next(c["poles"] for c in loop["cases"] if c["case"] == "all damped")
    return TextTable(
        title="Treated modes",
        columns=(
            "mode", "kind", "state", "level µm", "most µm", "by", "hold mW", "damped T60 s",
            "damped cents", "exp. T60 s", "limited by", "at limit s",
        ),
        rows=tuple(
            (
                str(m["number"]),
                m["label"],
                m["state"],
                f"{m['level_m'] * 1e6:.3g}",
                f"{m['highest_level_m'] * 1e6:.3g}",
                m["highest_level_by"],
                f"{m['hold_power_w'] * 1e3:.2g}",
                _figure(damped[m["number"] - 1]["t60_s"], ".3f"),
                _figure(damped[m["number"] - 1]["shift_cents"], "+.2f"),
                f"{m['exponential_t60_s']:.3f}",
                m["exponential_t60_by"],
                f"{m['decay_at_limit_s']:.3f}",
            )
            for m in loop["modes"]
        ),
    )  # fmt: skip


def held_table(loop: Data) -> TextTable:
    """How the modes swing that the design states as held: pitch, and how fast the level settles."""
    return TextTable(
        title="Held modes: steady swing, and time in which the level comes nearer by 63 %",
        columns=("mode", "kind", "Hz", "held cents", "settles s"),
        rows=tuple(
            (
                str(held["number"]),
                held["label"],
                f"{held['freq_hz']:.2f}",
                f"{held['shift_cents']:+.2f}",
                _settling(held["level_rate_per_s"]),
            )
            for held in loop["cases"][0]["held"]
        ),
    )


def _settling(rate_per_s: float | None) -> str:
    if rate_per_s is None:
        return "−"
    return f"{1 / rate_per_s:.3f}" if rate_per_s > 0 else "never"


def detuning_table(loop: Data) -> TextTable:
    """What becomes of each treated mode when its model is off: the worse of up and down."""
    entries = loop["detuning"]
    steps = sorted({abs(c) for m in entries for c in m["detuning_cents"]})
    figures = ("held dB", "pull cents", "damped T60 s")
    return TextTable(
        title="Model off by "
        + " or ".join(f"{step:g}" for step in steps)
        + " cents, whichever way is worse: level when held, pitch, decay when damped",
        columns=("mode", "kind", *(f"{step:g} ct: {name}" for step in steps for name in figures)),
        rows=tuple(
            (
                str(m["number"]),
                m["label"],
                *(text for step in steps for text in _detuned(m, step)),
            )
            for m in entries
        ),
    )


def _detuned(mode: Data, step: float) -> tuple[str, str, str]:
    at = [i for i, cents in enumerate(mode["detuning_cents"]) if abs(cents) == step]
    level_db = _worst([mode["held_level_db"][i] for i in at])
    pull = _worst([mode["held_pull_cents"][i] for i in at])
    decays = [mode["damped_t60_s"][i] for i in at]
    slowest = "grows" if None in decays else f"{max(decays):.3f}"
    return level_db, pull, slowest


def _worst(values: list[float | None]) -> str:
    """The largest deviation; that a mode is not held at all is the worst."""
    known = [value for value in values if value is not None]
    return f"{max(known, key=abs):+.2f}" if len(known) == len(values) else "not held"


def margin_table(loop: Data) -> TextTable:
    """Gain, phase and delay margin of every case, with the frequency at which each is reached."""
    return TextTable(
        title="Margins",
        columns=("case", "gain dB", "at Hz", "phase °", "at Hz", "delay ms", "at Hz"),
        rows=tuple(
            (case["case"], *_margins(case)) for case in (*loop["cases"], *loop["other_states"][:1])
        ),
    )


def _margins(case: Data) -> tuple[str, ...]:
    if not case["is_stable"]:
        return ("none: unstable", *("−",) * 5)
    margins = case["margins"]
    return (
        _bounded(margins["gain_db"], ".1f"),
        f"{margins['gain_freq_hz']:.1f}",
        _bounded(margins["phase_deg"], ".0f"),
        f"{margins['phase_freq_hz']:.1f}",
        _bounded(_scaled(margins["delay_s"], 1e3), ".3g"),
        f"{margins['delay_freq_hz']:.1f}",
    )


def _scaled(value: float | None, factor: float) -> float | None:
    return None if value is None else value * factor


def _bounded(value: float | None, spec: str) -> str:
    """A figure of which None says that nothing bounds it."""
    return "∞" if value is None else format(value, spec)


def _figure(value: float | None, spec: str) -> str:
    """A figure, or a dash where the mode has none, such as one still at the reference point."""
    return "−" if value is None else format(value, spec)


def _grams(mass_kg: float | None) -> str:
    """Three digits without a power of ten: heavy modes hardly move the place they refer to."""
    if mass_kg is None:
        return "−"
    return f"{mass_kg * 1e3:.0f}" if mass_kg >= 1 else f"{mass_kg * 1e3:.3g}"


def _harmonic(value: float | None) -> str:
    """The second harmonic, which the expansion in the motion only knows while it is small."""
    if value is None:
        return "−"
    return f"{value:.2%}" if value < SMALL_HARMONIC else "large"
