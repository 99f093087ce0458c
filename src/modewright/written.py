"""Files written beside their destination first, so that a stop never leaves half a file."""

from __future__ import annotations

import contextlib
import secrets
from contextlib import contextmanager
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Generator
    from pathlib import Path

__all__ = ["PART_ENDING", "written_beside"]

PART_ENDING = ".part"


@contextmanager
def written_beside(path: Path) -> Generator[Path]:
    """Give a name beside a file; what is written there takes the file's place at the end.

    Parameters
    ----------
    path : Path
        Where the file is to be.

    Yields
    ------
    Path
        Hidden, ends in ``.part``, and is nobody else's: threads, processes and machines that share
        the folder each get their own. Removed if anything stops the block.

    Raises
    ------
    OSError
        If the finished file cannot take its place.
    """
    part = path.with_name(f".{secrets.token_hex(12)}{PART_ENDING}")
    try:
        yield part
        part.replace(path)
    finally:
        with contextlib.suppress(FileNotFoundError, NotADirectoryError):
            part.unlink()
