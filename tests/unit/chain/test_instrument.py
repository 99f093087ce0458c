"""A whole instrument: what is refused before anything is tuned."""

import pytest

from modewright.chain.instrument import make_instrument
from modewright.design.instrument_plan import load_plan
from modewright.errors import SheetError

FAMILY = """
[design]
name = "Strip"
[material]
name = "stainless 301 half hard"
[stock]
thickness = "1 mm"
[resonator]
kind = "strip reed"
length = "60 mm"
width = "10 mm"
[support]
kind = "clamped"
"""

PLAN = """
[instrument]
name = "Strips"
[family]
file = "strip.toml"
[scale]
freq = "240 Hz"
[compass]
notes = ["1"]
[tune]
[[tune.free]]
path = "resonator.length"
lowest = "30 mm"
highest = "90 mm"
[[tune.targets]]
kind = "pitch"
mode = 1
[sheet]
length = "50 mm"
width = "40 mm"
"""


def test_a_blank_larger_than_the_sheet_is_refused_before_tuning(tmp_path):
    (tmp_path / "strip.toml").write_text(FAMILY, "utf-8")
    file = tmp_path / "plan.toml"
    file.write_text(PLAN, "utf-8")
    loaded = load_plan(file)
    told = []
    with pytest.raises(SheetError, match="room for every blank"):
        make_instrument(loaded.plan, loaded.family.design, tmp_path, progress=told.append)
    assert not told
