"""``modewright spread`` as a user meets it."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

import pytest

from modewright.cli.main import main
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


def test_design_without_tolerances_is_told_what_to_add(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "reed.toml"
    path.write_text(PLAIN_REED)
    with pytest.raises(SystemExit) as left:
        main(["spread", str(path), *FAST])
    assert left.value.code == 2
    assert "[[spread.tolerances]]" in capsys.readouterr().err
