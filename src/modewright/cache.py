"""Results kept on disk under the fingerprint of what they were computed from.

A kept result is only ever read back for exactly the same inputs, settings and program version, so
the cache can be deleted at any time without changing any number.
"""

from __future__ import annotations

import contextlib
import dataclasses
import functools
import hashlib
import io
import os
import time
from pathlib import Path
from typing import TYPE_CHECKING, Any, cast

import numpy as np

from modewright import __version__
from modewright.errors import ModewrightError
from modewright.written import PART_ENDING, written_beside

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

__all__ = [
    "cache_folder",
    "fingerprint",
    "is_damaged",
    "keep_arrays",
    "kept_arrays",
    "program_state",
]

_KEEP_AT_MOST = 200
_ENDING = ".kept"
_PART_LIVES_S = 24 * 3600.0
_DIGEST_BYTES = hashlib.sha256().digest_size


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


@functools.cache
def program_state() -> str:
    """Hash of the sizes and times of the program's own files.

    For results that depend on every part of it: the version alone stands still between releases.
    """
    digest = hashlib.sha256()
    here = Path(__file__).parent
    for path in sorted(here.rglob("*.py")):
        status = path.stat()
        digest.update(f"{path.relative_to(here)} {status.st_size} {status.st_mtime_ns}".encode())
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
    """Arrays kept under this key, or None if there are none or their file is damaged.

    Parameters
    ----------
    kind : str
        What they are, such as ``modes``.
    key : str
        From `fingerprint`.

    Raises
    ------
    ModewrightError
        If the folder cannot be read; `keep_arrays` if it cannot be written to.
    """
    path = _path(kind, key)
    try:
        content = path.read_bytes()
    except FileNotFoundError:
        return None
    except OSError as error:
        raise _unusable(error) from error
    digest, body = content[:_DIGEST_BYTES], content[_DIGEST_BYTES:]
    if hashlib.sha256(body).digest() != digest:
        # A file cut short by a full disk or a kill is worth no more than a missing one.
        return None
    with np.load(io.BytesIO(body), allow_pickle=False) as file:
        return {name: file[name] for name in file.files}


def is_damaged(kind: str, key: str) -> bool:
    """Whether there is a file under this key that `kept_arrays` cannot use."""
    return kept_arrays(kind, key) is None and _path(kind, key).exists()


def keep_arrays(
    kind: str, key: str, arrays: dict[str, NDArray[Any]], *, at_most: int | None = None
) -> None:
    """Keep arrays under a key, beside the destination first; drops the oldest when many.

    `at_most` says how many of the kind are kept, if not the usual number.
    """
    stream = io.BytesIO()
    np.savez(stream, allow_pickle=False, **arrays)
    body = stream.getvalue()
    path = _path(kind, key)
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with written_beside(path) as part:
            part.write_bytes(hashlib.sha256(body).digest() + body)
    except OSError as error:
        raise _unusable(error) from error
    # Another process may be dropping the same ones.
    with contextlib.suppress(FileNotFoundError):
        kept = sorted(path.parent.glob(f"{kind}-*{_ENDING}"), key=lambda p: p.stat().st_mtime)
        for old in kept[: -(at_most or _KEEP_AT_MOST)]:
            old.unlink(missing_ok=True)
        _drop_left_parts(path.parent)


def _drop_left_parts(folder: Path) -> None:
    """Remove what a process that was killed left half written; a living one takes seconds."""
    for part in folder.glob(f".*{PART_ENDING}"):
        if part.stat().st_mtime < time.time() - _PART_LIVES_S:
            part.unlink(missing_ok=True)


def _unusable(error: OSError) -> ModewrightError:
    return ModewrightError(
        f"{cache_folder()}: expected a folder to keep results in, got: {error.strerror}.",
        hint="Set MODEWRIGHT_CACHE to a folder that can be written to.",
    )


def _path(kind: str, key: str) -> Path:
    return cache_folder() / f"{kind}-{key[:40]}{_ENDING}"
