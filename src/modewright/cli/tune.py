"""``modewright tune DESIGN -o TUNED``."""

from __future__ import annotations

import json
import sys
from pathlib import Path

import click

from modewright.cli.tables import print_table, shown_progress
from modewright.workflows.tune import tune_file, tune_sentences, tune_tables

__all__ = ["tune"]

_NOT_MET, _INTERRUPTED = 2, 130


@click.command()
@click.argument("design", type=click.Path(path_type=Path))
@click.option("-o", "--output", type=click.Path(path_type=Path), help="Tuned design file to write.")
@click.option(
    "--solution", default=1, show_default=True, type=click.IntRange(1), help="Which one to write."
)
@click.option(
    "--report", type=click.Path(path_type=Path), help="Folder for a page, pictures and data."
)
@click.option("--json", "as_json", is_flag=True, help="Print plain data instead of tables.")
def tune(
    design: Path, output: Path | None, solution: int, report: Path | None, *, as_json: bool
) -> None:
    """Change the free dimensions of DESIGN until its targets are met.

    The section [tune] of the design names them. Leaves with code 2 if the targets cannot be met;
    what stands in the way is printed and nothing is written but the report. An interrupted search
    goes on where it was when the command is repeated.
    """
    with shown_progress() as progress:
        found = tune_file(
            design, output=output, solution=solution, report=report, progress=progress
        )
    if as_json:
        click.echo(json.dumps(found, indent=2))
    else:
        for warning in found["warnings"]:
            click.echo(f"warning: {warning}", err=True)
        for table in tune_tables(found):
            print_table(table)
        for sentence in tune_sentences(found):
            click.echo(sentence)
        if found["written"]:
            click.echo(f"Solution {solution}: {output}")
    if not found["is_complete"]:
        sys.exit(_INTERRUPTED)
    if not found["solutions"]:
        sys.exit(_NOT_MET)
