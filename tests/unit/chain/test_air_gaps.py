"""Air films of a design against closed forms of lubrication, with the body at rest and bent."""

import numpy as np
import pytest

from modewright.chain.air_gaps import design_films, film_changes
from modewright.chain.places import place_design
from modewright.design.load import parse_design
from modewright.errors import BodyError
from modewright.losses.films import film_resistance_n_s_per_m
from modewright.materials.air import air_at
from modewright.modes.basis import ModalBasis
from modewright.transducers.electronics import CurrentAmplifier
from modewright.transducers.gap import EPSILON_0
from modewright.transducers.operating_point import find_operating_point

AIR = air_at(293.15)
SIDE_M, MASS_KG = 6e-3, 5e-3

DESIGN = """
[design]
name = "strip"
[material]
name = "stainless 301"
[stock]
thickness = "1 mm"
[resonator]
kind = "strip reed"
length = "60 mm"
width = "12 mm"
[support]
kind = "clamped"
[[pickups]]
kind = "capacitive"
name = "plate"
gap = "0.1 mm"
bias = "{bias}"
tilt_x = {tilt}
plate = {{ kind = "rectangle", centre = ["50 mm", "0 mm"], length = "6 mm", width = "6 mm" }}
preamp = {{ kind = "charge amplifier" }}
[[drivers]]
kind = "biased electromagnet"
name = "magnet"
position = ["20 mm", "0 mm"]
pole_diameter = "5 mm"
side = "{side}"
gap = "0.2 mm"
iron_gap = "0 mm"
armature = {{ diameter = "4 mm", thickness = "1 mm" }}
{more}
"""


class Piston:
    """A rigid body that rises without turning."""

    mode_count = 1

    def displacement(self, points_m):
        normal = np.full((len(points_m), 1), 1 / np.sqrt(MASS_KG))
        return np.stack([0 * normal, 0 * normal, normal], axis=1)

    def recombined(self, mixing):
        assert abs(mixing[0, 0]) == pytest.approx(1)
        return self


def placed(folder, *, bias="60 V", tilt=0.0, side="above", more=""):
    text = DESIGN.format(bias=bias, tilt=tilt, side=side, more=more)
    return place_design(parse_design(text.encode(), folder=folder).design, folder)


def films(folder, **changes):
    found = placed(folder, **changes)
    return found.design, design_films(found.design, found.blank)


def test_film_under_a_pole_is_that_of_a_disc(tmp_path):
    """As large as pole and armature overlap: 3 pi mu R^4/(2 g^3) (J. Stefan, 1874), R + 0.6 g."""
    for side, opens in (("above", False), ("below", True)):
        plate, pole = films(tmp_path, side=side)[1]
        assert (plate.key, pole.key) == ("pickups[1].gap", "drivers[1].gap")
        assert (plate.opens_upwards, pole.opens_upwards) == (True, opens)
        even = np.ones(len(pole.cells.points_m))
        found = film_resistance_n_s_per_m(pole.cells, 1e-3, even, AIR).real
        expected = 1.5 * np.pi * AIR.viscosity_pa_s * (2e-3 + 0.6 * 0.2e-3) ** 4 / 0.2e-3**3
        assert found == pytest.approx(expected, rel=0.02)


def test_films_are_left_out_on_demand(tmp_path):
    assert films(tmp_path, more="[losses]\nsqueeze_film = false\n")[1] == ()


