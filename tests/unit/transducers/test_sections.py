"""Sections of the design file: names, units and defaults fit together."""

import dataclasses

import pytest

from modewright.parameters import spec_of
from modewright.transducers.driver import CoilSection
from modewright.transducers.electromagnet import Armature
from modewright.transducers.electronics import CurrentAmplifier, Electronics, VoltageAmplifier
from modewright.transducers.plate import DiscPlate, PolygonPlate, RectanglePlate
from modewright.transducers.preamp import ChargeAmplifier, Follower
from modewright.transducers.registry import DRIVERS, PICKUPS
from modewright.units import field_suffix, format_quantity, parse_quantity

SECTIONS = [
    *PICKUPS,
    *DRIVERS,
    Armature,
    ChargeAmplifier,
    CoilSection,
    CurrentAmplifier,
    DiscPlate,
    Electronics,
    Follower,
    PolygonPlate,
    RectanglePlate,
    VoltageAmplifier,
]


@pytest.mark.parametrize("section", SECTIONS, ids=lambda section: section.__name__)
def test_names_carry_their_units_and_defaults_survive_printing(section):
    for field in dataclasses.fields(section):
        spec = spec_of(field)
        assert spec is not None
        if spec.kind == "quantity":
            assert field.name.endswith(field_suffix(spec.unit))
            if isinstance(field.default, float):
                shown = format_quantity(field.default, spec.unit, show=spec.show)
                assert parse_quantity(shown, spec.unit) == pytest.approx(field.default, rel=1e-11)


def test_kinds_are_told_apart():
    for family in (PICKUPS, DRIVERS, (RectanglePlate, PolygonPlate, DiscPlate)):
        kinds = [section.kind for section in family]
        assert len(set(kinds)) == len(kinds)
