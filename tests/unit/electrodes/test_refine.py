"""Edges moved until the measured leak is gone, against closed forms."""

import numpy as np
import pytest
from shapely import Polygon, box

from modewright.electrodes.area_mesh import mesh_area
from modewright.electrodes.level_set import level_change, level_polygons
from modewright.electrodes.refine import refine_plates

SHEET = box(0.0, -0.1, 1.0, 0.1)


def _draw(mesh, shrunk_m=0.0):
    def draw(level):
        found = level_polygons(mesh, level).buffer(-shrunk_m)
        return (found,) if isinstance(found, Polygon) and not found.is_empty else None

    return draw


def _sine_integral(plate, order):
    """∫ sin(order π x) over a plate with edges across: by its ends, exactly."""
    low, bottom, high, top = plate.bounds
    k = order * np.pi
    return (np.cos(k * low) - np.cos(k * high)) / k * (top - bottom)


def test_third_sine_mode_is_cancelled_by_ends_at_a_sixth():
    """∫ sin 3πx over [a, 1 - a] vanishes at a = 1/6, wherever the search begins."""
    mesh = mesh_area(SHEET, 60)
    x = mesh.points_m[:, 0]
    first, third = np.sin(np.pi * x), np.sin(3 * np.pi * x)
    level = first - 0.3 * third - 0.35
    change = level_change(mesh, level, third[:, None], third[:, None]) / 0.1
    found = refine_plates(
        _draw(mesh),
        lambda plates: np.array([_sine_integral(plates[0], 3) / 0.1]),
        level,
        third[:, None],
        change,
        small=1e-7,
    )
    assert found is not None
    low, _, high, _ = found.plates[0].bounds
    assert (low, high) == pytest.approx((1 / 6, 5 / 6), abs=1e-6)


def test_what_the_workshop_takes_away_is_made_good():
    """Plates drawn smaller all round by 0.02 still end where the third mode cancels."""
    mesh = mesh_area(SHEET, 60)
    x = mesh.points_m[:, 0]
    third = np.sin(3 * np.pi * x)
    level = np.sin(np.pi * x) - 0.5
    change = level_change(mesh, level, third[:, None], third[:, None]) / 0.1
    found = refine_plates(
        _draw(mesh, 0.02),
        lambda plates: np.array([_sine_integral(plates[0], 3) / 0.1]),
        level,
        third[:, None],
        change,
        small=1e-7,
    )
    assert found is not None
    assert found.plates[0].bounds[0] == pytest.approx(1 / 6, abs=1e-6)


def test_no_plate_at_all():
    mesh = mesh_area(SHEET, 10)
    nothing = -np.ones(len(mesh.points_m))
    added = np.ones((len(nothing), 1))
    assert refine_plates(_draw(mesh), lambda _: np.zeros(1), nothing, added, np.eye(1)) is None
