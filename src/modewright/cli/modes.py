"""``modewright modes DESIGN``."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from modewright.cli.tables import print_table, shown_progress
from modewright.workflows.analysis import modes_tables, report_modes

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
    for table in modes_tables(found):
        print_table(table)
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
