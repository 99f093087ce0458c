"""``modewright sweep DESIGN -o DIR``."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from modewright.cli.tables import print_table, shown_progress
from modewright.workflows.sweep import sweep_file

if TYPE_CHECKING:
    from modewright.workflows.sweep import Accuracy

__all__ = ["sweep"]


@click.command()
@click.argument("design", type=click.Path(path_type=Path))
@click.option(
    "--parameter",
    "address",
    required=True,
    help='Number of the design, such as "resonator.arms[2].length".',
)
@click.option("--from", "first", required=True, help='First value with its unit, "30 mm".')
@click.option("--to", "last", required=True, help="Last value with its unit.")
@click.option("--steps", default=100, show_default=True, type=click.IntRange(1, 10_000))
@click.option("--count", default=8, show_default=True, type=click.IntRange(1, 100))
@click.option(
    "--accuracy",
    default="draft",
    show_default=True,
    type=click.Choice(["draft", "normal", "fine"]),
)
@click.option(
    "-o", "--output", required=True, type=click.Path(path_type=Path), help="Folder to write to."
)
def sweep(
    design: Path,
    address: str,
    first: str,
    last: str,
    steps: int,
    count: int,
    accuracy: Accuracy,
    output: Path,
) -> None:
    """Vary one number of DESIGN and follow every mode by its shape.

    Writes a picture, a table and data; tells where modes cross or veer.
    """
    with shown_progress() as progress:
        done = sweep_file(
            design,
            output,
            address=address,
            first=first,
            last=last,
            steps=steps,
            count=count,
            accuracy=accuracy,
            progress=progress,
        )
    for table in done.tables:
        print_table(table)
    click.echo(f"Picture: {done.picture}")
    click.echo(f"Data: {', '.join(str(file) for file in done.files)}")
