"""``modewright spread DESIGN``."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING

import click

from modewright.cli.tables import print_table, shown_progress
from modewright.workflows.spread import report_spread, spread_tables

if TYPE_CHECKING:
    from modewright.workflows.spread import Accuracy

__all__ = ["spread"]


@click.command()
@click.argument("design", type=click.Path(path_type=Path))
@click.option(
    "--samples", default=2000, show_default=True, type=click.IntRange(20, 1_000_000),
    help="Pieces to draw.",
)  # fmt: skip
@click.option(
    "--scheduler", default="processes", show_default=True,
    help="serial, processes, or the address of a dask scheduler. The numbers are the same.",
)  # fmt: skip
@click.option(
    "--accuracy", default="normal", show_default=True,
    type=click.Choice(["draft", "normal", "fine"]), help="Of the pieces that are solved.",
)  # fmt: skip
@click.option(
    "--picture",
    type=click.Path(path_type=Path),
    help="PNG file: pieces by pitch, and their causes.",
)
@click.option("--json", "as_json", is_flag=True, help="Print plain data instead of tables.")
def spread(
    design: Path,
    samples: int,
    scheduler: str,
    accuracy: Accuracy,
    picture: Path | None,
    *,
    as_json: bool,
) -> None:
    """Print how far made pieces of DESIGN are off, why, and how many are good.

    The section [spread] of the design names tolerances and limits. A run that was stopped goes on
    where it was when the command is repeated.
    """
    with shown_progress() as progress:
        found = report_spread(
            design,
            samples=samples,
            scheduler=scheduler,
            accuracy=accuracy,
            picture=picture,
            progress=progress,
        )
    if as_json:
        click.echo(json.dumps(found, indent=2))
        return
    for warning in (*found["warnings"], *found["faults"], *found["strays"]):
        click.echo(f"warning: {warning}", err=True)
    for table in spread_tables(found):
        print_table(table)
