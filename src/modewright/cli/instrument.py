"""``modewright instrument PLAN -o DIR``."""

from __future__ import annotations

import json
import sys
from pathlib import Path

import click

from modewright.cli.tables import print_table, shown_progress
from modewright.workflows.instrument import (
    instrument_file,
    instrument_sentences,
    instrument_tables,
)

__all__ = ["instrument"]

_NOT_MET = 2


@click.command()
@click.argument("plan", type=click.Path(path_type=Path))
@click.option(
    "-o", "--output", type=click.Path(path_type=Path), help="Folder for designs, sheet and data."
)
@click.option("--json", "as_json", is_flag=True, help="Print plain data instead of tables.")
def instrument(plan: Path, output: Path | None, *, as_json: bool) -> None:
    """Tune all notes of the instrument file PLAN.

    Every note is made from one design, from the lowest up; the folder gets a design file of each.
    Leaves with code 2 if a note cannot be tuned; what comes nearest is shown and written all the
    same. An interrupted run goes on where it was when the command is repeated.
    """
    with shown_progress() as progress:
        found = instrument_file(plan, output=output, progress=progress)
    if as_json:
        click.echo(json.dumps(found, indent=2))
    else:
        for warning in found["warnings"]:
            click.echo(f"warning: {warning}", err=True)
        for table in instrument_tables(found):
            print_table(table)
        for sentence in instrument_sentences(found):
            click.echo(sentence)
        if found["written"]:
            click.echo(f"Instrument: {output}")
    if not all(note["is_met"] for note in found["notes"]):
        sys.exit(_NOT_MET)
