"""``modewright sensitivity DESIGN``."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING

import click

from modewright.cli.tables import print_table, shown_progress
from modewright.workflows.sensitivity import report_sensitivity, sensitivity_tables

if TYPE_CHECKING:
    from modewright.workflows.sensitivity import Accuracy

__all__ = ["sensitivity"]


@click.command()
@click.argument("design", type=click.Path(path_type=Path))
@click.option(
    "--parameter",
    "addresses",
    multiple=True,
    help="Number of the design; may be repeated. All numbers of the body if left out.",
)
@click.option("--count", default=8, show_default=True, type=click.IntRange(1, 200))
@click.option(
    "--accuracy",
    default="normal",
    show_default=True,
    type=click.Choice(["draft", "normal", "fine"]),
)
@click.option("--json", "as_json", is_flag=True, help="Print plain data instead of tables.")
def sensitivity(
    design: Path, addresses: tuple[str, ...], count: int, accuracy: Accuracy, *, as_json: bool
) -> None:
    """Print how many cents each mode of DESIGN moves for a small step of every number."""
    with shown_progress() as progress:
        found = report_sensitivity(
            design, addresses=addresses, count=count, accuracy=accuracy, progress=progress
        )
    if as_json:
        click.echo(json.dumps(found, indent=2))
        return
    for warning in found["warnings"]:
        click.echo(f"warning: {warning}", err=True)
    for table in sensitivity_tables(found):
        print_table(table)
    for one in found["without"]:
        click.echo(f"no derivative by {one['address']}: {one['reason']}")
