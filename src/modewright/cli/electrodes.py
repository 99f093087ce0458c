"""``modewright electrodes DESIGN``."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING

import click

from modewright.cli.tables import print_table, shown_progress
from modewright.workflows.electrodes import electrode_tables, electrode_text, report_electrodes

if TYPE_CHECKING:
    from modewright.workflows.electrodes import Accuracy

__all__ = ["electrodes"]


@click.command()
@click.argument("design", type=click.Path(path_type=Path))
@click.option(
    "-o",
    "--output",
    type=click.Path(path_type=Path),
    help="Folder for outlines, a section of a design file, pictures and data.",
)
@click.option(
    "--accuracy",
    default="normal",
    show_default=True,
    type=click.Choice(["draft", "normal", "fine"]),
)
@click.option("--json", "as_json", is_flag=True, help="Print plain data instead of tables.")
def electrodes(design: Path, output: Path | None, accuracy: Accuracy, *, as_json: bool) -> None:
    """Shape plates that hear some modes of DESIGN and reject others.

    The section [electrodes] of the design says which, where plates may lie and what can be made.
    """
    with shown_progress() as progress:
        found = report_electrodes(design, folder=output, accuracy=accuracy, progress=progress)
    if as_json:
        click.echo(json.dumps(found, indent=2))
        return
    for warning in found["warnings"]:
        click.echo(f"warning: {warning}", err=True)
    for table in electrode_tables(found):
        print_table(table)
    click.echo(electrode_text(found))
    if output is not None:
        click.echo(f"Electrodes: {output} ({len(found['files'])} files)")
