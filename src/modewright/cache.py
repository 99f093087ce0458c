"""Results kept on disk under the fingerprint of what they were computed from.

A kept result is only ever read back for exactly the same inputs, settings and program version, so
the cache can be deleted at any time without changing any number.
"""

from __future__ import annotations

import dataclasses
import hashlib
import os
from pathlib import Path
from typing import TYPE_CHECKING, Any, cast
from zipfile import BadZipFile

import numpy as np

from modewright import __version__

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

__all__ = ["cache_folder", "fingerprint", "keep_arrays", "kept_arrays"]

_KEEP_AT_MOST = 200


def cache_folder() -> Path:
    """Folder of kept results: ``$MODEWRIGHT_CACHE``, or modewright's own in the user's cache."""
    chosen = os.environ.get("MODEWRIGHT_CACHE")
    if chosen:
        return Path(chosen)
    home = os.environ.get("XDG_CACHE_HOME")
    return (Path(home) if home else Path.home() / ".cache") / "modewright"


def fingerprint(*things: object) -> str:
    """Hash of nested dataclasses, tuples, arrays and plain values, and of the program version.

    Parameters
    ----------
    things : dataclasses, tuples, numpy arrays, numbers, strings, None

    Returns
    -------
    str
        64 hexadecimal digits; the same for equal contents.

    Raises
    ------
    TypeError
        For anything whose contents cannot be seen.
    """
    digest = hashlib.sha256(__version__.encode())
    for piece in _pieces(things):
        digest.update(piece)
        digest.update(b"\0")
    return digest.hexdigest()


def _pieces(thing: object) -> Iterator[bytes]:
    if isinstance(thing, np.ndarray):
        array = cast("NDArray[Any]", thing)
        yield f"array {array.dtype} {array.shape}".encode()
        yield np.ascontiguousarray(array).tobytes()
    elif dataclasses.is_dataclass(thing) and not isinstance(thing, type):
        yield type(thing).__qualname__.encode()
        for field in dataclasses.fields(thing):
            yield field.name.encode()
            yield from _pieces(getattr(thing, field.name))
    elif isinstance(thing, tuple | list):
        members = cast("tuple[object, ...]", thing)
        yield f"sequence {len(members)}".encode()
        for member in members:
            yield from _pieces(member)
    elif thing is None or isinstance(thing, bool | int | float | str):
        yield f"{type(thing).__name__} {thing!r}".encode()
    else:
        raise TypeError(f"fingerprint: expected plain contents, got {type(thing).__name__}")


def kept_arrays(kind: str, key: str) -> dict[str, NDArray[Any]] | None:
    """Arrays kept under this key, or None.

    Parameters
    ----------
    kind : str
        What they are, such as ``modes``.
    key : str
        From `fingerprint`.
    """
    path = _path(kind, key)
    try:
        with np.load(path, allow_pickle=False) as file:
            return {name: file[name] for name in file.files}
    except FileNotFoundError:
        return None
    except (OSError, ValueError, BadZipFile):
        # A file cut short by a full disk or a kill is worth no more than a missing one.
        path.unlink(missing_ok=True)
        return None


def keep_arrays(kind: str, key: str, arrays: dict[str, NDArray[Any]]) -> None:
    """Keep arrays under a key, beside the destination first; drops the oldest when many."""
    path = _path(kind, key)
    path.parent.mkdir(parents=True, exist_ok=True)
    beside = path.with_name(f".{os.getpid()}.{path.name}")
    with beside.open("wb") as file:
        np.savez(file, allow_pickle=False, **arrays)
    beside.replace(path)
    kept = sorted(path.parent.glob(f"{kind}-*.npz"), key=lambda p: p.stat().st_mtime)
    for old in kept[:-_KEEP_AT_MOST]:
        old.unlink(missing_ok=True)


def _path(kind: str, key: str) -> Path:
    return cache_folder() / f"{kind}-{key[:40]}.npz"
