"""Samples kept on disk while they are made: the peak that sets their scale is known at the end."""

from __future__ import annotations

import tempfile
from contextlib import contextmanager
from typing import IO, TYPE_CHECKING

import numpy as np

from modewright.errors import ModewrightError

if TYPE_CHECKING:
    from collections.abc import Generator, Iterator
    from pathlib import Path

    from numpy.typing import NDArray

__all__ = ["Recording", "recording_beside"]

_PIECE_SAMPLES = 1 << 18
_SAMPLE = np.dtype(np.float32)


class Recording:
    """Samples in the precision of the core that plays, in a file without a name.

    Parameters
    ----------
    file : binary file
        Empty, to write and to read.
    folder : Path
        Where it lies.
    """

    def __init__(self, file: IO[bytes], folder: Path) -> None:
        self._file, self._folder = file, folder
        self.peak: float = 0.0
        self.samples: int = 0

    def take(self, samples: NDArray[np.floating]) -> None:
        """Keep the next samples.

        Raises
        ------
        ModewrightError
            If the disk is full.
        """
        kept = samples.astype(_SAMPLE)
        try:
            self._file.write(kept.tobytes())
            self._file.flush()
        except OSError as error:
            raise ModewrightError(
                f"{self._folder}: expected room for the sound, four bytes a sample while it is "
                f"played, got after {self.samples} samples: {error.strerror}.",
                hint="Make room, or write to another disk.",
            ) from error
        self.peak = max(self.peak, float(np.abs(kept).max(initial=0.0)))
        self.samples += len(kept)

    def pieces(self) -> Iterator[NDArray[np.float64]]:
        """Give all that was kept, from the beginning, in pieces of any length."""
        self._file.seek(0)
        while content := self._file.read(_PIECE_SAMPLES * _SAMPLE.itemsize):
            yield np.frombuffer(content, _SAMPLE).astype(np.float64)


@contextmanager
def recording_beside(path: Path) -> Generator[Recording]:
    """Give a recording in the folder of a file; nothing of it is left.

    Raises
    ------
    ModewrightError
        If nothing can be written there.
    """
    try:
        file = tempfile.TemporaryFile(dir=path.parent)  # noqa: SIM115 (closed below)
    except OSError as error:
        raise ModewrightError(
            f"{path}: expected a folder that can be written to, got {path.parent} "
            f"({error.strerror}).",
            hint="Choose another path.",
        ) from error
    with file:
        yield Recording(file, path.parent)
