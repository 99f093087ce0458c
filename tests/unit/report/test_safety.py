"""Figures of the safety page worked out by hand."""

import dataclasses

import pytest

from modewright.report.safety import CAUTIONS, safety_figures
from modewright.transducers.electronics import VoltageAmplifier


@pytest.fixture
def with_pickup(bench_g3):
    def build(**changes):
        design = bench_g3.loaded.design
        pickup = dataclasses.replace(design.pickups[0], **changes)
        return {
            figure.what.partition(": ")[2] or figure.what: figure
            for figure in safety_figures(
                dataclasses.replace(design, pickups=(pickup,)), bench_g3.hearing
            )
        }

    return build


@pytest.mark.parametrize(
    ("bias_v", "ohm", "volt_ok", "current_ok"),
    [
        (60.0, 1e8, True, True),
        (61.0, 1e8, False, True),
        (100.0, 50e3, False, True),  # 2 mA
        (100.0, 49e3, False, False),
    ],
)
def test_bias(bias_v, ohm, volt_ok, current_ok, with_pickup):
    figures = with_pickup(bias_v=bias_v, bias_resistance_ohm=ohm)
    assert figures["bias voltage"].value == f"{bias_v:g} V"
    assert (figures["bias voltage"].verdict == "within") is volt_ok
    current = figures["current through the bias resistor when touched"]
    assert float(current.value.split()[0]) == pytest.approx(1e6 * bias_v / ohm, rel=5e-3)
    assert (current.verdict == "within") is current_ok


def test_stored_energy(with_pickup, bench_g3):
    figures = with_pickup(bias_v=100.0, stray_capacitance_f=100e-12)
    total_f = bench_g3.hearing.pickups[0].figures.capacitance_f + 100e-12
    value = figures["energy stored on plate and lead"]
    assert value.value.endswith(" nJ")
    assert float(value.value.split()[0]) == pytest.approx(total_f * 100**2 / 2 * 1e9, rel=5e-3)
    assert value.verdict == "within"
    # 350 µJ at 100 V are 70 nF.
    big = with_pickup(bias_v=100.0, stray_capacitance_f=80e-9)
    assert big["energy stored on plate and lead"].verdict == "ABOVE"


def test_what_is_not_known_is_not_called_safe(with_pickup):
    figures = with_pickup()
    assert "not shown to be safe" in figures["charge of its reservoir"].verdict
    assert "not shown to be safe" in figures["box of the bias supply"].verdict


def test_loudness_is_never_called_safe(with_pickup):
    assert with_pickup()["loudness of the rendered files"].verdict.startswith("not shown")


@pytest.mark.parametrize(("bias_v", "is_within"), [(100.0, True), (600.0, False)])
def test_field_in_the_gap(bias_v, is_within, with_pickup):
    """Air breaks down near 3 kV/mm (common practice): 0.5 mm may bear 500 V at a third of it."""
    figure = with_pickup(bias_v=bias_v)["field in the gap at its narrowest"]
    assert (figure.verdict == "within") is is_within
    sparks = with_pickup(bias_v=3000.0)["field in the gap at its narrowest"]
    assert sparks.verdict.startswith("ABOVE: expect sparks")


def test_field_is_that_of_the_bent_and_tilted_gap(bench_g3, with_pickup):
    value = with_pickup(bias_v=100.0)["field in the gap at its narrowest"].value
    drawn_m = bench_g3.loaded.design.pickups[0].gap_m
    rest = bench_g3.hearing.operating_point.at_rest[0]
    # The magnet lifts the example's sheet: the gap is wider than drawn.
    assert rest.closure_m < 0
    assert float(value.split()[0]) == pytest.approx(
        0.1 / ((drawn_m - rest.closure_m) * 1e3), rel=0.02
    )
    assert float(value.split()[0]) < 0.1 / (drawn_m * 1e3)


def test_coil_at_its_limit(with_pickup, bench_g3):
    figure = with_pickup()["heat at its limit for ever"]
    driver = bench_g3.hearing.drivers[0]
    cold_mw = 16.0 * driver.figures.limits.drive**2 / 2 * 1e3
    # Copper at 50 K/W: 0.393 % more resistance per kelvin, which heats it further.
    power_mw = cold_mw
    for _ in range(30):
        power_mw = cold_mw * (1 + 3.93e-3 * 50 * power_mw * 1e-3)
    assert float(figure.value.split()[0]) == pytest.approx(power_mw, rel=5e-3)
    assert figure.verdict == "within"


def test_cautions_defer_to_those_who_decide():
    text = " ".join(CAUTIONS)
    for word in (
        "local codes",
        "licensed practitioner",
        "eye protection",
        "discharge",
        "turned down",
    ):
        assert word in text


@pytest.mark.parametrize(("limit_v", "is_within"), [(30.0, True), (50.0, False)])
def test_voltage_of_an_amplifier(limit_v, is_within, bench_g3):
    """30 V root mean square, 42.4 V peak: IEC 62368-1, ES1 (from memory)."""
    design = bench_g3.loaded.design
    electronics = dataclasses.replace(
        design.electronics, amplifier=VoltageAmplifier(limit_v=limit_v)
    )
    found = safety_figures(dataclasses.replace(design, electronics=electronics), bench_g3.hearing)
    figure = next(f for f in found if f.what.endswith("largest voltage of its amplifier"))
    assert (figure.verdict == "within") is is_within
