"""Bias supplies against the limits usually cited: Ohm's law, C V, exponential decay."""

import math

import hypothesis.strategies as st
import pytest
from hypothesis import given

from modewright.transducers.bias_supply import BiasSupply, supply_figures

GIVEN = {
    "voltage_v": 200.0,
    "series_resistance_ohm": 10e6,
    "reservoir_capacitance_f": 100e-9,
    "lead_capacitance_f": 1e-9,
    "bleed_resistance_ohm": 10e6,
}
NEEDS = [
    {"voltage_v"},
    {"voltage_v", "series_resistance_ohm"},
    {"voltage_v", "lead_capacitance_f"},
    {"voltage_v", "reservoir_capacitance_f"},
    {"voltage_v", "reservoir_capacitance_f", "bleed_resistance_ohm"},
]


def test_figures_of_a_usual_supply():
    """200 V behind 10 MΩ, 100 nF bled by 10 MΩ: above 60 V, below 2 mA and 45 µC, 1.2 s."""
    volts, amps, lead, reservoir, bleed = supply_figures(BiasSupply(**GIVEN))
    assert [volts.is_within, amps.is_within, lead.is_within, reservoir.is_within] == [
        False, True, True, True,
    ]  # fmt: skip
    assert amps.value == pytest.approx(20e-6)
    assert lead.value == pytest.approx(0.2e-6)
    assert reservoir.value == pytest.approx(20e-6)
    # 200 V fall to 60 V.
    assert 200 * math.exp(-bleed.value / 1.0) == pytest.approx(60)
    assert volts.verdict == "ABOVE"


@given(st.sets(st.sampled_from(sorted(GIVEN))))
def test_nothing_missing_is_ever_safe(left_out):
    supply = BiasSupply(**{key: value for key, value in GIVEN.items() if key not in left_out})
    for figure, needs in zip(supply_figures(supply), NEEDS, strict=True):
        if needs & left_out:
            assert not figure.is_within
            assert figure.value is None
            assert figure.verdict.startswith("not shown to be safe: bias_supply.")
        else:
            assert figure.value is not None


@given(
    st.floats(1.0, 2000.0), st.floats(1e3, 1e11), st.floats(0.0, 1e-3), st.floats(0.0, 1e-5),
    st.floats(1e3, 1e11),
)  # fmt: skip
def test_more_voltage_is_never_safer(volts, series, reservoir, lead, bleed):
    def verdicts(voltage_v):
        supply = BiasSupply(
            voltage_v=voltage_v,
            series_resistance_ohm=series,
            reservoir_capacitance_f=reservoir,
            lead_capacitance_f=lead,
            bleed_resistance_ohm=bleed,
        )
        return [figure.is_within for figure in supply_figures(supply)]

    for less, more in zip(verdicts(volts), verdicts(2 * volts), strict=True):
        assert less or not more
