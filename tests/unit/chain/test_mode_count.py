"""The estimated number of modes against a plate whose modes can be counted one by one."""

import dataclasses

import numpy as np
import pytest

from modewright.chain.mode_count import bending_mode_count
from modewright.chain.places import place_design
from modewright.design.load import parse_design
from modewright.materials.choice import chosen_material

DESIGN = """
[design]
name = "strip"
[material]
name = "stainless 301"
[stock]
thickness = "0.1 mm"
[resonator]
kind = "strip reed"
length = "60 mm"
width = "40 mm"
[support]
kind = "clamped"
"""


@pytest.mark.parametrize("up_to_hz", [5e3, 20e3, 80e3])
def test_simply_supported_plate(up_to_hz, tmp_path):
    """Navier: one mode for every pair of half waves; the edges take perimeter times k/(4 pi)."""
    placed = place_design(parse_design(DESIGN.encode(), folder=tmp_path).design, tmp_path)
    solid = chosen_material(placed.design.material).solid
    found = bending_mode_count(placed.blank, solid, up_to_hz)
    stiffness = solid.youngs_modulus_pa * 1e-12 / 12 / (1 - solid.poisson_ratio**2)
    k_per_m = ((2 * np.pi * up_to_hz) ** 2 * solid.density_kg_per_m3 * 1e-4 / stiffness) ** 0.25
    m, n = np.meshgrid(np.arange(1, 400), np.arange(1, 400))
    counted = int((np.pi * np.hypot(m / 0.06, n / 0.04) <= k_per_m).sum())
    assert found - 0.2 * k_per_m / (4 * np.pi) == pytest.approx(counted, abs=2 + 0.02 * counted)


def test_thick_sheet_has_next_to_none(tmp_path):
    placed = place_design(parse_design(DESIGN.encode(), folder=tmp_path).design, tmp_path)
    solid = chosen_material(placed.design.material).solid
    thick = dataclasses.replace(placed.blank, thickness_m=10e-3)
    assert bending_mode_count(thick, solid, 20e3) < 2
