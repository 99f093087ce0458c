"""Areas as level sets: exact integrals of linear functions, circles, and their change."""

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from shapely import Point, box

from modewright.electrodes.area_mesh import mesh_area
from modewright.electrodes.level_set import level_change, level_integral, level_polygons

SHEET = box(0.0, -0.5, 2.0, 0.5)


@pytest.mark.parametrize(
    "area", [SHEET, SHEET.difference(Point(1.0, 0.1).buffer(0.3)), Point(0, 0).buffer(1.0)]
)
def test_triangles_cover_the_area(area):
    mesh = mesh_area(area, 40)
    assert mesh.area_m2.sum() == pytest.approx(area.area, rel=1e-9)
    assert np.all(mesh.area_m2 > 0)
    outside = ~shapely.dwithin(area, shapely.points(mesh.points_m), 1e-6)
    assert not outside.any()


def test_symmetric_areas_have_symmetric_meshes():
    mesh = mesh_area(SHEET, 23)
    odd = mesh.over_triangles(mesh.points_m[:, 1:]).sum()
    assert odd == pytest.approx(0.0, abs=1e-12)
    mirrored = {(round(x, 6), round(-y, 6) + 0.0) for x, y in mesh.points_m}
    assert mirrored == {(round(x, 6), round(y, 6) + 0.0) for x, y in mesh.points_m}


def test_empty_area():
    with pytest.raises(ValueError, match="expected a polygon"):
        mesh_area(shapely.Polygon(), 10)


@given(place=st.floats(0.1, 1.9), slant=st.floats(-0.9, 0.9))
def test_half_plane_is_exact(place, slant):
    """Everything right of the line x = place + slant y: integrals of 1 and x in closed form."""
    mesh = mesh_area(SHEET, 20)
    x, y = mesh.points_m.T
    level = x - place - slant * y
    part = SHEET.intersection(
        shapely.Polygon([(place - 5 * slant, -5), (9, -5), (9, 5), (place + 5 * slant, 5)])
    )
    found = level_integral(mesh, level, np.stack([np.ones_like(x), x], axis=1))
    assert found == pytest.approx([part.area, part.area * part.centroid.x], rel=1e-9, abs=1e-12)
    drawn = level_polygons(mesh, level)
    assert drawn.area == pytest.approx(part.area, rel=1e-6)
    assert drawn.symmetric_difference(part).area < 1e-5


def test_a_circle_converges_with_the_square_of_the_cell():
    errors = []
    for along in (20, 40, 80):
        mesh = mesh_area(SHEET, along)
        level = 0.16 - (mesh.points_m[:, 0] - 1) ** 2 - mesh.points_m[:, 1] ** 2
        errors.append(abs(level_integral(mesh, level, np.ones((len(level), 1)))[0] - np.pi * 0.16))
    assert errors[0] / errors[1] == pytest.approx(4, rel=0.35)
    assert errors[1] / errors[2] == pytest.approx(4, rel=0.35)


def test_change_of_a_circle():
    """A disc of radius r grows by ∮ dl/|grad| = 2πr/2r = π per unit of the level."""
    mesh = mesh_area(SHEET, 160)
    level = 0.16 - (mesh.points_m[:, 0] - 1) ** 2 - mesh.points_m[:, 1] ** 2
    one = np.ones((len(level), 1))
    assert level_change(mesh, level, one, one)[0, 0] == pytest.approx(np.pi, rel=2e-3)


@given(seed=st.integers(0, 1000))
def test_change_is_the_derivative_of_the_integral(seed):
    rng = np.random.default_rng(seed)
    mesh = mesh_area(SHEET, 12)
    x, y = mesh.points_m.T
    level = np.sin(3 * x + rng.uniform(0, 6)) + rng.uniform(-1, 1) * y + 0.1
    density, added = rng.standard_normal((2, len(x), 2))
    step = 1e-6
    expected = np.stack(
        [
            (
                level_integral(mesh, level + step * column, density)
                - level_integral(mesh, level - step * column, density)
            )
            / (2 * step)
            for column in added.T
        ],
        axis=1,
    )
    found = level_change(mesh, level, density, added)
    assert found == pytest.approx(expected, rel=1e-3, abs=1e-5 * np.abs(found).max())


def test_nothing_above_zero():
    mesh = mesh_area(SHEET, 8)
    level = -np.ones(len(mesh.points_m))
    assert level_polygons(mesh, level).is_empty
    assert level_integral(mesh, level, np.ones((len(level), 1)))[0] == 0
