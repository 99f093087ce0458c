"""``modewright electronics DESIGN``."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING

import click

from modewright.cli.tables import print_table, shown_progress
from modewright.workflows.electronics import electronics_tables, report_electronics

if TYPE_CHECKING:
    from modewright.workflows.electronics import Accuracy

__all__ = ["electronics"]


@click.command()
@click.argument("design", type=click.Path(path_type=Path))
@click.option(
    "--accuracy",
    default="normal",
    show_default=True,
    type=click.Choice(["draft", "normal", "fine"]),
)
@click.option("--json", "as_json", is_flag=True, help="Print plain data instead of tables.")
def electronics(design: Path, accuracy: Accuracy, *, as_json: bool) -> None:
    """Print noise, hum, ripple and feedthrough around the pickup of DESIGN."""
    with shown_progress() as progress:
        found = report_electronics(design, accuracy=accuracy, progress=progress)
    if as_json:
        click.echo(json.dumps(found, indent=2))
        return
    for warning in found["warnings"]:
        click.echo(f"warning: {warning}", err=True)
    for table in electronics_tables(found):
        print_table(table)
    disturbances = found["disturbances"]
    if disturbances is None:
        click.echo("Hum, ripple and feedthrough are not judged: the design has no [surroundings].")
        return
    for what in disturbances["not_judged"]:
        click.echo(f"Not judged: {what}.")
