"""Names of modes of bodies whose patterns are known beforehand."""

import numpy as np
import pytest

from modewright.geometry.blank import AttachedMass, Pocket
from modewright.geometry.loop import Loop
from modewright.modes.beam_shapes import clamped_free_shapes, plate_factors
from modewright.modes.solid import solve_modes
from sheet_blanks import STEEL, circle, rectangle, sheet, square, strip


def names(blank, count, accuracy="draft"):
    found = solve_modes(blank, STEEL, count=count, accuracy=accuracy).labels
    assert len(set(found)) == len(found) == count
    assert all(name.isascii() for name in found)
    return list(found)


def turned(loop, angle_rad):
    cos, sin = np.cos(angle_rad), np.sin(angle_rad)
    vertices = loop.vertices_m @ np.array([[cos, sin], [-sin, cos]])
    return Loop(vertices_m=vertices, bulge=loop.bulge)


def fork(*lengths_m, base_m=0.02, width_m=6e-3, slot_m=1.5e-3, is_held=True):
    """Arms side by side on a base that ends at x = 0."""
    low = -(len(lengths_m) * width_m + (len(lengths_m) - 1) * slot_m) / 2
    corners = [(-base_m, low)]
    for i, length_m in enumerate(lengths_m):
        y = low + i * (width_m + slot_m)
        corners += [(length_m, y), (length_m, y + width_m)]
        if i + 1 < len(lengths_m):
            corners += [(0.0, y + width_m), (0.0, y + width_m + slot_m)]
    corners.append((-base_m, -low))
    held = [[corners[0], corners[-1]]] if is_held else []
    return sheet(Loop.polygon(corners), 1e-3, held=held)


# Order of the modes: beam theory with L = 60 mm, w = 10 mm, h = 1 mm; see test_solid_limits.py for
# the frequencies themselves.
STRIP_HELD = [
    "bending 1", "bending 2", "lateral 1", "torsion 1", "bending 3", "bending 4", "torsion 2",
    "lateral 2", "bending 5", "torsion 3",
]  # fmt: skip
STRIP_FREE = [
    "bending 1", "bending 2", "torsion 1", "bending 3", "torsion 2", "bending 4", "lateral 1",
    "torsion 3",
]  # fmt: skip


def test_strip_held_at_one_end():
    assert names(strip(0.06, 0.01, 1e-3), 10) == STRIP_HELD


def test_free_strip_begins_with_number_one_of_each_kind():
    assert names(strip(0.06, 0.01, 1e-3, is_held=False), 8) == STRIP_FREE


@pytest.mark.parametrize("angle_deg", [30, 90, 135, 180])
def test_direction_does_not_matter(angle_deg):
    outer = turned(rectangle(0, -0.005, 0.06, 0.005), np.radians(angle_deg))
    assert names(sheet(outer, 1e-3), 8) == STRIP_FREE


def test_a_hole_is_no_slot_between_arms():
    holed = strip(0.06, 0.01, 1e-3, holes=[circle(0.03, 0, 3e-3)])
    assert names(holed, 7) == STRIP_HELD[:7]
    slotted = strip(0.06, 0.012, 1e-3, holes=[rectangle(0.01, -2e-3, 0.05, 2e-3)])
    assert not [name for name in names(slotted, 8) if "arm" in name or "phase" in name]


def test_metal_between_jaws_does_not_count():
    # 60 mm free of 100: the jaws would otherwise make the shape longer, the modes the same.
    jaws = rectangle(-0.04, -0.006, 0.0, 0.006)
    blank = sheet(rectangle(-0.04, -0.005, 0.06, 0.005), 1e-3, areas=[jaws])
    assert names(blank, 7) == STRIP_HELD[:7]
    # 45 x 40 mm free of 90 x 40: a plate held along a short side.
    blank = sheet(
        rectangle(-0.045, -0.02, 0.045, 0.02), 1e-3, areas=[rectangle(-0.05, -0.03, 0.0, 0.03)]
    )
    assert names(blank, 2) == ["plate (0,0)", "plate (0,1)"]


def test_soft_hold_away_from_the_ends_gives_motions_of_the_whole():
    soft = strip(
        0.06, 0.01, 1e-3, is_held=False, areas=[rectangle(0.028, -0.006, 0.032, 0.006)],
        stiffness=1e7,
    )  # fmt: skip
    assert names(soft, 9) == [*(f"rigid {i}" for i in range(1, 7)), *STRIP_FREE[:3]]


def test_across_a_wide_strip():
    # A cantilever plate of two squares; order by node lines after Leissa, SP-160, 1969, sec. 4.3
    # (from memory): bending, torsion, bending, torsion, then the first bending across.
    found = names(strip(0.06, 0.03, 1e-3), 8)
    assert found[:4] == ["bending 1", "torsion 1", "bending 2", "torsion 2"]
    assert "cross bending 1" in found


