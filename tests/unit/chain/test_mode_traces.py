"""Modes found again by shape, on bodies whose modes can be told by thought."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from modewright.chain.mode_places import mode_places
from modewright.chain.mode_traces import ModeTraces, mode_traces, recognise
from modewright.chain.places import place_design
from modewright.design.load import parse_design
from modewright.materials.choice import chosen_material
from modewright.modes.solid import solve_modes

FREE = """
[material]
name = "stainless 301"
[stock]
thickness = "1 mm"
[resonator]
kind = "{kind}"
[support]
kind = "free"
"""
DISC = FREE.format(kind='disc"\ndiameter = "{size} mm') + "{more}"
MASS = """
[[features]]
kind = "tip mass"
centre = ["{x} mm", "{y} mm"]
mass = "{grams} g"
diameter = "2 mm"
"""


def placed_of(text):
    return place_design(parse_design(text.encode(), folder=Path()).design, Path())


def traced(places, placed, count=13):
    solid = chosen_material(placed.design.material).solid
    modes = solve_modes(placed.blank, solid, count=count, accuracy="draft")
    traces = ModeTraces(
        shapes=mode_traces(places, placed.blank, modes.shapes),
        freq_hz=modes.freq_hz,
        error_cents=modes.error_cents,
    )
    return traces, modes.labels


def test_places_carry_the_mass_of_the_body_and_what_is_fixed_to_it():
    placed = placed_of(DISC.format(size=80, more=MASS.format(x=30, y=0, grams=2)))
    places = mode_places(placed)
    density = chosen_material(placed.design.material).solid.density_kg_per_m3
    assert places.mass_kg.sum() == pytest.approx(density * np.pi * 0.04**2 * 1e-3 + 2e-3, rel=0.02)
    on_itself = places.on(placed.blank)
    assert (places.mass_kg @ on_itself)[0] == pytest.approx(2e-3 * 0.03, rel=0.05)


def test_places_grow_with_the_body():
    small, large = (placed_of(DISC.format(size=size, more="")) for size in (60, 90))
    places = mode_places(small)
    here, there = places.on(small.blank), places.on(large.blank)
    assert there == pytest.approx(1.5 * here, abs=1e-9)


def test_places_of_another_kind_of_body_are_none():
    disc = placed_of(DISC.format(size=60, more=""))
    plate = placed_of(FREE.format(kind='plate"\nlength = "60 mm"\nwidth = "40 mm'))
    assert mode_places(disc).on(plate.blank) is None


def test_modes_of_a_disc_are_told_apart_by_their_rings():
    small, large = (placed_of(DISC.format(size=size, more="")) for size in (80, 90))
    places = mode_places(small)
    known, labels = traced(places, small)
    found, other_labels = traced(places, large)
    # Equal masses everywhere and mass-normalised modes: the shapes are orthogonal (textbook).
    criterion = (known.shapes.T @ known.shapes) ** 2
    assert criterion == pytest.approx(np.eye(len(criterion)), abs=0.01)
    again = recognise(known, found)
    assert again.doubt(range(12)) == ""
    pairs = [(labels[i], other_labels[p]) for i, p in enumerate(again.pairs[:12])]
    # Either of two equals may come first.
    assert all(one.removesuffix(" b") == other.removesuffix(" b") for one, other in pairs)


def test_equals_that_a_mass_turns_are_found_again():
    clean, heavy = (
        placed_of(DISC.format(size=80, more=MASS.format(x=30.2, y=12.5, grams=grams)))
        for grams in (1e-6, 0.5)
    )
    places = mode_places(clean)
    known, _ = traced(places, clean)
    found, _ = traced(places, heavy)
    unturned = ((known.shapes.T @ found.shapes) ** 2)[0, :2]
    assert unturned.max() < 0.9
    again = recognise(known, found)
    assert again.doubt(range(5)) == ""
    assert sorted(again.pairs[:2]) == [0, 1]
    assert again.likeness[:2].min() > 0.95


def test_a_mode_half_of_one_kind_and_half_of_another_is_in_doubt():
    known = ModeTraces(
        shapes=np.eye(5)[:, :3], freq_hz=np.array([100.0, 200, 300]), error_cents=np.zeros(3)
    )
    half = np.sqrt(0.5)
    mixed = np.eye(5)[:, :3].copy()
    mixed[:2, :2] = [[half, -half], [half, half]]
    found = ModeTraces(shapes=mixed, freq_hz=known.freq_hz, error_cents=np.zeros(3))
    again = recognise(known, found)
    assert "mode 1 cannot be told from another" in again.doubt(range(3))
    assert again.doubt([2]) == ""
    lost = ModeTraces(
        shapes=np.eye(5)[:, [0, 1, 4]], freq_hz=known.freq_hz, error_cents=np.zeros(3)
    )
    assert "mode 3 is not found again" in recognise(known, lost).doubt(range(3))
    assert recognise(known, lost).doubt([0, 1]) == ""


def test_traces_of_other_places_have_nothing_in_common():
    known, fewer = (
        ModeTraces(shapes=np.eye(n)[:, :2], freq_hz=np.array([1.0, 2.0]), error_cents=np.zeros(2))
        for n in (6, 4)
    )
    assert not recognise(known, fewer).is_sure.any()
