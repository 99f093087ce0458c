"""The compiled real-time core: which build fits this computer, and where its numbers lie."""

from __future__ import annotations

import ctypes
import functools
import platform
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Literal

import numpy as np

from modewright.errors import ModewrightError

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["BUILD_FOLDER", "EngineLibrary", "Field", "Precision", "Width", "load_engine_library"]

Precision = Literal["float32", "float64"]
Width = Literal["auto", "avx2", "baseline"]

BUILD_FOLDER = Path(__file__).resolve().parent / "engine_build"
_SUFFIX = {"Darwin": ".dylib", "Windows": ".dll"}
_POINTER = ctypes.c_void_p
_COUNTS = (
    "mw_real_size", "mw_width", "mw_lanes", "mw_controls", "mw_field_count", "mw_longest_delay",
)  # fmt: skip
_SCALAR, _LANE_INTEGERS = 0, 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Field:
    """Where one quantity lies in the memory of an engine.

    Parameters
    ----------
    kind : int
        0 one integer, 1 integers by lane, 2 numbers by lane.
    offset_bytes, stride_bytes : int
        From the start of the engine; from one row to the next.
    rows : int
        Modes or sections there is room for; 0 for the delay line, which fills what is left.
    """

    kind: int
    offset_bytes: int
    stride_bytes: int
    rows: int


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class EngineLibrary:
    """One build of the core.

    Parameters
    ----------
    name : str
        File name.
    calls : ctypes.CDLL
        The library with argument types set.
    longest_delay : int
        Samples of delay that an engine can be made for.
    lanes, width, controls : int
        Voices of an engine, voices in one vector, and control curves of a regulator.
    dtype : numpy dtype
        Of every number.
    fields : dict of Field
        Layout by name.
    """

    name: str
    calls: ctypes.CDLL
    longest_delay: int
    lanes: int
    width: int
    controls: int
    dtype: np.dtype[np.float32] | np.dtype[np.float64]
    fields: dict[str, Field]

    def size_bytes(self, delay: int) -> int:
        """Memory of one engine for delays of up to so many samples."""
        return int(self.calls.mw_size(delay))

    def view(self, memory: NDArray[np.uint8], name: str) -> NDArray[np.generic]:
        """One quantity as an array that shares the engine's memory.

        Parameters
        ----------
        memory : byte array, shape (bytes,)
        name : str
            As in the field table, such as ``body.drive_re``.

        Returns
        -------
        array, shape (rows, lanes); shape (1, 1) for a single integer
        """
        field = self.fields[name]
        dtype = self.dtype if field.kind > _LANE_INTEGERS else np.dtype(np.int32)
        rows = field.rows or (len(memory) - field.offset_bytes) // field.stride_bytes
        return np.ndarray(
            shape=(rows, 1 if field.kind == _SCALAR else self.lanes),
            dtype=dtype,
            buffer=memory,
            offset=field.offset_bytes,
            strides=(field.stride_bytes, dtype.itemsize),
        )


def load_engine_library(precision: Precision, width: Width = "auto") -> EngineLibrary:
    """Load a build of the core.

    Parameters
    ----------
    precision : {"float32", "float64"}
    width : {"auto", "avx2", "baseline"}
        Vector width; ``auto`` takes the widest that this processor can run.

    Returns
    -------
    EngineLibrary

    Raises
    ------
    ModewrightError
        If the build is missing or cannot run here; says how to build it.
    """
    if width == "auto":
        width = "avx2" if _has_avx2() else "baseline"
    elif width == "avx2" and not _has_avx2():
        raise ModewrightError(
            f"engine: expected a processor with AVX2, got {platform.machine()} without it.",
            hint="Use width 'auto'; the sound is the same, bit for bit.",
        )
    return _load(precision, width)


@functools.cache
def _has_avx2() -> bool:
    if platform.machine().lower() not in ("x86_64", "amd64"):
        return False
    return bool(_load("float32", "baseline").calls.mw_has_avx2())


@functools.cache
def _load(precision: str, width: str) -> EngineLibrary:
    path = BUILD_FOLDER / f"{precision}-{width}{_SUFFIX.get(platform.system(), '.so')}"
    if not path.exists():
        raise ModewrightError(
            f"engine: expected the compiled core at {path}, got no such file.",
            hint="Build it with `python engine/build.py` (needs the package ziglang), or install "
            "modewright again with `pip install -e .`, which does the same.",
        )
    calls = ctypes.CDLL(str(path))
    _declare(calls)
    return EngineLibrary(
        name=path.name,
        calls=calls,
        longest_delay=calls.mw_longest_delay(),
        lanes=calls.mw_lanes(),
        width=calls.mw_width(),
        controls=calls.mw_controls(),
        dtype=np.dtype(np.float64) if calls.mw_real_size() == 8 else np.dtype(np.float32),
        fields=dict(_field(calls, index) for index in range(calls.mw_field_count())),
    )


def _declare(calls: ctypes.CDLL) -> None:
    for name in _COUNTS:
        getattr(calls, name).argtypes = []
    for name in ("name", "kind", "offset", "rows", "stride"):
        getattr(calls, f"mw_field_{name}").argtypes = [ctypes.c_int32]
    calls.mw_field_name.restype = ctypes.c_char_p
    calls.mw_size.argtypes = [ctypes.c_int32]
    calls.mw_clear.argtypes = [_POINTER, ctypes.c_int32]
    calls.mw_silence.argtypes = [_POINTER, ctypes.c_int32]
    calls.mw_run.argtypes = [_POINTER, ctypes.c_int32, ctypes.c_int32, *[_POINTER] * 7]
    for name in ("mw_clear", "mw_silence", "mw_run"):
        getattr(calls, name).restype = None


def _field(calls: ctypes.CDLL, index: int) -> tuple[str, Field]:
    return calls.mw_field_name(index).decode(), Field(
        kind=calls.mw_field_kind(index),
        offset_bytes=calls.mw_field_offset(index),
        stride_bytes=calls.mw_field_stride(index),
        rows=calls.mw_field_rows(index),
    )
