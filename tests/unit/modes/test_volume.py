"""Rods and solids of STEP files against rod theory, sheet, and laws."""

from __future__ import annotations

import math
from pathlib import Path

import netgen.occ
import numpy as np
import pytest

from modewright.errors import BodyError, GeometryError
from modewright.geometry.build import build_blank
from modewright.geometry.families.plate import Plate
from modewright.geometry.families.rod import Rod, RodStretch
from modewright.geometry.families.step_solid import StepSolid
from modewright.geometry.features.holes import RoundHole
from modewright.geometry.support import Clamped, ElasticClamp, Free, NodalSupports
from modewright.modes.basis import modal_mass_kg
from modewright.modes.solid import solve_modes
from modewright.modes.store import modes_from_arrays, modes_to_arrays
from sheet_blanks import STEEL

LENGTH, DIAMETER = 0.1, 6e-3
ROD = Rod(stretches=(RodStretch(length_m=LENGTH, diameter_m=DIAMETER),))
THIN = 1e-3


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A leaf 60 x 10 x 2 mm with a name at one end, two blocks, and no solid at all."""
    where = tmp_path_factory.mktemp("step")
    leaf = netgen.occ.Box((0, -5, 10), (60, 5, 12))
    leaf.faces.Min(netgen.occ.X).name = "root face"
    leaf.WriteStep(str(where / "leaf.step"))
    block = netgen.occ.Box((0, 0, 0), (5, 5, 5))
    both = netgen.occ.Compound([block, block.Move((20, 0, 0))])
    both.WriteStep(str(where / "two.step"))
    (where / "empty.step").write_text("nothing", encoding="utf-8")
    return where


def rod(support, stretches=ROD):
    return build_blank(stretches, (), support, THIN, Path())


def named(modes, kind):
    return [f for f, n in zip(modes.freq_hz, modes.labels, strict=True) if n.startswith(kind)]


@pytest.fixture(scope="module")
def free_modes():
    return solve_modes(rod(Free()), STEEL, count=8, accuracy="normal")


def test_free_rod_gives_back_the_modulus(free_modes):
    # ASTM E1876, dynamic Young's modulus of rods of circular section: E = 1.6067 (L³/D⁴) m f² T1',
    # after S. Spinner and W. E. Tefft, Proc. ASTM 61 (1961) 1221 (from memory).
    nu, ratio = STEEL.poisson_ratio, (DIAMETER / LENGTH) ** 2
    correction = 1 + 4.939 * (1 + 0.0752 * nu + 0.8109 * nu**2) * ratio - 0.4883 * ratio**2
    correction -= (4.691 * (1 + 0.2023 * nu + 2.173 * nu**2) * ratio**2) / (
        1 + 4.754 * (1 + 0.1408 * nu + 1.536 * nu**2) * ratio
    )
    modulus = (
        1.6067 * LENGTH**3 / DIAMETER**4 * free_modes.body_mass_kg * free_modes.freq_hz[0] ** 2
    ) * correction
    # Twice the 7 cents that a normal solution claims, and the formula's tenth of a per cent.
    assert modulus == pytest.approx(STEEL.youngs_modulus_pa, rel=0.01)


def test_torsion_and_extension_of_a_free_rod(free_modes):
    shear_speed = math.sqrt(STEEL.shear_modulus_pa / STEEL.density_kg_per_m3)
    assert named(free_modes, "torsion")[0] == pytest.approx(shear_speed / (2 * LENGTH), rel=1e-3)
    pair = free_modes.freq_hz[:2]
    assert pair[0] == pytest.approx(pair[1], rel=2e-3)
    assert free_modes.body_mass_kg == pytest.approx(7900 * math.pi * 9e-6 * LENGTH, rel=1e-3)


def test_bending_strain_of_a_rod_is_that_of_a_beam(free_modes):
    # Uniaxial stress dilates by 1 - 2ν: what remains of e² over E ε² in every bent section.
    beam = (1 - 2 * STEEL.poisson_ratio) ** 2 / STEEL.youngs_modulus_pa
    shares = dict(
        zip(free_modes.labels, free_modes.bending.dilatation_per_pa[0] / beam, strict=True)
    )
    bends = [share for label, share in shares.items() if label.startswith(("bending", "lateral"))]
    assert bends == pytest.approx([1.0] * len(bends), rel=0.1)
    assert shares["torsion 1"] < 1e-3
    # Zener: a round rod of diameter d relaxes like sheet of 0.853 d.
    assert free_modes.bending.thickness_m[0] == pytest.approx(0.8531 * DIAMETER, rel=1e-3)


def test_clamped_rod_at_its_tip_weighs_a_quarter():
    modes = solve_modes(rod(Clamped()), STEEL, count=4, accuracy="normal")
    masses = modal_mass_kg(modes.shapes, (LENGTH, 0.0))
    bending = modes.labels.index("bending 1")
    lateral = modes.labels.index("lateral 1")
    both = 1 / (1 / masses[bending] + 1 / masses[lateral])
    assert both == pytest.approx(modes.body_mass_kg / 4, rel=5e-3)
    unit = DIAMETER / 4 * math.sqrt(STEEL.youngs_modulus_pa / STEEL.density_kg_per_m3)
    beam = 1.8751**2 / (2 * math.pi * LENGTH**2) * unit
    assert modes.freq_hz[:2] == pytest.approx([beam, beam], rel=0.01)


def test_of_two_equal_bending_modes_one_moves_towards_the_pickup():
    modes = solve_modes(rod(Clamped()), STEEL, count=4, accuracy="draft")
    assert modes.labels == ("bending 1", "lateral 1", "bending 2", "lateral 2")
    tip = modes.shapes.displacement(np.array([[LENGTH, 0.0]]))[0]
    assert np.abs(tip[1, [0, 2]]).max() < 1e-3 * np.abs(tip[2, 0])
    assert np.abs(tip[2, [1, 3]]).max() < 1e-3 * np.abs(tip[2, 0])
    assert modes.freq_hz[0] == pytest.approx(modes.freq_hz[1], rel=1e-8)


def test_firm_springs_are_a_clamp_and_soft_ones_are_not():
    clamped = solve_modes(rod(Clamped()), STEEL, count=2, accuracy="draft").freq_hz[0]
    firm, soft = (
        solve_modes(
            rod(ElasticClamp(stiffness_n_per_m3=k)), STEEL, count=2, accuracy="draft"
        ).freq_hz[0]
        for k in (1e18, 1e13)
    )
    assert firm == pytest.approx(clamped, rel=2e-3)
    assert soft < 0.9 * clamped


def test_stepped_and_tapered_rod_has_its_volume():
    shape = Rod(
        stretches=(
            RodStretch(length_m=0.03, diameter_m=8e-3),
            RodStretch(length_m=0.05, diameter_m=4e-3, end_diameter_m=6e-3),
        )
    )
    blank = rod(Free(), shape)
    modes = solve_modes(blank, STEEL, count=3, accuracy="draft")
    volume = math.pi * (0.03 * 16e-6 + 0.05 / 3 * (4e-6 + 6e-6 + 9e-6))
    assert modes.body_mass_kg == pytest.approx(7900 * volume, rel=2e-3)
    low, high = blank.faces_m(np.array([[0.01, 0.0], [0.05, 0.0]]))
    assert high - low == pytest.approx([8e-3, 4.8e-3])


def test_leaf_from_a_file_is_the_leaf_of_sheet(folder):
    solid = StepSolid(file="leaf.step", held_faces=("root face",))
    blank = build_blank(solid, (), Clamped(), THIN, folder)
    modes = solve_modes(blank, STEEL, count=5, accuracy="normal")
    leaf = build_blank(Plate(length_m=0.06, width_m=0.01), (), Clamped(), 2e-3, folder)
    sheet = solve_modes(leaf, STEEL, count=5, accuracy="fine")
    assert modes.labels == sheet.labels
    cents = np.abs(1200 * np.log2(modes.freq_hz / sheet.freq_hz))
    assert np.all(cents < modes.error_cents + sheet.error_cents)
    # What is kept on disk is the same again.
    again = modes_from_arrays(modes_to_arrays(modes))
    places = np.array([[0.05, 0.002], [0.02, -0.004]])
    assert again.shapes.displacement(places) == pytest.approx(modes.shapes.displacement(places))
    assert modal_mass_kg(modes.shapes, (0.06, 0.0))[0] == pytest.approx(
        modal_mass_kg(sheet.shapes, (0.06, 0.0))[0], rel=1e-2
    )


def test_held_by_a_box(folder):
    box = StepSolid(
        file="leaf.step",
        held_box_low_m=(-1e-3, -6e-3, 9e-3),
        held_box_high_m=(1e-3, 6e-3, 13e-3),
    )
    name = StepSolid(file="leaf.step", held_faces=("root face",))
    by_box, by_name = (
        solve_modes(build_blank(s, (), Clamped(), THIN, folder), STEEL, count=2, accuracy="draft")
        for s in (box, name)
    )
    assert by_box.freq_hz == pytest.approx(by_name.freq_hz, rel=1e-9)
    nowhere = StepSolid(
        file="leaf.step", held_box_low_m=(0.1, 0.0, 0.0), held_box_high_m=(0.2, 1.0, 1.0)
    )
    blank = build_blank(nowhere, (), Clamped(), THIN, folder)
    with pytest.raises(GeometryError, match="held faces: expected at least one"):
        solve_modes(blank, STEEL, count=2, accuracy="draft")


@pytest.mark.parametrize(
    ("solid", "words"),
    [
        (StepSolid(file="none.step"), "can be read"),
        (StepSolid(file="two.step"), "expected one solid, got 2"),
        (StepSolid(file="empty.step"), "STEP file"),
        (StepSolid(file="leaf.step", held_faces=("rot",)), '"root face", got "rot"'),
    ],
)
def test_files_that_hold_no_such_solid(folder, solid, words):
    with pytest.raises(GeometryError, match=words):
        solid.sketch(folder)


def test_what_goes_with_sheet_only_is_refused(folder):
    with pytest.raises(BodyError, match="sheet to apply it to"):
        build_blank(ROD, (RoundHole(centre_m=(0.05, 0.0), diameter_m=1e-3),), Free(), THIN, folder)
    with pytest.raises(BodyError, match="a solid held at its faces"):
        build_blank(ROD, (), NodalSupports(stiffness_n_per_m3=1e8), THIN, folder)
    with pytest.raises(BodyError, match="jaws"):
        build_blank(ROD, (), Clamped(jaw_depth_m=5e-3), THIN, folder)
    with pytest.raises(BodyError, match="both ends"):
        build_blank(ROD, (), Clamped(edges="both ends"), THIN, folder)
