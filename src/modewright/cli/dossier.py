"""``modewright dossier DESIGN -o DIR``."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from modewright.cli.tables import shown_progress
from modewright.workflows.dossier import write_dossier

if TYPE_CHECKING:
    from modewright.workflows.analysis import Accuracy

__all__ = ["dossier"]


@click.command()
@click.argument("design", type=click.Path(path_type=Path))
@click.option(
    "-o", "--output", required=True, type=click.Path(path_type=Path), help="Folder to write to."
)
@click.option(
    "--accuracy",
    default="normal",
    show_default=True,
    type=click.Choice(["draft", "normal", "fine"]),
)
def dossier(design: Path, output: Path, accuracy: Accuracy) -> None:
    """Write pages, pictures, sounds, drawings and data of DESIGN into a folder."""
    with shown_progress() as progress:
        done = write_dossier(design, output, accuracy=accuracy, progress=progress)
    for warning in done.warnings:
        click.echo(f"warning: {warning}", err=True)
    for sentence in done.findings:
        click.echo(sentence)
    if done.missing:
        lacks = " and ".join(f"no {part}" for part in done.missing)
        click.echo(f"The design has {lacks}; the dossier says what to add.")
    if done.is_stable is not None:
        click.echo(
            "The loop is stable." if done.is_stable else "The loop is UNSTABLE; see the dossier."
        )
    click.echo(f"Dossier: {done.index}")
