"""Tables and progress on the terminal; plain text when the output is not one."""

from __future__ import annotations

import shutil
from contextlib import contextmanager
from typing import TYPE_CHECKING

from rich.console import Console
from rich.table import Table

if TYPE_CHECKING:
    from collections.abc import Callable, Generator

    from modewright.workflows.analysis import TextTable

__all__ = ["print_table", "shown_progress"]

_PLAIN_WIDTH = 160


def _console() -> Console:
    # A number cut short is worse than a line that the terminal breaks.
    width = max(_PLAIN_WIDTH, shutil.get_terminal_size().columns)
    return Console(width=width, highlight=False, soft_wrap=False)


def print_table(shown: TextTable) -> None:
    """Print a table; numbers stand on the right, words on the left."""
    table = Table(box=None, pad_edge=False)
    for index, column in enumerate(shown.columns):
        is_number = bool(shown.rows) and all(_looks_numeric(row[index]) for row in shown.rows)
        table.add_column(column, justify="right" if is_number else "left", no_wrap=True)
    for row in shown.rows:
        table.add_row(*row)
    console = _console()
    console.print(shown.title, style="bold", soft_wrap=True)
    console.print(table)
    console.print()


def _looks_numeric(text: str) -> bool:
    return not text or text[0] in "+-−.0123456789∞"


@contextmanager
def shown_progress() -> Generator[Callable[[str], None]]:
    """Give a function that shows what is being done, on the terminal's error stream."""
    console = Console(stderr=True)
    if not console.is_terminal:
        yield lambda _: None
        return
    with console.status("starting") as status:
        yield lambda text: status.update(text)
