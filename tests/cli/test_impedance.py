"""``modewright impedance`` as a user meets it."""

import json
import tomllib

import numpy as np
import pytest
from click.testing import CliRunner

from modewright.cli.main import modewright
from modewright.errors import TransducerError


def _table(path, *, polar=True, separator=","):
    freq_hz = np.geomspace(20.0, 20e3, 80)
    s = 2j * np.pi * freq_hz
    omega, mass = 2 * np.pi * 900.0, 5e-5
    friction = mass * omega / 8.0
    z = 120 + s * 6e-3 + 16.0 * s / (mass * s**2 + friction * s + mass * omega**2)
    names = ("magnitude_ohm", "phase_deg") if polar else ("real_ohm", "imaginary_ohm")
    columns = (np.abs(z), np.degrees(np.angle(z))) if polar else (z.real, z.imag)
    rows = [
        separator.join(f"{value:.9g}" for value in row)
        for row in zip(freq_hz, *columns, strict=True)
    ]
    path.write_text("\n".join([separator.join(("frequency_hz", *names)), *rows]) + "\n")
    return path


def _run(*words):
    return CliRunner().invoke(modewright, ["impedance", *map(str, words)], catch_exceptions=False)


@pytest.mark.parametrize("polar", [True, False])
def test_section_that_it_prints_is_read_back(tmp_path, polar):
    path = _table(tmp_path / "z.csv", polar=polar)
    shown = _run(path, "--moving-mass", "50 mg").output
    section = tomllib.loads(shown.split("For a design file:")[1])["drivers"][0]
    assert section["kind"] == "moving armature"
    assert section["moving_mass"] == "50 mg"
    number, unit = section["force_factor"].split()
    assert (float(number), unit) == (pytest.approx(4.0, rel=1e-4), "N/A")
    number, unit = section["coil"]["inductance"].split()
    assert (float(number), unit) == (pytest.approx(6.0, rel=1e-4), "mH")


def test_plain_data(tmp_path):
    found = json.loads(_run(_table(tmp_path / "z.csv"), "--json").output)
    assert found["figures"]["resonance_hz"]["value"] == pytest.approx(900.0, rel=1e-4)
    assert "force_factor_n_per_a" not in found["figures"]
    assert "kind" not in found["section"]


def test_wrong_tables_are_told_with_their_line(tmp_path):
    semicolons = _table(tmp_path / "s.csv", separator=";")
    with pytest.raises(TransducerError, match=r"s\.csv:1: expected the columns"):
        _run(semicolons)
    broken = _table(tmp_path / "b.csv")
    broken.write_text(broken.read_text() + "30000,open,0\n")
    with pytest.raises(TransducerError, match=r"b\.csv:82: expected a number"):
        _run(broken)
    broken.write_text(broken.read_text().replace("open", "inf"))
    with pytest.raises(TransducerError, match=r"b\.csv:82: expected finite"):
        _run(broken)
    (tmp_path / "e.csv").write_text("")
    with pytest.raises(TransducerError, match=r"e\.csv:1: .*got nothing"):
        _run(tmp_path / "e.csv")
    (tmp_path / "u.csv").write_bytes(b"\xff\xfe\x00")
    with pytest.raises(TransducerError, match="bytes that are none"):
        _run(tmp_path / "u.csv")


@pytest.mark.parametrize(("mass", "words"), [("5 mm", "a quantity"), ("0 mg", "more than 0 kg")])
def test_wrong_mass_is_told(tmp_path, mass, words):
    with pytest.raises(TransducerError, match=words):
        _run(_table(tmp_path / "z.csv"), "--moving-mass", mass)


def test_a_table_that_is_not_there(tmp_path, call):
    ended = call("impedance", tmp_path / "none.csv")
    assert ended.code == 2
    assert "none.csv: expected a table that can be read, got: No such file" in ended.err
