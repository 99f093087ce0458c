"""The real-time core as Python sees it: load voices, run them, read what they did.

All loops over time are in C (engine/engine.c); the equations are in docs/developer/engine.md.
Lanes are voices: eight cost hardly more than one.
"""

from __future__ import annotations

import ctypes
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from modewright.errors import ModewrightError
from modewright.sound.engine_buffers import PieceBuffers, control_table
from modewright.sound.engine_library import load_engine_library
from modewright.sound.voice_columns import ONE_WHEN_IDLE, voice_columns

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from modewright.sound.engine_library import EngineLibrary, Precision, Width
    from modewright.sound.voice_program import ControlCurves, VoiceProgram

__all__ = ["Engine", "EngineOutput"]

_ALIGNMENT = 64
# In the order of `mw_run` (engine.h).
_INPUTS = ("force_n", "external", "noise_v")
# Long enough that calling costs nothing, short enough for the buffers to stay in the cache.
_PIECE_SAMPLES = 8192
_COUNTERS = ("fault", "clipped", "limited", "peak_demand")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class EngineOutput:
    """What a run gave, in the precision of the engine.

    Parameters
    ----------
    output_v : array, shape (samples, voices)
        Converted pickup voltage: the sound. [V]
    command : array, shape (samples, voices)
        After the limiter. [command unit]
    level_m : array, shape (blocks, observed, voices)
        Level of each observed mode as the observer sees it at the end of each block. [m]
    """

    output_v: NDArray[np.floating]
    command: NDArray[np.floating]
    level_m: NDArray[np.floating]