@pytest.mark.parametrize("change", [0.97, 1.03])
def test_small_changes_keep_names(change):
    def body(share):
        pocket = Pocket(
            loop=rectangle(0.02, -0.01, 0.035, 0.01), thickness_m=0.7e-3 * share, side="top"
        )
        mass = AttachedMass(
            centre_m=(0.056, 0.0), footprint_radius_m=2e-3, mass_kg=5e-4 * share, height_m=1e-3,
            inertia_kg_m2=(1e-9, 1e-9, 2e-9),
        )  # fmt: skip
        return strip(0.06 * share, 0.01, 1e-3, pockets=(pocket,), masses=(mass,))

    assert sorted(names(body(change), 6)) == sorted(names(body(1.0), 6))


def test_names_do_not_depend_on_how_many_modes_are_asked_for():
    blank = fork(0.04, 0.036)
    assert names(blank, 9)[:4] == names(blank, 4)


def test_two_like_arms_move_together_or_against_each_other():
    # By symmetry there is nothing else, and the two come in pairs.
    found = names(fork(0.04, 0.04), 8)
    assert all(name.endswith((", in phase", ", antiphase")) for name in found)
    assert [name for name in found if name.startswith("bending")][:4] == [
        "bending 1, in phase", "bending 1, antiphase", "bending 2, in phase",
        "bending 2, antiphase",
    ]  # fmt: skip


def test_arms_far_apart_in_pitch_move_alone():
    found = names(fork(0.05, 0.03, base_m=0.01), 2)
    assert found == ["bending 1, arm 1", "bending 1, arm 2"]


def test_three_arms():
    found = names(fork(0.04, 0.04, 0.04), 3)
    # In the order of how far the base gives way: all together, the outer two apart, the middle one
    # against both.
    assert found[0] == "bending 1, in phase"
    assert set(found[1:]) == {"bending 1, arms 1-3", "bending 1, arms 1+3-2"}


def test_arms_may_point_in_any_direction():
    blank = fork(0.04, 0.04, 0.04, is_held=False)
    wanted = names(blank, 5)
    for angle in (np.pi / 2, np.pi):
        outer = turned(blank.outline.outer, angle)
        found = names(sheet(outer, 1e-3), 5)
        assert [name.replace("3", "1") for name in found] == [
            name.replace("3", "1") for name in wanted
        ]


def test_prongs_in_the_plane():
    # The tone of a tuning fork: both prongs apart in their own plane.
    outer = Loop.polygon([
        (0, -3e-3), (0.03, -3e-3), (0.03, -1e-2), (0.12, -1e-2), (0.12, -4e-3), (0.04, -4e-3),
        (0.04, 4e-3), (0.12, 4e-3), (0.12, 1e-2), (0.03, 1e-2), (0.03, 3e-3), (0, 3e-3),
    ])  # fmt: skip
    found = names(sheet(outer, 6e-3), 3)
    assert found[0] == "lateral 1, antiphase"


def test_notches_are_no_arms():
    notched = Loop.polygon([
        (0, -0.005), (0.06, -0.005), (0.06, -1e-3), (0.053, -1e-3), (0.053, 1e-3), (0.06, 1e-3),
        (0.06, 0.005), (0, 0.005),
    ])  # fmt: skip
    blank = sheet(notched, 1e-3, held=[[(0, -0.005), (0, 0.005)]])
    assert names(blank, 4) == STRIP_HELD[:4]


# Order and patterns of square plates: Leissa, Vibration of Plates, NASA SP-160, 1969, tables 4.20,
# 4.64, 4.79 and figures there (from memory). Combined patterns of the free one: Fletcher and
# Rossing, The Physics of Musical Instruments, sec. 3.6 (from memory).
@pytest.mark.parametrize(
    ("held", "wanted"),
    [
        (
            [],
            [
                "plate (1,1)", "plate (2,0)-(0,2)", "plate (2,0)+(0,2)", "plate (2,1)",
                "plate (1,2)",
            ],
        ),
        ([3], ["plate (0,0)", "plate (0,1)", "plate (1,0)", "plate (0,2)", "plate (1,1)"]),
        ([0, 1, 2, 3], ["plate (0,0)", "plate (1,0)", "plate (0,1)", "plate (1,1)"]),
    ],
    ids=["free", "cantilever", "clamped"],
)  # fmt: skip
def test_square_plates(held, wanted):
    found = names(square(0.05, 5e-4, held), len(wanted))
    # Of two modes at one pitch any mixture is as good as another.
    for i, name in enumerate(wanted):
        m, n = name[7:-1].split(",") if name.count("(") == 1 else ("", "")
        pair = (f"plate ({m},{n})", f"plate ({n},{m})")
        is_pair = m != n and len(held) != 1
        either = (*pair, f"{max(pair)}+{min(pair)[6:]}", f"{max(pair)}-{min(pair)[6:]}")
        assert found[i] in (either if is_pair else (name,))


