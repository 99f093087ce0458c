"""``modewright firmware DESIGN -o DIR``."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING

import click

from modewright.cli.tables import print_table, shown_progress
from modewright.workflows.firmware import firmware_tables, write_firmware

if TYPE_CHECKING:
    from modewright.workflows.firmware import Accuracy

__all__ = ["firmware"]


@click.command()
@click.argument("design", type=click.Path(path_type=Path))
@click.option(
    "-o",
    "--output",
    type=click.Path(path_type=Path),
    help="Folder for the sources; without it they are only compiled and tried.",
)
@click.option(
    "--accuracy",
    default="normal",
    show_default=True,
    type=click.Choice(["draft", "normal", "fine"]),
)
@click.option("--json", "as_json", is_flag=True, help="Print plain data instead of tables.")
def firmware(design: Path, output: Path | None, accuracy: Accuracy, *, as_json: bool) -> None:
    """Write the controller of DESIGN as C for a microcontroller.

    It is compiled and has to repeat a run of the simulation to the last bit before anything is
    written.
    """
    with shown_progress() as progress:
        found = write_firmware(design, output, accuracy=accuracy, progress=progress)
    if as_json:
        click.echo(json.dumps(found, indent=2))
        return
    for warning in found["warnings"]:
        click.echo(f"warning: {warning}", err=True)
    for table in firmware_tables(found):
        print_table(table)
    replay = found["replay"]
    if replay is None:
        click.echo(
            "Not replayed: found no C compiler (cc, gcc or clang). Run make where there is one."
        )
    else:
        click.echo(f"{replay['samples']} samples as in the simulation, bit for bit.")
    if output is not None:
        click.echo(f"Firmware: {output} ({len(found['files'])} files)")
