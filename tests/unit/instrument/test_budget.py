"""What an instrument needs, added up by hand."""

import math
from dataclasses import replace

import pytest

from modewright.instrument.budget import NoteNeeds, budget
from modewright.instrument.shared import SharedElectronics


def note(name, holding_a):
    return NoteNeeds(
        name=name, inputs=1, outputs=1, holding_a=holding_a, limit_a=0.2, resistance_ohm=16.0,
        mass_kg=10e-3,
    )  # fmt: skip


NOTES = [note("a", 0.01), note("b", 0.03), note("c", 0.02)]


def test_all_voices():
    found = budget(NOTES, SharedElectronics(quiescent_current_a=5e-3, supply_v=12.0), 4.0)
    assert (found.inputs, found.outputs, found.voices) == (3, 3, 3)
    assert found.rest_a == pytest.approx(15e-3)
    assert found.holding_a == pytest.approx(15e-3 + 0.06 / math.pi)
    assert found.most_a == pytest.approx(15e-3 + 0.6 / math.pi)
    assert found.coil_heat_w == pytest.approx(8.0 * (1e-4 + 9e-4 + 4e-4))
    assert found.supply_w == pytest.approx(24.0 * found.holding_a)
    assert (found.bodies_kg, found.total_kg) == pytest.approx((0.03, 4.03))
    assert not found.shortages


def test_the_hungriest_voices_count():
    found = budget(NOTES, SharedElectronics(voices=2, quiescent_current_a=0.0), None)
    assert found.holding_a == pytest.approx(0.05 / math.pi)
    assert found.total_kg is None


def test_a_bar_that_is_only_struck_draws_nothing():
    bar = replace(note("bar", 0.0), inputs=0, outputs=0, limit_a=0.0)
    found = budget([bar, bar], SharedElectronics(), None)
    assert (found.rest_a, found.holding_a, found.supply_w) == (0.0, 0.0, 0.0)


def test_what_does_not_suffice_is_told():
    shared = SharedElectronics(
        input_channels=2, output_channels=1, supply_limit_a=0.1, quiescent_current_a=1e-3
    )
    told = " ".join(budget(NOTES, shared, None).shortages)
    assert "3 input channels are needed and 2 are there" in told
    assert "3 output channels are needed and 1 are there" in told
    assert "at their limit" in told
    tight = budget(NOTES, SharedElectronics(supply_limit_a=0.01), None).shortages
    assert "Holding 3 notes takes" in tight[0]
