"""What a base feels of a note, against the field solution's own norm and closed forms."""

import numpy as np
import pytest

from modewright.chain.body import analyse_placed
from modewright.chain.note_motion import body_motion, note_motion
from modewright.chain.places import place_design
from modewright.design.load import parse_design

LENGTH_M, WIDTH_M, THICK_M = 60e-3, 8e-3, 1e-3
LOAD_KG, RADIUS_M, HEIGHT_M, FROM_TIP_M = 2e-3, 3e-3, 8e-3, 4e-3

STRIP = """
[design]
name = "strip"
[material]
name = "stainless 301 half hard"
[stock]
thickness = "1 mm"
[resonator]
kind = "strip reed"
length = "60 mm"
width = "8 mm"
"""
CLAMPED = '[support]\nkind = "clamped"\n'
LOAD = """
[[features]]
kind = "tip mass"
at = "tip"
offset = ["-4 mm", "0 mm"]
mass = "2 g"
diameter = "6 mm"
height = "8 mm"
{side}
"""


def body_of(text, folder, count=8):
    loaded = parse_design(text.encode(), folder=folder)
    body = analyse_placed(place_design(loaded.design, folder), count=count, accuracy="draft")
    return body, body.material.solid.density_kg_per_m3


def motion_of(text, folder):
    body, density = body_of(text, folder)
    return note_motion("strip", body.blank, body.basis, density), density


@pytest.mark.parametrize("side", ['side = "top"', 'side = "bottom"'])
def test_bits_have_the_energy_of_the_field_solution(side, tmp_path):
    # The solver makes every mode's norm 1 with a mass matrix of its own; a tall load turns, and
    # without its height and inertia the second mode would have less than half of it.
    body, density = body_of(STRIP + LOAD.format(side=side) + CLAMPED, tmp_path)
    norm = body_motion(body.blank, body.modes.shapes, density).norm
    assert norm == pytest.approx(np.ones(8), rel=0.01)


@pytest.mark.parametrize(("side", "sign"), [('side = "top"', 1), ('side = "bottom"', -1)])
def test_inertia_of_a_plate_and_a_cylinder_on_it(side, sign, tmp_path):
    motion, density = motion_of(STRIP + LOAD.format(side=side) + CLAMPED, tmp_path)
    plate = density * LENGTH_M * WIDTH_M * THICK_M
    at, above = LENGTH_M - FROM_TIP_M, sign * (THICK_M + HEIGHT_M) / 2
    own = LOAD_KG * (3 * RADIUS_M**2 + HEIGHT_M**2) / 12
    about_x = plate * (WIDTH_M**2 + THICK_M**2) / 12 + LOAD_KG * above**2 + own
    about_y = plate * (LENGTH_M**2 / 3 + THICK_M**2 / 12) + LOAD_KG * (at**2 + above**2) + own
    assert motion.inertia[0, 0] == pytest.approx(plate + LOAD_KG)
    assert motion.inertia[0, 2] == pytest.approx(-(plate * LENGTH_M / 2 + LOAD_KG * at))
    assert motion.inertia[2, 2] == pytest.approx(about_y, rel=2e-3)
    assert motion.inertia[1, 1] == pytest.approx(about_x, rel=2e-2)
    assert motion.inertia[0, 1] == pytest.approx(0.0, abs=1e-6 * LOAD_KG * LENGTH_M)


def test_momentum_of_a_uniform_cantilever(tmp_path):
    # Blevins, Formulas for Natural Frequency and Mode Shape, from memory: βL = 1.875104,
    # σ = 0.734096; the integrals of the shape and of x times it are 2 σ/β and 2/β² for norm L.
    motion, density = motion_of(STRIP + CLAMPED, tmp_path)
    mass = density * LENGTH_M * WIDTH_M * THICK_M
    rise, _, about_y = motion.momentum[0]
    assert rise**2 == pytest.approx(mass * (2 * 0.734096 / 1.875104) ** 2, rel=0.01)
    assert about_y / rise == pytest.approx(-LENGTH_M / 1.875104 / 0.734096, rel=0.01)


def test_modes_carry_no_more_than_the_body(tmp_path):
    # Bessel's inequality for every direction of the base, here with room for the sampling.
    motion, _ = motion_of(STRIP + LOAD.format(side="") + CLAMPED, tmp_path)
    scale = np.sqrt(np.diag(motion.inertia))
    left = (motion.inertia - motion.momentum.T @ motion.momentum) / np.outer(scale, scale)
    assert np.linalg.eigvalsh(left).min() >= -0.01


def test_a_body_that_hangs_free_moves_no_base(tmp_path):
    motion, _ = motion_of(STRIP + '[support]\nkind = "free"\n', tmp_path)
    assert not motion.momentum.any()
    assert not motion.inertia.any()
