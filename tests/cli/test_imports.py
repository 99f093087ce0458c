"""Heavy libraries are loaded only by what needs them."""

import subprocess
import sys

import pytest

HEAVY = (
    "matplotlib",
    "ngsolve",
    "netgen",
    "ezdxf",
    "scipy",
    "pint",
    "shapely",
    "soundfile",
    "numpy",
)
SOLVERS = ("ngsolve", "netgen", "matplotlib", "ezdxf", "soundfile")


def loaded_by(code, names):
    """Which of these libraries a fresh process has loaded after this code."""
    asked = (
        f"import sys\n{code}\nprint([n for n in {names!r} if n in sys.modules], file=sys.stderr)"
    )
    ended = subprocess.run(
        [sys.executable, "-c", asked], capture_output=True, text=True, check=True, timeout=60
    )
    return ended.stderr.strip().splitlines()[-1]


@pytest.mark.parametrize(
    ("code", "names"),
    [
        ("import modewright", HEAVY),
        ("import modewright.cli.main", HEAVY),
        ("from modewright.cli.main import modewright as m\n"
         "m.main(args=['--help'], standalone_mode=False)", HEAVY),
        ("from modewright.workflows.new import write_starter", SOLVERS),
    ],
    ids=["package", "front end", "help", "new"],
)  # fmt: skip
def test_what_is_loaded(code, names):
    assert loaded_by(code, names) == "[]"
