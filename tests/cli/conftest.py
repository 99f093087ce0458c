"""The command line inside the test's process, where a traceback would end the test."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

import pytest

from modewright.cli.main import main

if TYPE_CHECKING:
    from collections.abc import Callable

STRIP = """
[design]
name = "strip"
[material]
name = "stainless 301"
[stock]
thickness = "1 mm"
[resonator]
kind = "strip reed"
length = "60 mm"
width = "10 mm"
[support]
kind = "clamped"
"""


@dataclass
class Ended:
    """How a call of the command line ended."""

    code: object
    out: str
    err: str


@pytest.fixture
def call(capsys: pytest.CaptureFixture[str]) -> Callable[..., Ended]:
    """Function that runs the command line on some words."""

    def run(*words: object) -> Ended:
        capsys.readouterr()
        code = 0
        try:
            main([str(word) for word in words])
        except SystemExit as ended:
            code = ended.code
        shown = capsys.readouterr()
        return Ended(code=code, out=shown.out, err=shown.err)

    return run


@pytest.fixture
def strip(tmp_path):
    """Design file of a body that nothing hears and nothing pushes."""
    path = tmp_path / "strip.toml"
    path.write_text(STRIP, encoding="utf-8")
    return path


@pytest.fixture
def unstable(example, tmp_path):
    """Design file of the example with a loop that wants far too much."""
    text = example.read_text(encoding="utf-8").partition("\n[tune]\n")[0]
    text, count = re.subn(r"(?m)^(mode = \d+)$", r'\1\ndecay = "1 ms"', text)
    assert count > 0
    text = text.replace("[loop]\n", '[loop]\nobserver_bandwidth = "400 Hz"\n')
    path = tmp_path / "unstable.toml"
    path.write_text(text, encoding="utf-8")
    return path
