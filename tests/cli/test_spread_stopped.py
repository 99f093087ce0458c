"""``modewright spread`` killed or interrupted in the middle, and told to go on."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from typing import TYPE_CHECKING, Any

import pytest

from plain_reed import PLAIN_REED

if TYPE_CHECKING:
    from pathlib import Path

SPREAD = """
[spread]
modes = 2
solved = 30
[[spread.tolerances]]
kind = "strip thickness"
[[spread.tolerances]]
kind = "amount"
name = "length"
paths = ["resonator.length"]
plus_minus = "0.1 mm"
source = "made up"
[[spread.limits]]
kind = "pitch"
within = "40 cents"
"""
_PATIENCE_S = 120


def begin(design: Path, kept: Path, scheduler: str) -> subprocess.Popen[str]:
    command = [sys.executable, "-m", "modewright", "spread", str(design), "--samples", "100"]
    options = ["--accuracy", "draft", "--scheduler", scheduler, "--json"]
    # Tests that a shell runs in the background ignore interrupts, and so would what they start.
    before = signal.signal(signal.SIGINT, signal.default_int_handler)
    try:
        return subprocess.Popen(
            [*command, *options],
            env={**os.environ, "MODEWRIGHT_CACHE": str(kept)},
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
            start_new_session=True,
        )
    finally:
        signal.signal(signal.SIGINT, before)


def finished(process: subprocess.Popen[str]) -> dict[str, Any]:
    out, err = process.communicate(timeout=_PATIENCE_S)
    assert process.returncode == 0, err
    return json.loads(out)


def wait_for_pieces(kept: Path, count: int) -> None:
    until = time.monotonic() + _PATIENCE_S
    while len(list(kept.glob("spread-*.kept"))) < count:
        assert time.monotonic() < until
        time.sleep(0.02)


@pytest.fixture(scope="module")
def unbroken(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    folder = tmp_path_factory.mktemp("unbroken")
    return finished(begin(written(folder), folder / "kept", "serial"))


def written(folder: Path) -> Path:
    design = folder / "reed.toml"
    design.write_text(PLAIN_REED + SPREAD)
    return design


@pytest.mark.slow
@pytest.mark.parametrize(
    ("scheduler", "how"), [("serial", signal.SIGKILL), ("processes", signal.SIGINT)]
)
def test_stopped_study_ends_with_the_numbers_of_an_unbroken_one(
    unbroken: dict[str, Any], tmp_path: Path, scheduler: str, how: signal.Signals
) -> None:
    design, kept = written(tmp_path), tmp_path / "kept"
    stopped = begin(design, kept, scheduler)
    wait_for_pieces(kept, 5)
    # To the whole group, as a terminal does.
    os.killpg(stopped.pid, how)
    _, err = stopped.communicate(timeout=_PATIENCE_S)
    assert stopped.returncode != 0
    assert "Traceback" not in err
    # The design, four ends and thirty pieces would be thirty-five.
    assert 5 <= len(list(kept.glob("spread-*.kept"))) < 35
    assert finished(begin(design, kept, "serial")) == unbroken
    assert unbroken["warnings"] == []
