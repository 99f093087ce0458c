"""Sections of the design file: names, units and defaults fit together."""

import dataclasses

import pytest

from modewright.design.read import read_design
from modewright.design.source import parse_source
from modewright.parameters import section, sections, spec_of
from modewright.transducers.attachment import GluePad, MagnetPair, StingerRod
from modewright.transducers.electromagnet import Armature
from modewright.transducers.electronics import CurrentAmplifier, Electronics, VoltageAmplifier
from modewright.transducers.magnet_coil import GluedMagnet
from modewright.transducers.plate import DiscPlate, PolygonPlate, RectanglePlate
from modewright.transducers.preamp import ChargeAmplifier, Follower
from modewright.transducers.registry import DRIVERS, PICKUPS
from modewright.transducers.surroundings import Surroundings
from modewright.units import field_suffix, format_quantity, parse_quantity

SECTIONS = [
    *PICKUPS,
    *DRIVERS,
    Armature,
    ChargeAmplifier,
    CurrentAmplifier,
    DiscPlate,
    Electronics,
    Follower,
    GluePad,
    GluedMagnet,
    MagnetPair,
    PolygonPlate,
    RectanglePlate,
    StingerRod,
    Surroundings,
    VoltageAmplifier,
]


@pytest.mark.parametrize("member", SECTIONS, ids=lambda member: member.__name__)
def test_names_carry_their_units_and_defaults_survive_printing(member):
    for field in dataclasses.fields(member):
        spec = spec_of(field)
        assert spec is not None
        if spec.kind == "quantity":
            assert field.name.endswith(field_suffix(spec.unit))
            if isinstance(field.default, float):
                shown = format_quantity(field.default, spec.unit, show=spec.show)
                assert parse_quantity(shown, spec.unit) == pytest.approx(field.default, rel=1e-11)


def test_kinds_are_told_apart():
    for family in (PICKUPS, DRIVERS, (RectanglePlate, PolygonPlate, DiscPlate)):
        kinds = [member.kind for member in family]
        assert len(set(kinds)) == len(kinds)


@dataclasses.dataclass(frozen=True, slots=True, kw_only=True)
class _Bench:
    """A design of transducers alone."""

    pickups: tuple[object, ...] = sections("Pickups.", *PICKUPS, default=())
    drivers: tuple[object, ...] = sections("Drivers.", *DRIVERS, default=())
    electronics: Electronics = section("Electronics.", Electronics, default=Electronics())


_WRITTEN = """
[[pickups]]
name = "tip"
gap = "0.4 mm"
tilt_x = "0.5 %"
bias_resistance = "2 Gohm"
plate = { kind = "polygon", corners = [["80 mm", "0 mm"], ["90 mm", "0 mm"], ["90 mm", "8 mm"]] }

[pickups.preamp]
kind = "charge amplifier"
feedback_capacitance = "2 pF"
voltage_noise = "4 nV/√Hz"
current_noise = "2 fA/rtHz"

[[drivers]]
kind = "biased electromagnet"
position = ["30 mm", "0 mm"]
iron_gap = "2 mm"
armature = { diameter = "6 mm", thickness = "1 mm" }
coil = { semi_inductance = "0.5 ohm/rtHz", temperature_rise = "50 K" }

[electronics]
total_delay = "1 ms"
amplifier = { kind = "current", limit = "100 mA" }
"""


def test_written_units_arrive():
    bench, findings = read_design(parse_source(_WRITTEN.encode(), "bench.toml"), _Bench)
    assert (findings.problems, findings.warnings) == ([], [])
    (pickup,), (driver,) = bench.pickups, bench.drivers
    assert (pickup.gap_m, pickup.tilt_x, pickup.bias_resistance_ohm) == (0.4e-3, 0.005, 2e9)
    assert pickup.preamp.voltage_noise_v_per_rthz == pytest.approx(4e-9)
    assert pickup.preamp.current_noise_a_per_rthz == pytest.approx(2e-15)
    assert driver.coil.semi_inductance_ohm_per_rthz == 0.5
    assert driver.coil.temperature_rise_k == 50.0
    assert bench.electronics.delay_s == 1e-3
    assert bench.electronics.amplifier == CurrentAmplifier(limit_a=0.1)


@pytest.mark.parametrize("member", SECTIONS, ids=lambda member: member.__name__)
def test_no_two_fields_share_a_key(member):
    keys = [spec_of(f).key(f.name) for f in dataclasses.fields(member) if spec_of(f) is not None]
    assert len(keys) == len(set(keys))
