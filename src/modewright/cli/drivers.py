"""``modewright drivers DESIGN``."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING

import click

from modewright.cli.tables import print_table, shown_progress
from modewright.workflows.drivers import driver_choice_tables, report_drivers

if TYPE_CHECKING:
    from modewright.workflows.drivers import Accuracy

__all__ = ["drivers"]


@click.command()
@click.argument("design", type=click.Path(path_type=Path))
@click.option(
    "--with",
    "others",
    type=click.Path(path_type=Path),
    multiple=True,
    help="File of further [[drivers]] to choose from, on an [amplifier] of its own or without; "
    "may be given more than once.",
)
@click.option("--mode", help="Number or label of the mode; 1 unless the design says another.")
@click.option("--level", help="Amplitude to compare them at; 10 um unless the design says another.")
@click.option(
    "--accuracy",
    default="normal",
    show_default=True,
    type=click.Choice(["draft", "normal", "fine"]),
)
@click.option("--json", "as_json", is_flag=True, help="Print plain data instead of tables.")
def drivers(
    design: Path,
    others: tuple[Path, ...],
    mode: str | None,
    level: str | None,
    accuracy: Accuracy,
    *,
    as_json: bool,
) -> None:
    """Put each driver alone under the body of DESIGN and compare what it does to one mode."""
    with shown_progress() as progress:
        found = report_drivers(
            design, others=others, mode=mode, level=level, accuracy=accuracy, progress=progress
        )
    if as_json:
        click.echo(json.dumps(found, indent=2))
        return
    for warning in found["warnings"]:
        click.echo(f"warning: {warning}", err=True)
    for table in driver_choice_tables(found):
        print_table(table)
    for one in found["drivers"]:
        if "reason" in one:
            click.echo(f"{one['name']} ({one['kind']}) cannot serve: {one['reason']}")
