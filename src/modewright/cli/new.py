"""``modewright new PATH``."""

from __future__ import annotations

import click

from modewright.workflows.new import write_starter

__all__ = ["new"]


@click.command()
@click.argument("path", type=click.Path())
def new(path: str) -> None:
    """Write a commented design file to PATH; an existing file is never overwritten."""
    write_starter(path)
    click.echo(f"Wrote {path}. Look at it with: modewright check {path}")
