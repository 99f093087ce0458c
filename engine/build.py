"""Build the real-time core with the C compiler that the ``ziglang`` package carries.

``python engine/build.py`` builds what is missing or out of date for this computer, and the
WebAssembly form. The compiler, the sources and the options of each artefact are hashed; an artefact
with the right hash is left alone. Target and processor are always named: the compiler's own default
is the computer it runs on, whose library would fail on an older one.
"""

from __future__ import annotations

import hashlib
import importlib.metadata
import json
import platform
import secrets
import subprocess
import sys
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Generator

HERE = Path(__file__).resolve().parent
SOURCES = ("engine.c", "layout.c")
# What the core shares with the firmware lies in the package, which hands it out.
SHARED = HERE.parent / "src" / "modewright" / "firmware" / "c"
HASHED = (
    *(HERE / name for name in (*SOURCES, "engine.h")),
    SHARED / "numbers.h",
    SHARED / "control.h",
)
OUTPUT = HERE.parent / "src" / "modewright" / "sound" / "engine_build"
RECORD = "built.json"
COMPILER = (sys.executable, "-m", "ziglang", "cc")
FLAGS = (
    "-std=c99", "-O3", "-ffp-contract=off", "-ffreestanding", "-fno-builtin",
    "-fno-stack-protector", "-fvisibility=hidden", "-Wall", "-Wextra", "-Werror", "-Wno-gnu", "-g0",
)  # fmt: skip
_SUFFIX = {"linux": ".so", "macos": ".dylib", "windows": ".dll"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Artefact:
    """One thing to build.

    Parameters
    ----------
    name : str
        File name.
    options : tuple of str
        Options beyond those common to all.
    """

    name: str
    options: tuple[str, ...]


def artefacts(system: str, machine: str) -> tuple[Artefact, ...]:
    """What is built on a computer.

    Parameters
    ----------
    system : str
        ``linux``, ``macos`` or ``windows``.
    machine : str
        ``x86_64`` or ``aarch64``.

    Returns
    -------
    tuple of Artefact
        Native float64 and float32, in the widths that the processor may have, and WebAssembly.
    """
    abi = {"linux": "-gnu", "macos": "", "windows": "-gnu"}[system]
    native = ("-target", f"{machine}-{system}{abi}", "-shared")
    if system != "windows":
        native += ("-fPIC",)
    if system == "linux":
        native += ("-nostdlib", "-Wl,--strip-all")
    builds = [("baseline", "x86_64" if machine == "x86_64" else "generic", 16)]
    if machine == "x86_64":
        builds.append(("avx2", "x86_64+avx2", 32))
    made: list[Artefact] = []
    for width, cpu, vector_bytes in builds:
        for real, size in (("float64", 8), ("float32", 4)):
            kind = ("-DREAL64",) if size == 8 else ()
            options = (*native, f"-mcpu={cpu}", f"-DW={vector_bytes // size}", *kind)
            made.append(Artefact(name=f"{real}-{width}{_SUFFIX[system]}", options=options))
    return (*made, _wasm())


def _wasm() -> Artefact:
    return Artefact(
        name="float32.wasm",
        options=(
            "-target", "wasm32-freestanding", "-mcpu=generic+simd128", "-DW=4", "-nostdlib",
            "-Wl,--no-entry", "-Wl,--strip-all", "-Wl,--export=__heap_base",
            "-Wl,--initial-memory=1048576", "-Wl,-z,stack-size=65536",
        ),
    )  # fmt: skip


def this_computer() -> tuple[str, str]:
    """System and machine in the compiler's words; raises SystemExit for an unknown one."""
    system = {"Linux": "linux", "Darwin": "macos", "Windows": "windows"}.get(platform.system())
    machine = {"amd64": "x86_64", "x86_64": "x86_64", "arm64": "aarch64", "aarch64": "aarch64"}.get(
        platform.machine().lower()
    )
    if system is None or machine is None:
        found = f"{platform.system()} on {platform.machine()}"
        sys.exit(f"engine: expected Linux, macOS or Windows on x86-64 or ARM64, got {found}.")
    return system, machine


def build(output: Path = OUTPUT) -> list[Path]:
    """Build everything that is missing or out of date.

    Parameters
    ----------
    output : Path
        Folder of the artefacts.

    Returns
    -------
    list of Path
        All artefacts, whether built now or before.
    """
    output.mkdir(parents=True, exist_ok=True)
    record_path = output / RECORD
    record = _kept_record(record_path)
    for artefact in artefacts(*this_computer()):
        wanted = _fingerprint(artefact)
        path = output / artefact.name
        if path.exists() and record.get(artefact.name) == wanted:
            continue
        _compile(artefact, path)
        record[artefact.name] = wanted
        with _written_beside(record_path) as fresh:
            fresh.write_text(json.dumps(record, indent=2, sort_keys=True) + "\n")
    return [output / artefact.name for artefact in artefacts(*this_computer())]


def _kept_record(path: Path) -> dict[str, str]:
    """Hashes of what was built; none if the record is missing, or damaged by a full disk."""
    try:
        record = json.loads(path.read_bytes())
    except (FileNotFoundError, ValueError):
        return {}
    return record if isinstance(record, dict) else {}


@contextmanager
def _written_beside(path: Path) -> Generator[Path]:
    """Give a name that no other build has, and move what is written there into place.

    A running program may have the old file open, and two builds may run at once.
    """
    fresh = path.with_name(f"{secrets.token_hex(8)}-{path.name}")
    try:
        yield fresh
        fresh.replace(path)
    finally:
        fresh.unlink(missing_ok=True)


def _fingerprint(artefact: Artefact) -> str:
    digest = hashlib.sha256(importlib.metadata.version("ziglang").encode())
    digest.update("\0".join((*FLAGS, *artefact.options)).encode())
    for path in HASHED:
        digest.update(path.read_bytes())
    return digest.hexdigest()


def _compile(artefact: Artefact, path: Path) -> None:
    with _written_beside(path) as fresh:
        command = [*COMPILER, *FLAGS, *artefact.options, f"-I{SHARED}", "-o", str(fresh), *SOURCES]
        done = subprocess.run(command, cwd=HERE, check=False, capture_output=True, text=True)
        if done.returncode:
            sys.exit(f"engine: {artefact.name} could not be built.\n{done.stderr}")


if __name__ == "__main__":
    for built in build():
        sys.stdout.write(f"{built.name:24} {built.stat().st_size:7} bytes\n")
