"""Parts and wiring: values of the design and no others."""

import csv
import io
from dataclasses import replace
from pathlib import Path
from xml.etree import ElementTree

import pytest

from modewright.design.load import load_design
from modewright.report.parts_list import PART_COLUMNS, parts_csv, parts_list
from modewright.report.wiring_sketch import wiring_svg
from modewright.transducers.bias_supply import BiasSupply
from modewright.transducers.preamp import ChargeAmplifier
from modewright.units import parse_quantity

EXAMPLE = Path(__file__).parents[3] / "examples/boathouse_bench/g3.toml"


@pytest.fixture
def design():
    return load_design(EXAMPLE).design


def test_values_are_those_of_the_design(design):
    (pickup,) = design.pickups
    amp = ChargeAmplifier(feedback_capacitance_f=2.2e-12, feedback_resistance_ohm=5e9)
    supply = BiasSupply(series_resistance_ohm=4.7e6)
    changed = replace(design, pickups=(replace(pickup, preamp=amp),), bias_supply=supply)
    rows = list(csv.reader(io.StringIO(parts_csv(parts_list(changed, [{"name": "board_1"}])))))
    assert tuple(rows[0]) == PART_COLUMNS
    value = {row[4].split(":")[0]: row[2] for row in rows[1:]}
    feedback = {row[4]: row[2] for row in rows if row[4].startswith("feedback")}
    assert parse_quantity(feedback["feedback: sets volts per coulomb"], "F") == pytest.approx(
        2.2e-12
    )
    assert parse_quantity(feedback["feedback: sets the lower corner"], "ohm") == pytest.approx(5e9)
    assert parse_quantity(value["bounds a touch"], "ohm") == pytest.approx(4.7e6)
    assert value["its reservoir"] == "to be chosen: not in the design"
    assert any(row[3] == "board_1" for row in rows)


def test_a_bare_body_needs_its_sheet_only(design):
    bare = replace(design, pickups=(), drivers=())
    assert [row[0] for row in parts_list(bare, [])] == ["sheet metal"]


def test_wiring_names_everything(design):
    named = replace(design, pickups=(replace(design.pickups[0], name='<plate & "co">'),))
    root = ElementTree.fromstring(wiring_svg(named, "wiring"))  # noqa: S314 (our own text)
    words = [text.text for text in root.iter("{http://www.w3.org/2000/svg}text")]
    for word in ('<plate & "co">', "100 V", "10 Gohm", "not given", "magnet", "box: unknown"):
        assert word in words
