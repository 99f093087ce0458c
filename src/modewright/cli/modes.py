"""``modewright modes DESIGN``."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from modewright.cli.tables import print_table, shown_progress
from modewright.workflows.analysis import report_modes

if TYPE_CHECKING:
    from modewright.workflows.analysis import Accuracy

__all__ = ["modes"]


@click.command()
@click.argument("design", type=click.Path(path_type=Path))
@click.option("--count", default=12, show_default=True, type=click.IntRange(1, 200))
@click.option(
    "--accuracy",
    default="normal",
    show_default=True,
    type=click.Choice(["draft", "normal", "fine"]),
)
@click.option("--json", "as_json", is_flag=True, help="Print plain data instead of tables.")
def modes(design: Path, count: int, accuracy: Accuracy, as_json: bool) -> None:
    """Print the modes of DESIGN with notes, errors, losses and modal masses."""
    with shown_progress() as progress:
        found = report_modes(design, count=count, accuracy=accuracy, progress=progress)
    if as_json:
        click.echo(json.dumps(found, indent=2))
        return
    for warning in found["warnings"]:
        click.echo(f"warning: {warning}", err=True)
    _print(found)


def _print(found: dict[str, Any]) -> None:
    place = found["reference_point"]["name"]
    columns = (
        "mode", "Hz", "± cents", "note", "cents", "air cents", "ratio", "Q", "T60 s", "mass g",
        "kind",
    )  # fmt: skip
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
            f"{m['modal_mass_kg'] * 1e3:.3g}" if m["modal_mass_kg"] is not None else "−",
            m["label"],
        )
        for m in found["modes"]
    ]
    title = f"{found['name']}: modes in vacuum ({found['method']}), modal mass at {place}"
    print_table(title, columns, rows)
    names = list(found["modes"][0]["loss_shares"])
    shares = [
        (str(m["number"]), *(f"{100 * m['loss_shares'][n]:.1f}" for n in names))
        for m in found["modes"]
    ]
    print_table("Share of each loss in %", ("mode", *names), shares)
    if found["wanted"] is not None:
        wanted = found["wanted"]
        click.echo(
            f"mode 1 is {wanted['cents_off']:+.1f} cents from {wanted['note']} in air, before "
            "bias and magnets act"
        )
    click.echo(
        f"body {found['body_mass_kg'] * 1e3:.2f} g, A4 = {found['a4_hz']:g} Hz, "
        f"design {found['design_hash'][:12]}"
    )