def test_oblong_plate_counts_along_its_longer_side_first():
    wanted = ["plate (1,1)", "plate (2,0)", "plate (0,2)", "plate (2,1)", "plate (1,2)"]
    assert names(sheet(rectangle(0, 0, 0.06, 0.045), 5e-4), 5) == wanted
    assert names(sheet(rectangle(0, 0, 0.045, 0.06), 5e-4), 5) == wanted


# Leissa, SP-160, 1969, tables 2.1 (clamped: 10.22, 21.26, 34.88, 39.77, 51.04) and 2.5 (free:
# 5.253, 9.084, 12.23, 20.52, 21.6), from memory: diameters and circles in the order of frequency.
def test_free_disc():
    wanted = ["disc (2,0)", "disc (0,1)", "disc (3,0)", "disc (1,1)", "disc (4,0)"]
    found = names(sheet(circle(0, 0, 0.03), 5e-4), 9)
    assert [name for name in found if not name.endswith(" b")] == wanted
    assert [n[:-2] for n in found if n.endswith(" b")] == [n for n in wanted if "(0" not in n]


def test_clamped_disc():
    # A ring of jaws: everything outside the free disc, in two halves.
    halves = [
        Loop(
            vertices_m=np.array([(0.03, 0), (-0.03, 0), (-0.04, 0), (0.04, 0)]),
            bulge=np.array([side, 0.0, -side, 0.0]),
        )
        for side in (1.0, -1.0)
    ]
    blank = sheet(circle(0, 0, 0.035), 5e-4, areas=halves)
    found = names(blank, 8)
    assert [name for name in found if not name.endswith(" b")] == [
        "disc (0,0)", "disc (1,0)", "disc (2,0)", "disc (0,1)", "disc (3,0)",
    ]  # fmt: skip


def test_disc_on_a_stud_and_hexagon():
    stud = sheet(circle(0, 0, 0.03), 1e-3, areas=[circle(0, 0, 4e-3)])
    # The umbrella and the pair with one diameter lie lowest: Leissa, SP-160, table 2.12 (memory).
    assert set(names(stud, 3)) == {"disc (0,0)", "disc (1,0)", "disc (1,0) b"}
    turn = np.arange(6) * np.pi / 3
    hexagon = Loop.polygon(0.03 * np.stack([np.cos(turn), np.sin(turn)], axis=1))
    assert names(sheet(hexagon, 1e-3), 3) == ["disc (2,0)", "disc (2,0) b", "disc (0,1)"]


ARC = np.linspace(0, np.pi, 30)
ROUND = np.stack([np.cos(ARC), np.sin(ARC)], axis=1)
# In mm, with the edge that is held, if any. Bending of one part is torsion of the next, so that
# beam theory has no name for the whole.
NAMELESS = {
    "corner": ([(0, 0), (90, 0), (90, 10), (10, 10), (10, 40), (0, 40)], [(90, 0), (90, 10)]),
    "arc": (np.concatenate([40 * ROUND, 32 * ROUND[::-1]]), [(40, 0), (32, 0)]),
    "half disc": (30 * ROUND, []),
    "winding strip": (
        [(0, 0), (80, 0), (80, 30), (40, 30), (40, 22), (72, 22), (72, 8), (0, 8)],
        [(0, 0), (0, 8)],
    ),
    "zigzag": (
        [(0, 0), (60, 0), (60, 40), (10, 40), (10, 60), (60, 60), (60, 70), (0, 70), (0, 30),
         (50, 30), (50, 10), (0, 10)],
        [(0, 0), (0, 10)],
    ),
    "cross": (
        [(20, 0), (30, 0), (30, 20), (50, 20), (50, 30), (30, 30), (30, 50), (20, 50), (20, 30),
         (0, 30), (0, 20), (20, 20)],
        [],
    ),
}  # fmt: skip


@pytest.mark.parametrize("body", NAMELESS)
def test_bodies_without_sure_names_have_none(body):
    corners, edge = (np.array(part, dtype=float) * 1e-3 for part in NAMELESS[body])
    blank = sheet(Loop.polygon(corners), 1e-3, held=[edge] if len(edge) else [])
    assert names(blank, 6) == [f"mode {i}" for i in range(1, 7)]


