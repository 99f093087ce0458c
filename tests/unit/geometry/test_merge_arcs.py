"""Joining of small arcs: area kept, corners kept, curve hardly moved."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from modewright.geometry.corners import circle, rounded_polygon, slot
from modewright.geometry.flatten import flatten
from modewright.geometry.loop import Loop
from modewright.geometry.measures import centroid_m, perimeter_m, signed_area_m2
from modewright.geometry.merge_arcs import merged_arcs
from modewright.geometry.planar import loop_polygon
from modewright.geometry.transforms import rotated


def many_arcs(count: int, diameter_m: float = 0.02) -> Loop:
    turn = 2 * np.pi * np.arange(count) / count
    corners = diameter_m / 2 * np.stack([np.cos(turn), np.sin(turn)], axis=1)
    return Loop(vertices_m=corners, bulge=np.full(count, np.tan(np.pi / (2 * count))))


def wavy(count: int, depth: float) -> Loop:
    """Smooth curve r = 1 + depth cos 3φ (in cm) through arcs whose ends share their tangents."""
    turn = 2 * np.pi * np.arange(count) / count

    def at(phi: np.ndarray) -> np.ndarray:
        radius = 1e-2 * (1 + depth * np.cos(3 * phi))
        return radius[:, None] * np.stack([np.cos(phi), np.sin(phi)], axis=1)

    corners, tops = at(turn), at(turn + np.pi / count)
    first, second = tops - corners, np.roll(corners, -1, axis=0) - tops
    cross = first[:, 0] * second[:, 1] - first[:, 1] * second[:, 0]
    bend = np.arctan2(cross, (first * second).sum(axis=1))
    return Loop(vertices_m=corners, bulge=np.tan(bend / 2))


def test_pieces_of_a_circle_become_quarters() -> None:
    merged = merged_arcs(many_arcs(64), 1e-9)
    assert len(merged.bulge) == 4
    assert signed_area_m2(merged) == pytest.approx(np.pi * 1e-4, rel=1e-13)
    assert perimeter_m(merged) == pytest.approx(np.pi * 0.02, rel=1e-13)


@given(st.floats(0.0, 0.3), st.integers(40, 200), st.floats(1e-6, 1e-4), st.floats(-3, 3))
def test_area_is_kept_and_the_curve_stays_near(
    depth: float, count: int, deviation_m: float, angle: float
) -> None:
    loop = rotated(wavy(count, depth), angle)
    merged = merged_arcs(loop, deviation_m)
    assert signed_area_m2(merged) == pytest.approx(signed_area_m2(loop), rel=1e-11)
    assert centroid_m(merged) == pytest.approx(centroid_m(loop), abs=deviation_m)
    apart = loop_polygon(merged).exterior.hausdorff_distance(loop_polygon(loop).exterior)
    assert apart < 2 * deviation_m + 4e-6


def test_coarse_polygon_has_few_corners_and_the_exact_area() -> None:
    loop = wavy(400, 0.2)
    coarse = flatten(loop, 5e-5)
    assert len(coarse) < 60
    x, y = coarse.T
    area = float(x @ np.roll(y, -1) - y @ np.roll(x, -1)) / 2
    assert area == pytest.approx(signed_area_m2(loop), rel=1e-6)


@pytest.mark.parametrize(
    "loop",
    [
        circle((0.0, 0.0), 0.02),
        slot((0.0, 0.0), 0.03, 0.01, 0.4),
        rounded_polygon([(0, 0, 1e-3), (0.03, 0, 2e-3), (0.03, 0.02, 0), (0, 0.02, 3e-3)]),
    ],
)
def test_lines_and_the_arcs_between_them_are_left_alone(loop: Loop) -> None:
    merged = merged_arcs(loop, 1e-4)
    assert merged.vertices_m.tolist() == loop.vertices_m.tolist()
    assert merged.bulge.tolist() == loop.bulge.tolist()


def test_corners_between_arcs_stay() -> None:
    # A lens: two arcs of 64 pieces each that meet at sharp tips.
    turn = np.radians(np.linspace(60, 120, 65))
    upper = np.stack([np.cos(turn), np.sin(turn) - np.sin(np.radians(60))], axis=1)
    corners = np.concatenate([upper[:-1], -upper[:-1]])
    lens = Loop(vertices_m=corners, bulge=np.full(128, np.tan(np.radians(60) / 256)))
    merged = merged_arcs(lens, 1e-6)
    assert merged.vertices_m == pytest.approx(np.array([upper[0], upper[-1]]), abs=1e-15)
