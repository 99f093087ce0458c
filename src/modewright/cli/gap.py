"""``modewright gap DESIGN``."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING

import click

from modewright.cli.tables import print_table, shown_progress
from modewright.workflows.gap import SWING, choice_text, course_tables, report_gap

if TYPE_CHECKING:
    from modewright.workflows.gap import Accuracy

__all__ = ["gap"]


@click.command()
@click.argument("design", type=click.Path(path_type=Path))
@click.option("--pickup", default="", help="Name of the pickup; the first one if left out.")
@click.option("--mode", default="1", show_default=True, help="Number or label of the mode.")
@click.option("--t60", help="Ring that is wanted, such as '6 s'.")
@click.option("--signal", help="Sensitivity that is wanted, such as '20 V/mm'.")
@click.option(
    "--swing",
    default=SWING,
    show_default=True,
    help="Swing of the reference point that the gap has to let pass twice over.",
)
@click.option(
    "--accuracy",
    default="normal",
    show_default=True,
    type=click.Choice(["draft", "normal", "fine"]),
)
@click.option("--json", "as_json", is_flag=True, help="Print plain data instead of tables.")
def gap(
    design: Path,
    pickup: str,
    mode: str,
    t60: str | None,
    signal: str | None,
    swing: str,
    accuracy: Accuracy,
    *,
    as_json: bool,
) -> None:
    """Ring and signal over the gap of a pickup of DESIGN, and the holes that serve one mode."""
    with shown_progress() as progress:
        found = report_gap(
            design,
            pickup=pickup,
            mode=mode,
            t60=t60,
            signal=signal,
            swing=swing,
            accuracy=accuracy,
            progress=progress,
        )
    if as_json:
        click.echo(json.dumps(found, indent=2))
        return
    for warning in found["warnings"]:
        click.echo(f"warning: {warning}", err=True)
    for table in course_tables(found["course"]):
        print_table(table)
    click.echo(choice_text(found["choice"]))