@pytest.mark.parametrize(
    ("outer", "inner"),
    [
        (rectangle(0, 0, 0.06, 0.04), rectangle(8e-3, 8e-3, 0.052, 0.032)),
        (rectangle(0, 0, 0.09, 0.03), rectangle(5e-3, 5e-3, 0.085, 0.025)),
        (circle(0, 0, 0.03), circle(0, 0, 0.024)),
    ],
)
def test_frames_and_rings_are_neither_strips_nor_plates(outer, inner):
    """Their sides bend by themselves; node lines and cross sections of the whole mean nothing."""
    assert names(sheet(outer, 1e-3, holes=[inner]), 6) == [f"mode {i}" for i in range(1, 7)]


def test_teeth_of_a_comb_are_arms():
    found = names(fork(0.05, 0.05, 0.05, 0.05, 0.05), 10)
    assert found[0] == "bending 1, in phase"
    # Five like cantilevers: five modes without a node, then sideways (width over thickness, 6
    # times as high) and with one node line (6.27 times).
    assert [name.split(",")[0] for name in found[:5]] == ["bending 1"] * 5
    assert {name.split(",")[0] for name in found[5:]} <= {"bending 2", "lateral 1"}


def test_what_fits_no_pattern_is_counted():
    triangle = Loop.polygon([(0, 0), (0.05, 0), (0.01, 0.04)])
    assert names(sheet(triangle, 1e-3), 3) == ["mode 1", "mode 2", "mode 3"]


@pytest.mark.parametrize("held", [(a, b) for a in (False, True) for b in (False, True)])
def test_factors_are_orthonormal_and_count_node_lines(held):
    place = (np.arange(4000) + 0.5) / 4000
    factors = plate_factors(place, 7, held=held)
    assert factors.T @ factors / len(place) == pytest.approx(np.eye(7), abs=1e-5)
    lines = (np.diff(np.sign(factors), axis=0) != 0).sum(axis=0)
    assert lines.tolist() == list(range(7))


def test_clamped_free_shape_ends_at_twice_its_root_mean_square():
    # Blevins, 1979, table 8-1: the tip of every shape of unit mean square moves by 2.
    assert np.abs(clamped_free_shapes(np.array([0.0, 1.0]), 5)) == pytest.approx(
        np.array([[0.0] * 5, [2.0] * 5]), abs=1e-6
    )


def test_torsion_of_thick_bars_is_no_lateral_bending():
    """The lower face of a twisted bar moves sideways by the twist times half the thickness.

    Twist of a bar 6 x 4 mm, clamped: sqrt(G J/(rho I_p))/(4 L), J = 0.196 b h^3 for b/h = 1.5
    (Timoshenko and Goodier, Theory of Elasticity, sec. 109; from memory).
    """
    found = solve_modes(strip(0.06, 6e-3, 4e-3), STEEL, count=6, accuracy="draft")
    polar = 6e-3 * 4e-3 * (6e-3**2 + 4e-3**2) / 12
    stiffness = STEEL.shear_modulus_pa * 0.196 * 6e-3 * 4e-3**3
    twist_hz = np.sqrt(stiffness / (STEEL.density_kg_per_m3 * polar)) / (4 * 0.06)
    assert found.freq_hz[found.labels.index("torsion 1")] == pytest.approx(twist_hz, rel=0.02)
    assert not [name for name in found.labels if "mixed" in name]


def test_square_prongs_sway_and_twist():
    """Twist of a square prong: J = 0.1406 b^4 (same source); its root gives way."""
    blank = fork(0.09, 0.09, base_m=0.01, width_m=5e-3, slot_m=6e-3)
    assert blank.hold is not None
    thick = sheet(blank.outline.outer, 5e-3, held=[blank.hold.edges_m[0]])
    found = solve_modes(thick, STEEL, count=16, accuracy="draft")
    wave = np.sqrt(STEEL.shear_modulus_pa * 0.1406 * 6 / STEEL.density_kg_per_m3)
    for together in ("in phase", "antiphase"):
        place = found.labels.index(f"torsion 1, {together}")
        assert found.freq_hz[place] == pytest.approx(wave / (4 * 0.09), rel=0.08)
        assert f"lateral 1, {together}" in found.labels[:4]


def test_thick_plates_move_in_their_plane_without_normal_motion():
    """Free square and disc four times as wide as thick: shear and bending waves come together."""
    for outer in (rectangle(-0.02, -0.02, 0.02, 0.02), circle(0.0, 0.0, 0.02)):
        found = solve_modes(sheet(outer, 0.01), STEEL, count=12, accuracy="draft").labels
        assert [name for name in found if name.startswith("in-plane")]