class Engine:
    """Up to eight voices of the real-time core.

    Parameters
    ----------
    precision : {"float32", "float64"}
        float32 is what sounds live, float64 what studies use.
    width : {"auto", "avx2", "baseline"}
        Build to use; the samples do not depend on it.
    block : int
        Samples per control block, one or more.
    longest_delay : int
        Samples of delay there is to be room for, 1 or more and at most what the library says
        (`longest_delay`). The delay line is all the memory that depends on it: eight numbers for
        each sample, up to the next power of two.

    Raises
    ------
    ModewrightError
        If the compiled core is missing or cannot run here.
    """

    def __init__(
        self,
        precision: Precision = "float32",
        width: Width = "auto",
        *,
        block: int = 32,
        longest_delay: int = 255,
    ) -> None:
        if block < 1:
            raise ValueError(f"block: expected one sample or more, got {block}")
        self.library: EngineLibrary = load_engine_library(precision, width)
        if not 1 <= longest_delay <= self.library.longest_delay:
            raise ValueError(
                f"longest_delay: expected 1 to {self.library.longest_delay}, got {longest_delay}"
            )
        self.block = block
        self.longest_delay = longest_delay
        self._programs: dict[int, VoiceProgram] = {}
        size = self.library.size_bytes(longest_delay)
        raw = np.zeros(size + _ALIGNMENT, dtype=np.uint8)
        start = -raw.ctypes.data % _ALIGNMENT
        self._memory = raw[start : start + size]
        self.library.calls.mw_clear(self._memory.ctypes.data, longest_delay)

    @property
    def voices(self) -> int:
        """One more than the highest lane loaded."""
        return max(self._programs, default=-1) + 1

    @property
    def fault(self) -> NDArray[np.bool_]:
        """Voices that ran out of numbers and were brought to rest, shape (voices,)."""
        return self._row("fault") != 0

    @property
    def clipped_samples(self) -> NDArray[np.int64]:
        """Samples at which the converter clipped, shape (voices,)."""
        return self._row("clipped").astype(np.int64)

    @property
    def limited_samples(self) -> NDArray[np.int64]:
        """Samples at which the command or a regulator met its limit, shape (voices,)."""
        return self._row("limited").astype(np.int64)

    @property
    def peak_demand(self) -> NDArray[np.float64]:
        """Largest command asked for before the limiter, shape (voices,). [command unit]"""
        return self._row("peak_demand").astype(np.float64)

    def view(self, name: str) -> NDArray[np.generic]:
        """One quantity of the core, sharing its memory; names are those of the field table."""
        return self.library.view(self._memory, name)

    def load(self, lane: int, program: VoiceProgram) -> None:
        """Put a voice, at rest, into a lane.

        Parameters
        ----------
        lane : int
            0 to 7.
        program : VoiceProgram

        Raises
        ------
        ValueError
            If there is no such lane, too little room, too long a delay, or another than in the
            other lanes.
        ModewrightError
            If a coefficient is too large for the precision.
        """
        if not 0 <= lane < self.library.lanes:
            raise ValueError(f"lane: expected 0 to {self.library.lanes - 1}, got {lane}")
        if program.delay_samples > self.longest_delay:
            raise ValueError(
                f"delay_samples: expected at most the {self.longest_delay} that the engine was "
                f"made for, got {program.delay_samples}"
            )
        others = {p.delay_samples for at, p in self._programs.items() if at != lane}
        if others - {program.delay_samples}:
            raise ValueError(
                f"delay_samples: expected {others.pop()} as in the other lanes, got "
                f"{program.delay_samples}"
            )
        self._write_program(lane, program)
        self._programs[lane] = program
        self._set_counts()
        self._rest(lane)

    def reset(self) -> None:
        """Bring every voice to rest; the programs stay."""
        for lane in self._programs:
            self._write_program(lane, self._programs[lane])
            self._rest(lane)
        self.view("position")[:] = 0

    def run(
        self,
        samples: int,
        *,
        force_n: NDArray[np.floating] | None = None,
        external: NDArray[np.floating] | None = None,
        noise_v: NDArray[np.floating] | None = None,
        curves: Sequence[ControlCurves] | None = None,
    ) -> EngineOutput:
        """Run all voices on from where they are.

        Parameters
        ----------
        samples : int
            How many; one or more.
        force_n, external, noise_v : float arrays, shape (samples,) or (samples, voices), or None
            Contact force, command beside that of the regulators, and noise of the pickup. A
            single column serves all voices, None is silence. [N], [command unit], [V]
        curves : sequence of ControlCurves, one for each voice, or None
            None keeps the regulators as they are. Each has ``ceil(samples / block)`` blocks.

        Returns
        -------
        EngineOutput

        Raises
        ------
        ValueError
            If nothing is loaded or a shape does not fit.
        """
        if samples < 1 or not self._programs:
            raise ValueError(
                f"run: expected samples and a loaded voice, got {samples} samples and "
                f"{self.voices} voices"
            )
        blocks, observed = -(-samples // self.block), int(self.view("observed")[0, 0])
        named = {"force_n": force_n, "external": external, "noise_v": noise_v}
        given = {
            name: self._checked_input(samples, values, name)
            for name, values in named.items()
            if values is not None
        }
        self._check_curves(curves, blocks)
        dtype = self.library.dtype
        result = EngineOutput(
            output_v=np.empty((samples, self.voices), dtype),
            command=np.empty((samples, self.voices), dtype),
            level_m=np.empty((blocks, observed, self.voices), dtype),
        )
        piece = min(blocks, max(1, _PIECE_SAMPLES // self.block))
        buffers = PieceBuffers.sized(
            self.library, tuple(given), min(samples, piece * self.block), piece, observed
        )
        for first in range(0, blocks, piece):
            self._run_piece(first, min(first + piece, blocks), given, curves, buffers, result)
        return result

    def _run_piece(
        self,
        first: int,
        last: int,
        given: dict[str, NDArray[np.floating]],
        curves: Sequence[ControlCurves] | None,
        buffers: PieceBuffers,
        result: EngineOutput,
    ) -> None:
        """Run the blocks from `first` to `last` and copy what the voices gave into `result`."""
        start, stop = first * self.block, min(last * self.block, len(result.output_v))
        buffers.take(given, start, stop)
        regulated = int(self.view("regulated")[0, 0])
        inputs = [buffers.inputs.get(name) for name in _INPUTS]
        inputs.append(
            None if curves is None else control_table(self.library, curves, regulated, first, last)
        )
        self.library.calls.mw_run(
            self._memory.ctypes.data,
            stop - start,
            self.block,
            *(None if array is None else array.ctypes.data_as(ctypes.c_void_p) for array in inputs),
            buffers.output.ctypes.data,
            buffers.command.ctypes.data,
            buffers.level.ctypes.data,
        )
        used = slice(self.voices)
        result.output_v[start:stop] = buffers.output[: stop - start, used]
        result.command[start:stop] = buffers.command[: stop - start, used]
        result.level_m[first:last] = buffers.level[: last - first, :, used]

    def _row(self, name: str) -> NDArray[np.generic]:
        return self.view(name)[0, : self.voices].copy()

    def _rest(self, lane: int) -> None:
        self.library.calls.mw_silence(self._memory.ctypes.data, lane)
        for name in _COUNTERS:
            self.view(name)[:, lane] = 0

    def _write_program(self, lane: int, program: VoiceProgram) -> None:
        columns = voice_columns(program)
        for name, values in columns.items():
            self._check_column(name, values)
        for name, values in columns.items():
            column = self.view(name)[:, lane]
            column[: len(values)] = values
            column[len(values) :] = 1 if name in ONE_WHEN_IDLE else 0

    def _check_column(self, name: str, values: NDArray[np.float64]) -> None:
        room = self.library.fields[name].rows
        if len(values) > room:
            raise ValueError(f"{name}: expected at most {room} values, got {len(values)}")
        if np.any(np.abs(values) > np.finfo(self.library.dtype).max):
            raise ModewrightError(
                f"engine: expected values of {name} within {self.library.dtype}, got "
                f"{np.abs(values).max():g}.",
                hint="Use float64, or scale the command unit.",
            )

    def _set_counts(self) -> None:
        programs = self._programs.values()
        counts = {
            "voices": self.voices,
            "modes": max(p.mode_count for p in programs),
            "observed": max(p.observed_count for p in programs),
            "regulated": max(p.regulated_count for p in programs),
            "input_sections": max(len(p.input_sections) for p in programs),
            "output_sections": max(len(p.output_sections) for p in programs),
            "delay": next(iter(programs)).delay_samples,
        }
        for name, count in counts.items():
            self.view(name)[0, 0] = count

    def _checked_input(
        self, samples: int, values: NDArray[np.floating], name: str
    ) -> NDArray[np.floating]:
        given = np.asarray(values)
        if given.shape not in ((samples,), (samples, self.voices)):
            raise ValueError(
                f"{name}: expected shape ({samples},) or ({samples}, {self.voices}), got "
                f"{given.shape}"
            )
        return np.broadcast_to(given.reshape(samples, -1), (samples, self.voices))

    def _check_curves(self, curves: Sequence[ControlCurves] | None, blocks: int) -> None:
        if curves is None:
            return
        if len(curves) != self.voices:
            raise ValueError(
                f"curves: expected one for each of {self.voices} voices, got {len(curves)}"
            )
        for lane, curve in enumerate(curves):
            program = self._programs.get(lane)
            wanted = (blocks, 0 if program is None else program.regulated_count)
            if curve.feedforward.shape != wanted:
                raise ValueError(
                    f"curves of voice {lane}: expected (blocks, regulated) = {wanted}, got "
                    f"{curve.feedforward.shape}"
                )
