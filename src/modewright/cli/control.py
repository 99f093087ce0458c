"""``modewright control DESIGN``."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING

import click

from modewright.cli.tables import print_table, shown_progress
from modewright.workflows.control import method_tables, report_methods

if TYPE_CHECKING:
    from modewright.workflows.control import Accuracy

__all__ = ["control"]


@click.command()
@click.argument("design", type=click.Path(path_type=Path))
@click.option(
    "--accuracy",
    default="normal",
    show_default=True,
    type=click.Choice(["draft", "normal", "fine"]),
)
@click.option("--json", "as_json", is_flag=True, help="Print plain data instead of tables.")
def control(design: Path, accuracy: Accuracy, *, as_json: bool) -> None:
    """Compare methods of control on the modes that DESIGN treats, and recommend one."""
    with shown_progress() as progress:
        found = report_methods(design, accuracy=accuracy, progress=progress)
    if as_json:
        click.echo(json.dumps(found, indent=2))
        return
    for warning in found["warnings"]:
        click.echo(f"warning: {warning}", err=True)
    for table in method_tables(found):
        print_table(table)
    click.echo(found["why"])
    if found["recommended"] not in (None, found["stated"]):
        click.echo(f'The design states loop.method = "{found["stated"]}".')
