"""Values changed at random: a check ends well or tells what is wrong, never with a traceback."""

import pathlib
import re

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from modewright.errors import ModewrightError
from modewright.workflows.check import check_design

EXAMPLE = pathlib.Path(__file__).resolve().parents[2] / "examples/boathouse_bench/g3.toml"
EXTRA = """
[[features]]
kind = "round hole"
centre = ["12 mm", "0 mm"]
diameter = "3 mm"

[[features]]
kind = "slotted hole"
centre = ["8 mm", "6 mm"]
length = "5 mm"
width = "2 mm"

[[features]]
kind = "tip mass"
at = "arm 1 tip"
offset = ["-4 mm", "0 mm"]
diameter = "4 mm"
height = "2 mm"
mass = "0.2 g"

[[features]]
kind = "thinned region"
thickness = "0.7 mm"
corners = [["2 mm", "-12 mm"], ["5 mm", "-12 mm"], ["5 mm", "12 mm"], ["2 mm", "12 mm"]]
"""
TEXT = EXAMPLE.read_text(encoding="utf-8") + EXTRA
QUANTITY = re.compile(r'"(-?[\d.]+(?:e[+-]?\d+)?) ([^"]+)"')
FACTORS = [0.0, -1.0, 1e-3, 0.1, 0.5, 0.9, 1.1, 2.0, 5.0, 10.0, 1e3, 1e-9, 1e9]


def scaled(text: str, number: int, factor: float) -> str:
    """Text with one of its quantities multiplied."""
    found = list(QUANTITY.finditer(text))[number]
    value, unit = found.groups()
    return f'{text[: found.start()]}"{float(value) * factor:.9g} {unit}"{text[found.end() :]}'


COUNT = len(QUANTITY.findall(TEXT))
changes = st.lists(
    st.tuples(st.integers(0, COUNT - 1), st.sampled_from(FACTORS)), min_size=1, max_size=3
)


def check(changed, folder: pathlib.Path) -> None:
    text = TEXT
    for number, factor in changed:
        text = scaled(text, number, factor)
    file = folder / "design.toml"
    file.write_text(text, encoding="utf-8")
    try:
        checked = check_design(file)
    except ModewrightError as error:
        message = str(error)
        assert "expected" in message
        return
    assert len(checked.short_hash) == 12


_QUIET = [HealthCheck.function_scoped_fixture, HealthCheck.too_slow]


def test_undamaged(tmp_path):
    file = tmp_path / "design.toml"
    file.write_text(TEXT, encoding="utf-8")
    assert check_design(file).warnings == ()


def test_rounding_too_small_for_a_float_to_tell(tmp_path):
    file = tmp_path / "design.toml"
    file.write_text(
        '[material]\nname = "stainless 301"\n[stock]\nthickness = "1 mm"\n'
        '[resonator]\nkind = "strip reed"\nlength = "64 mm"\nwidth = "16 mm"\n'
        'tip_radius = "5e-19 mm"\n[support]\nkind = "clamped"\n',
        encoding="utf-8",
    )
    assert check_design(file).warnings == ()


@settings(max_examples=40, deadline=None, suppress_health_check=_QUIET)
@given(changed=changes)
def test_changed_values(changed, tmp_path):
    check(changed, tmp_path)


@pytest.mark.slow
@settings(max_examples=300, deadline=None, suppress_health_check=_QUIET)
@given(changed=changes)
def test_many_changed_values(changed, tmp_path):
    check(changed, tmp_path)
