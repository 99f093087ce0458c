"""The verbs sweep and sensitivity as a user meets them."""

import csv
import json
from pathlib import Path

import pytest
from click.testing import CliRunner

from modewright.cli.main import modewright

STRIP = """
[material]
name = "stainless 301 half hard"
[stock]
thickness = "1 mm"
[resonator]
kind = "strip reed"
length = "40 mm"
width = "10 mm"
[support]
kind = "clamped"
"""


@pytest.fixture
def design(tmp_path):
    path = tmp_path / "strip.toml"
    path.write_text(STRIP)
    return path


def run(*words):
    return CliRunner().invoke(modewright, [str(word) for word in words])


def test_sweep_writes_picture_table_and_data(design, tmp_path):
    out = tmp_path / "out"
    done = run(
        "sweep", design, "--parameter", "resonator.length", "--from", "40 mm", "--to", "44 mm",
        "--steps", 4, "--count", 3, "-o", out,
    )  # fmt: skip
    assert done.exit_code == 0, done.output
    rows = list(csv.reader((out / "sweep.csv").read_text().splitlines()))
    assert rows[0][0] == "resonator.length [mm]"
    assert [float(row[0]) for row in rows[1:]] == [40, 41, 42, 43, 44]
    data = json.loads((out / "sweep.json").read_text())
    first = data["modes"][0]["freq_hz"]
    assert first[0] / first[-1] == pytest.approx((44 / 40) ** 2, rel=5e-3)
    assert float(rows[1][1]) == pytest.approx(first[0], rel=1e-5)
    assert (out / "sweep.png").read_bytes().startswith(b"\x89PNG")
    assert "Hz at 40 mm" in done.output


@pytest.mark.parametrize(
    ("words", "answer"),
    [
        (["resonator.lenght", "40 mm", "44 mm"], 'Did you mean "resonator.length"'),
        (["resonator.length", "40", "44 mm"], "from: expected a quantity"),
        (["resonator.length", "40 mm", "40 mm"], "another value than from"),
        (["resonator.length", "40 mm", "0 mm"], "resonator.length: expected more than 0"),
    ],
)
def test_sweep_tells_faults_and_writes_nothing(design, tmp_path, words, answer):
    out = tmp_path / "out"
    address, first, last = words
    done = run(
        "sweep", design, "--parameter", address, "--from", first, "--to", last, "--steps", 2,
        "--count", 2, "-o", out,
    )  # fmt: skip
    assert done.exit_code != 0
    assert answer in f"{done.output}{done.exception}"
    assert not out.exists()


def test_sensitivity_in_workshop_steps(design):
    done = run("sensitivity", design, "--count", 2, "--accuracy", "draft", "--json")
    assert done.exit_code == 0, done.output
    data = json.loads(done.output)
    by_address = {entry["address"]: entry for entry in data["parameters"]}
    thickness = by_address["stock.thickness"]
    assert thickness["step"] == "0.01 mm"
    # One per cent of the thickness is one per cent of the pitch, 17.2 cents.
    assert thickness["cents_per_step"][0] == pytest.approx(17.3, abs=0.2)
    assert by_address["material.youngs_modulus"]["step"] == "1 %"
    assert by_address["material.youngs_modulus"]["cents_per_step"][0] == pytest.approx(
        8.66, abs=0.01
    )
    assert by_address["material.temperature"]["step"] == "1 K"


def test_sensitivity_of_one_number_as_a_table(design):
    done = run(
        "sensitivity",
        design,
        "--count",
        2,
        "--accuracy",
        "draft",
        "--parameter",
        "resonator.length",
    )
    assert done.exit_code == 0, done.output
    assert "+0.01 mm" in done.output
    assert "stock.thickness" not in done.output
    assert Path(design).read_text() == STRIP
