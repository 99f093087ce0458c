"""``modewright loop DESIGN``."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from modewright.cli.tables import print_table, shown_progress
from modewright.workflows.analysis import SMALL_HARMONIC, report_loop

if TYPE_CHECKING:
    from modewright.workflows.analysis import Accuracy

__all__ = ["loop"]

Data = dict[str, Any]


@click.command()
@click.argument("design", type=click.Path(path_type=Path))
@click.option(
    "--accuracy",
    default="normal",
    show_default=True,
    type=click.Choice(["draft", "normal", "fine"]),
)
@click.option("--json", "as_json", is_flag=True, help="Print plain data instead of tables.")
def loop(design: Path, accuracy: Accuracy, as_json: bool) -> None:
    """Print pickup, driver, signal path, poles and margins of DESIGN's loop."""
    with shown_progress() as progress:
        found = report_loop(design, accuracy=accuracy, progress=progress)
    if as_json:
        click.echo(json.dumps(found, indent=2))
        return
    for warning in found["warnings"]:
        click.echo(f"warning: {warning}", err=True)
    _print_rest(found["operating_point"])
    for pickup in found["pickups"]:
        _print_pickup(pickup)
    for driver in found["drivers"]:
        _print_driver(driver)
    _print_path(found["signal_path"], found["loop"])
    _print_modes(found["loop"])
    for case in found["loop"]["cases"]:
        _print_margins(case)
    _print_verdict(found["loop"])


def _print_rest(rest: Data) -> None:
    rows = [
        (
            gap["name"],
            f"{gap['pull_n'] * 1e3:.3g}",
            f"{gap['closure_m'] * 1e6:.3g}",
            f"{gap['pull_in_margin']:.3g}",
        )
        for gap in rest["gaps"]
    ]
    print_table("At rest", ("gap", "pull mN", "closed by um", "pull-in margin"), rows)
    causes = rest["shift_by_cause_cents"]
    shifts = [
        (
            str(i + 1),
            f"{rest['freq_hz'][i]:.2f}",
            *(f"{causes[name][i]:+z.3f}" for name in causes),
            f"{rest['shift_cents'][i]:+z.3f}",
        )
        for i in range(len(rest["freq_hz"]))
    ]
    print_table("Pitch with bias, cents by cause", ("mode", "Hz", *causes, "together"), shifts)


def _print_pickup(pickup: Data) -> None:
    rows = [
        (
            str(i + 1),
            _figure(sensitivity, "+.4g"),
            _figure(pickup["phase_deg"][i], "z.0f"),
            _figure(pickup["signal_to_noise_db"][i], ".0f"),
            _harmonic(pickup["second_harmonic"][i]),
        )
        for i, sensitivity in enumerate(pickup["sensitivity_v_per_m"])
    ]
    title = (
        f"Pickup {pickup['name']}: {pickup['capacitance_f'] * 1e12:.3g} pF, corner "
        f"{pickup['corner_hz']:.2g} Hz; signal to noise and second harmonic for 10 um peak"
    )
    print_table(title, ("mode", "V/m", "phase °", "dB", "2nd"), rows)
    noise = [(name, f"{value * 1e6:.3g}") for name, value in pickup["noise_v_rms"].items()]
    print_table("Noise 20 Hz to 20 kHz", ("from", "uV"), noise)


def _print_driver(driver: Data) -> None:
    rows = [(str(i + 1), _figure(f, "+.4g")) for i, f in enumerate(driver["force_on_mode_n_per_a"])]
    title = (
        f"Driver {driver['name']}: {driver['force_factor_n_per_a']:.3g} N/A on the sheet, at most "
        f"{driver['current_limit_a'] * 1e3:.3g} mA peak ({driver['binding_limit']}), "
        f"{driver['force_limit_n'] * 1e3:.3g} mN"
    )
    print_table(title, ("mode", "N/A"), rows)


def _print_path(path: list[Data], found: Data) -> None:
    treated = [m["number"] for m in found["modes"]]
    treated = [n for n in treated if n <= len(path[0]["phase_deg"])]
    rows = [
        (
            row["stage"],
            row["unit"],
            *(
                f"{_number(row['magnitude_db'][n - 1], 'z.1f')} ∠ {row['phase_deg'][n - 1]:z.0f}"
                for n in treated
            ),
        )
        for row in path
    ]
    columns = ("stage", "unit", *(f"mode {n}" for n in treated))
    print_table("Signal path: dB ∠ degrees", columns, rows)


def _print_modes(found: Data) -> None:
    cases = {case["case"]: case["poles"] for case in found["cases"]}
    damped = cases["all damped"]
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
        for m in found["modes"]
    ]
    columns = (
        "mode", "kind", "state", "level um", "most um", "by", "hold mW", "damped T60 s", "cents",
        "fastest T60 s", "T60 limited by",
    )  # fmt: skip
    print_table("Treated modes", columns, rows)


def _print_margins(case: Data) -> None:
    m = case["margins"]
    if not case["is_stable"]:
        click.echo(f"Margins, {case['case']}: none, the loop is unstable.\n")
        return
    print_table(
        f"Margins, {case['case']}",
        ("margin", "value", "at Hz"),
        [
            ("gain", f"{_number(m['gain_db'], '.1f')} dB", f"{m['gain_freq_hz']:.1f}"),
            ("phase", f"{_number(m['phase_deg'], '.0f')} degrees", f"{m['phase_freq_hz']:.1f}"),
            (
                "delay",
                "∞" if m["delay_s"] is None else f"{m['delay_s'] * 1e3:.3g} ms",
                f"{m['delay_freq_hz']:.1f}",
            ),
        ],
    )


def _print_verdict(found: Data) -> None:
    verdict = "Stable" if found["is_stable"] else "UNSTABLE"
    click.echo(
        f"{verdict}: {found['modes_in_plant']} modes up to {found['highest_mode_hz']:.0f} Hz, "
        f"{found['total_delay_s'] * 1e3:.4g} ms of delay."
    )
    for sentence in found["findings"]:
        click.echo(sentence)


def _number(value: float | None, spec: str) -> str:
    return "∞" if value is None else format(value, spec)


def _figure(value: float | None, spec: str) -> str:
    """A figure at the reference point; a dash for a mode that does not move there."""
    return "−" if value is None else format(value, spec)


def _harmonic(value: float | None) -> str:
    """The second harmonic, which is known only while it is small."""
    if value is None:
        return "−"
    return f"{value:.2%}" if value < SMALL_HARMONIC else "large"
