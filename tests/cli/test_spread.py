"""``modewright spread`` as a user meets it."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import ezdxf
import pytest

from modewright.cli.main import main
from modewright.studies.spread import Spread, spread_design
from modewright.workflows import spread as workflow
from plain_reed import PLAIN_REED

if TYPE_CHECKING:
    from pathlib import Path

SPREAD = """
[spread]
modes = 2
solved = 2
trim = "resonator.length"
[[spread.tolerances]]
kind = "strip thickness"
[[spread.limits]]
kind = "pitch"
within = "40 cents"
"""
FAST = ["--samples", "100", "--scheduler", "serial", "--accuracy", "draft"]


def test_tables_and_data_say_the_same(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "reed.toml"
    path.write_text(PLAIN_REED + SPREAD)
    main(["spread", str(path), *FAST])
    shown = capsys.readouterr().out
    picture = tmp_path / "spread.png"
    main(["spread", str(path), *FAST, "--json", "--picture", str(picture)])
    data = json.loads(capsys.readouterr().out)
    assert "ISO 9445" in shown
    assert picture.read_bytes().startswith(b"\x89PNG")
    assert f"{100 * data['yield']['as_cut']['share']:.1f}" in shown
    # A bar's pitch falls by twice the relative change of its length.
    assert data["yield"]["trimmed"]["share"] == 1
    cents = data["figures"][0]["sampled"]
    assert data["trim"]["relative"] == pytest.approx(cents / (2 * 1731.2), rel=0.05)
    assert data["temperature"]["modes"][0]["cents_per_k"] == pytest.approx(-0.332, rel=0.05)


def test_a_figure_that_parabolas_miss_is_told(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "reed.toml"
    path.write_text(PLAIN_REED + SPREAD)

    def missing(*args: Any, **kwargs: Any) -> Spread:
        found = spread_design(*args, **kwargs)
        errors = found.errors.copy()
        errors[-1, 1] = -700.0
        return replace(found, errors=errors)

    monkeypatch.setattr(workflow, "spread_design", missing)
    main(["spread", str(path), *FAST])
    told = capsys.readouterr().err
    assert told.count("warning: ") == 1
    assert "mode 2 cents: the parabolas miss a solved piece by 700" in told


def test_design_without_tolerances_is_told_what_to_add(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "reed.toml"
    path.write_text(PLAIN_REED)
    with pytest.raises(SystemExit) as left:
        main(["spread", str(path), *FAST])
    assert left.value.code == 2
    told = capsys.readouterr().err
    assert "[[spread.tolerances]]" in told
    assert "reed.toml: spread: " in told


AMOUNT = """
[[spread.tolerances]]
kind = "amount"
name = "length"
paths = ["resonator.lenght"]
plus_minus = "0.1 mm"
source = "common practice"
"""


@pytest.mark.parametrize(
    ("spoilt", "key"),
    [
        (SPREAD.replace("resonator.length", "resonator.lenght"), "trim"),
        (SPREAD + AMOUNT, "paths"),
        (SPREAD + AMOUNT.replace("lenght", "length").replace("0.1 mm", "0.1 V"), "plus_minus"),
        (SPREAD.replace('"pitch"', '"margins"').replace('within = "40 cents"', ""), "kind"),
    ],
)
def test_faults_of_tolerances_bear_their_line(
    spoilt: str, key: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "reed.toml"
    text = PLAIN_REED + spoilt
    path.write_text(text)
    with pytest.raises(SystemExit) as left:
        main(["spread", str(path), *FAST])
    assert left.value.code == 2
    told = capsys.readouterr().err
    lines = text.splitlines()
    at = int(told.partition("reed.toml:")[2].partition(":")[0])
    # A fault of an entry as a whole bears the line of its heading.
    assert lines[at - 1].startswith((f"{key} =", "[[spread.limits]]")), told


ROD = """
[material]
name = "stainless 301"
[stock]
thickness = "6 mm"
[resonator]
kind = "rod"
[[resonator.stretches]]
length = "60 mm"
diameter = "6 mm"
[support]
kind = "clamped"
"""
DRAWN = """
[material]
name = "stainless 301"
[stock]
thickness = "0.35 mm"
[resonator]
kind = "drawn outline"
file = "reed.dxf"
[support]
kind = "clamped"
"""
METAL = """
[spread]
modes = 2
solved = 2
[[spread.tolerances]]
kind = "material spread"
"""


def draw_reed(path: Path) -> None:
    document = ezdxf.new("R2010")
    document.header["$INSUNITS"] = 4
    space = document.modelspace()
    corners = [(0, 0), (30, 0), (30, 6), (0, 6)]
    space.add_lwpolyline(corners, close=True, dxfattribs={"layer": "OUTLINE"})
    space.add_line((0, 0), (0, 6), dxfattribs={"layer": "CLAMP"})
    document.saveas(path)


@pytest.mark.slow
@pytest.mark.parametrize("body", [ROD, DRAWN])
def test_bodies_of_every_origin_without_anything_electric(
    body: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    draw_reed(tmp_path / "reed.dxf")
    path = tmp_path / "body.toml"
    path.write_text(body + METAL)
    main(["spread", str(path), *FAST])
    shown = capsys.readouterr().out
    assert "trimm" not in shown
    assert "margin dB  " not in shown.split("Warmth")[1]
    main(["spread", str(path), *FAST, "--json"])
    data = json.loads(capsys.readouterr().out)
    # Half of 2 % over the square root of three.
    sigma = 1200 / math.log(2) * 0.01 / math.sqrt(3)
    assert data["contributors"][0]["cents"] == pytest.approx(sigma, rel=0.01)
    first = data["figures"][0]["first_order"]
    assert first == pytest.approx(sigma, rel=0.01)
