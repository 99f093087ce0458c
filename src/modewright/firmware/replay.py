"""Compile what was written, and play the test vectors through it."""

from __future__ import annotations

import re
import shutil
import subprocess
import tempfile
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

__all__ = ["FLAGS", "Replayed", "found_compiler", "replay"]

# Those of the Makefile, which says why.
FLAGS = (
    *("-O2", "-std=c99", "-ffp-contract=off", "-fno-tree-vectorize"),
    *("-Wall", "-Wextra", "-Werror"),
)
_TIMES = 50
_PATIENCE_S = 120


@dataclass(frozen=True, slots=True, kw_only=True)
class Replayed:
    """What came of it.

    Parameters
    ----------
    compiler : str
    is_equal : bool
        Whether every command was that of the simulation, bit for bit.
    told : str
        What program or compiler said.
    ns_per_sample, ticks_per_sample : float or None
        On this computer; None if it was not run, or has no clock that ticks near its processor's
        rate.
    working_bytes : int or None
        State, delay line and controls as compiled.
    """

    compiler: str
    is_equal: bool
    told: str
    ns_per_sample: float | None = None
    ticks_per_sample: float | None = None
    working_bytes: int | None = None


def found_compiler() -> tuple[str, ...] | None:
    """A C compiler of this computer, or None."""
    for name in ("cc", "gcc", "clang"):
        path = shutil.which(name)
        if path is not None:
            return (path,)
    return None


def replay(files: Mapping[str, str], compiler: Sequence[str]) -> Replayed:
    """Compile and run in a folder of its own.

    Parameters
    ----------
    files : mapping from str to str
        Sources and headers by name.
    compiler : sequence of str
        Command of a C compiler.

    Returns
    -------
    Replayed
        A compiler that fails, or a program that does not end, is told in it.
    """
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        for file, content in files.items():
            (folder / file).write_text(content, encoding="utf-8")
        program = folder / "replay"
        command = [*compiler, *FLAGS, "-o", str(program), "replay.c", "controller.c", "-lm"]
        made = _run(command, folder)
        if made.returncode:
            return Replayed(compiler=" ".join(compiler), is_equal=False, told=made.stderr.strip())
        played = _run([str(program), str(_TIMES)], folder)
    return Replayed(
        compiler=" ".join(compiler),
        is_equal=played.returncode == 0,
        told=(played.stdout + played.stderr).strip(),
        ns_per_sample=_number(r"([\d.e+-]+) ns per sample", played.stdout),
        ticks_per_sample=_number(r"([\d.e+-]+) ticks per sample", played.stdout),
        working_bytes=_whole(r"(\d+) bytes", played.stdout),
    )


def _run(command: Sequence[str], folder: Path) -> subprocess.CompletedProcess[str]:
    try:
        return subprocess.run(  # noqa: S603
            command, cwd=folder, check=False, capture_output=True, text=True, timeout=_PATIENCE_S
        )
    except (OSError, subprocess.TimeoutExpired) as error:
        return subprocess.CompletedProcess(command, 1, "", str(error))


def _number(pattern: str, text: str) -> float | None:
    found = re.search(pattern, text)
    return None if found is None else float(found.group(1))


def _whole(pattern: str, text: str) -> int | None:
    found = re.search(pattern, text)
    return None if found is None else int(found.group(1))