@pytest.mark.parametrize("bias_v", [30.0, 60.0, 75.0])
def test_film_of_a_piston_at_rest_has_the_gap_that_the_bias_leaves(bias_v, tmp_path):
    """Equilibrium k x = eps A V²/(2 (g - x)²); a square of side b = a + 1.2 g: 0.42 mu b^4/g^3."""
    design, (film, _) = films(tmp_path, bias=f"{bias_v} V")
    stiffness, gap_m, area_m2 = 800.0, 0.1e-3, SIDE_M**2
    push = EPSILON_0 * area_m2 * bias_v**2 / 2
    roots = np.roots([1, -2 * gap_m, gap_m**2, -push / stiffness])
    left_m = gap_m - np.sort(roots.real[np.abs(roots.imag) < 1e-12])[0]

    def eta(gap_m, omega):
        side_m = SIDE_M + 1.2 * gap_m
        return 0.42 * AIR.viscosity_pa_s * side_m**4 / gap_m**3 / (MASS_KG * omega)

    omega = np.sqrt(stiffness / MASS_KG)
    basis = ModalBasis(
        freq_hz=np.array([omega / 2 / np.pi]),
        damping_ratio=np.array([eta(gap_m, omega) / 2]),
        shapes=Piston(),
        labels=("piston",),
    )
    point = find_operating_point(
        basis,
        design.pickups,
        (),
        CurrentAmplifier(),
        "weakly magnetic",
        at_rest=lambda coordinate: film_changes((film,), basis, AIR, coordinate),
    )
    softened = point.basis.omega_rad_s[0]
    assert 2 * point.basis.damping_ratio[0] == pytest.approx(eta(left_m, softened), rel=0.03)
    shift = dict(zip((s.cause for s in point.shifts), point.shifts, strict=True))
    more = eta(left_m, omega) - eta(gap_m, omega)
    assert shift["plate: film at rest"].loss_factor == pytest.approx([more], rel=0.05)


def test_change_is_the_force_of_the_wider_film_less_that_of_the_drawn_one(tmp_path):
    """Where inertia rules as well: damping and air that swings along both follow the gap."""
    _, (film, _) = films(tmp_path)
    omega = 2 * np.pi * 4e5
    basis = ModalBasis(
        freq_hz=np.array([4e5]), damping_ratio=np.array([1e-4]), shapes=Piston(), labels=("p",)
    )
    opened_m = 0.1e-3
    (added,) = film_changes((film,), basis, AIR, np.array([opened_m * np.sqrt(MASS_KG)])).values()
    bent = film.bent(basis, np.array([opened_m * np.sqrt(MASS_KG)]))
    np.testing.assert_allclose(bent.gap_m, 0.2e-3, rtol=1e-9)
    both = [
        film_resistance_n_s_per_m(cells, omega, np.ones(len(cells.points_m)), AIR)
        for cells in (film.coarse_cells, bent)
    ]
    # Force over displacement of the difference, per modal mass: i ω R.
    assert added[0] == pytest.approx(1j * omega * (both[1] - both[0]) / MASS_KG, rel=1e-9)
    assert added[0].imag < 0  # a wider gap damps less


def test_closing_edges_are_told_with_their_key(tmp_path):
    _, (film, pole) = films(tmp_path, tilt=0.02)
    basis = ModalBasis(
        freq_hz=np.array([60.0]), damping_ratio=np.array([1e-4]), shapes=Piston(), labels=("p",)
    )
    down = np.array([-0.06e-3 * np.sqrt(MASS_KG)])
    with pytest.raises(BodyError, match=r"pickups\[1\]\.gap: plate: air film: expected a gap abov"):
        film.bent(basis, down)
    assert pole.bent(basis, down).gap_m == pytest.approx(0.26e-3)
    with pytest.raises(BodyError, match=r"drivers\[1\]\.gap: magnet"):
        pole.bent(basis, -4 * down)


def test_holes_of_the_plate_let_the_air_out_and_are_doubted_where_they_are_few(tmp_path):
    holes = '[pickups.holes]\npitch = "{}"\ndiameter = "0.6 mm"\n'

    def damping(more):
        text = DESIGN.format(bias="60 V", tilt=0.0, side="above", more="")
        text = text.replace("[[drivers]]", more + "[[drivers]]")
        found = place_design(parse_design(text.encode(), folder=tmp_path).design, tmp_path)
        cells = design_films(found.design, found.blank)[0].cells
        even = np.ones(len(cells.points_m))
        return found, film_resistance_n_s_per_m(cells, 2 * np.pi * 200, even, AIR).real

    solid, by_solid = damping("")
    drilled, by_drilled = damping(holes.format("1.2 mm"))
    few, _ = damping(holes.format("2.5 mm"))
    assert by_drilled < by_solid / 5
    assert not solid.remarks
    assert not drilled.remarks
    assert [remark.key for remark in few.remarks] == ["pickups[1].holes"]
