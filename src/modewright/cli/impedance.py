"""``modewright impedance TABLE``."""

from __future__ import annotations

import json
from pathlib import Path

import click

from modewright.cli.tables import print_table
from modewright.workflows.impedance import impedance_tables, report_impedance

__all__ = ["impedance"]


@click.command()
@click.argument("table", type=click.Path(path_type=Path))
@click.option(
    "--moving-mass",
    help='Mass of the moving part, such as "30 mg"; the force factor follows from it.',
)
@click.option("--json", "as_json", is_flag=True, help="Print plain data instead of a table.")
def impedance(table: Path, moving_mass: str | None, *, as_json: bool) -> None:
    """Find the figures of a driver in a TABLE of its measured impedance.

    The table is comma-separated, with names in its first line: frequency_hz, and either
    magnitude_ohm and phase_deg or real_ohm and imaginary_ohm. The moving part must be free.
    """
    found = report_impedance(table, moving_mass=moving_mass)
    if as_json:
        click.echo(json.dumps(found, indent=2))
        return
    for shown in impedance_tables(found):
        print_table(shown)
    click.echo("For a design file:")
    click.echo()
    click.echo(found["section"], nl=False)
