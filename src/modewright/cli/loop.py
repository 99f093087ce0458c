"""``modewright loop DESIGN``."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from modewright.cli.tables import print_table, shown_progress
from modewright.workflows.analysis import loop_tables, report_loop

if TYPE_CHECKING:
    from modewright.workflows.analysis import Accuracy

__all__ = ["loop"]

Data = dict[str, Any]


@click.command()
@click.argument("design", type=click.Path(path_type=Path))
@click.option(
    "--accuracy",
    default="normal",
    show_default=True,
    type=click.Choice(["draft", "normal", "fine"]),
)
@click.option("--json", "as_json", is_flag=True, help="Print plain data instead of tables.")
def loop(design: Path, accuracy: Accuracy, as_json: bool) -> None:
    """Print pickup, driver, signal path, poles and margins of DESIGN's loop."""
    with shown_progress() as progress:
        found = report_loop(design, accuracy=accuracy, progress=progress)
    if as_json:
        click.echo(json.dumps(found, indent=2))
        return
    for warning in found["warnings"]:
        click.echo(f"warning: {warning}", err=True)
    for table in loop_tables(found):
        print_table(table)
    _print_verdict(found["loop"])


def _print_verdict(found: Data) -> None:
    verdict = "Stable" if found["is_stable"] else "UNSTABLE"
    click.echo(
        f"{verdict}: {found['modes_in_plant']} modes up to {found['highest_mode_hz']:.0f} Hz, "
        f"{found['total_delay_s'] * 1e3:.4g} ms of delay."
    )
    for sentence in found["findings"]:
        click.echo(sentence)
