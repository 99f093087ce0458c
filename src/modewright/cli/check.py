"""``modewright check DESIGN``."""

from __future__ import annotations

import click

from modewright.workflows.check import check_design

__all__ = ["check"]


@click.command()
@click.argument("design", type=click.Path())
def check(design: str) -> None:
    """Print the complete DESIGN with defaults filled in and marked.

    Every problem of the file is listed at once, each with its line. Values that look odd but may
    be meant are listed as warnings.
    """
    checked = check_design(design)
    click.echo(checked.complete_text, nl=False)
    click.echo(f"# design hash {checked.short_hash}")
    for warning in checked.warnings:
        click.echo(f"warning: {warning}", err=True)
