"""An edited design file reads back with the new values and is otherwise the author's."""

from __future__ import annotations

import difflib
import tomllib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from modewright.design.edit import edited_text
from modewright.errors import DesignError

TEXT = """\
# My reed.

[stock]
thickness = "1.0 mm"   # strip from the left shelf

[resonator]   # cut by laser
kind = "forked reed"
slot_widths = ["1.5 mm", '1.6 mm'] # both

# first arm
[[resonator.arms]]
length = '30 mm'

[[resonator.arms]]
# second arm
width = "6 mm"
length = "40 mm"

[strike]
force = "0.2 N"
ratio = 0.5
"""


def changed_lines(new: str) -> list[str]:
    rows = difflib.ndiff(TEXT.splitlines(), new.splitlines())
    return [row[2:] for row in rows if row.startswith("+ ")]


def test_only_the_lines_of_the_changed_values_differ():
    new = edited_text(TEXT, {"resonator.arms[2].length": "41.25 mm", "stock.thickness": "0.9 mm"})
    assert changed_lines(new) == [
        'thickness = "0.9 mm"   # strip from the left shelf',
        'length = "41.25 mm"',
    ]


def test_entries_of_lists_and_bare_numbers():
    new = edited_text(TEXT, {"resonator.slot_widths[2]": "1.7 mm", "strike.ratio": "0.25"})
    assert tomllib.loads(new)["resonator"]["slot_widths"] == ["1.5 mm", "1.7 mm"]
    assert tomllib.loads(new)["strike"]["ratio"] == 0.25
    assert len(changed_lines(new)) == 2


def test_a_key_left_out_is_added_to_its_table():
    new = edited_text(TEXT, {"resonator.arms[1].width": "5 mm"})
    arms = tomllib.loads(new)["resonator"]["arms"]
    assert arms[0] == {"length": "30 mm", "width": "5 mm"}
    assert len(changed_lines(new)) == 1


def test_a_section_left_out_is_added_at_the_end():
    new = edited_text(TEXT, {"design.name": "Third", "design.a4": "442 Hz"})
    assert tomllib.loads(new)["design"] == {"name": "Third", "a4": "442 Hz"}
    assert new.startswith(TEXT)


@given(st.floats(0.001, 999, allow_nan=False).map(lambda v: f"{v:.6g} mm"))
def test_any_value_reads_back(value):
    new = edited_text(TEXT, {"resonator.arms[1].length": value})
    assert tomllib.loads(new)["resonator"]["arms"][0]["length"] == value


def test_nothing_changed_is_the_same_text():
    assert edited_text(TEXT, {}) == TEXT
    windows = TEXT.replace("\n", "\r\n")
    assert edited_text(windows, {}) == windows


@pytest.mark.parametrize("address", ["features[1].width", "resonator.arms[3].length", "stock.a.b"])
def test_what_has_no_place_in_the_file_is_refused(address):
    with pytest.raises(DesignError, match="expected a value written in the file"):
        edited_text(TEXT, {address: "1 mm"})
