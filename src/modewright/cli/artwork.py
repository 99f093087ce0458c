"""``modewright artwork DESIGN -o DIR``."""

from __future__ import annotations

import json
from pathlib import Path

import click

from modewright.cli.tables import print_table
from modewright.workflows.artwork import artwork_tables, write_artwork

__all__ = ["artwork"]


@click.command()
@click.argument("design", type=click.Path(path_type=Path))
@click.option(
    "-o",
    "--output",
    type=click.Path(path_type=Path),
    help="Folder for the files; without it boards are only laid out and checked.",
)
@click.option("--json", "as_json", is_flag=True, help="Print plain data instead of tables.")
def artwork(design: Path, output: Path | None, *, as_json: bool) -> None:
    """Lay out the boards that carry the pickup plates of DESIGN.

    Every board is checked before anything is written: one that breaks a rule is told with place and
    reason, and the command leaves with code 2.
    """
    found = write_artwork(design, output)
    if as_json:
        click.echo(json.dumps(found, indent=2))
        return
    for warning in found["warnings"]:
        click.echo(f"warning: {warning}", err=True)
    for table in artwork_tables(found):
        print_table(table)
    for remark in found["remarks"]:
        click.echo(remark)
    click.echo("All rules are kept.")
    if output is not None:
        click.echo(f"Artwork: {output} ({len(found['files'])} files)")
