"""Nodes of free bars against closed forms, the solid solver and laws."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from scipy.optimize import brentq

from modewright.errors import BodyError
from modewright.geometry.beam_nodes import bending_nodes_m
from modewright.geometry.build import build_blank
from modewright.geometry.families.bar import Arch, Bar
from modewright.geometry.families.rod import Rod, RodStretch
from modewright.geometry.families.stepped_strip import Step, SteppedStrip
from modewright.geometry.features.bend import StraightBend
from modewright.geometry.support import Free, NodalSupports
from modewright.modes.solid import solve_modes
from sheet_blanks import STEEL

LENGTH = 0.2
OWN = NodalSupports(own_nodes=True)


def bar(*arches, support=OWN, thickness_m=10e-3, features=()):
    body = Bar(length_m=LENGTH, width_m=0.03, arches=arches)
    return build_blank(body, features, support, thickness_m, Path())


def test_bar_of_one_section():
    # R. D. Blevins, Formulas for Natural Frequency and Mode Shape (1979), table 8-1: 0.2242 L.
    nodes = bending_nodes_m(bar())
    assert nodes == pytest.approx((0.2242 * LENGTH, 0.7758 * LENGTH), abs=5e-5 * LENGTH)
    assert bar().rests_m[0][0][0] == pytest.approx(nodes[0], abs=1e-12)


def test_step_of_width_against_two_joined_beams():
    # Free halves of width 1 and 1/2 joined: eight conditions of the exact shapes.
    body = SteppedStrip(
        steps=(Step(length_m=0.12, width_m=0.02), Step(length_m=0.08, width_m=0.01))
    )
    found = bending_nodes_m(build_blank(body, (), Free(), 1e-3, Path()))
    assert found == pytest.approx(_joined(0.12, 0.08, 0.5), abs=1e-6)


def _joined(left, right, ratio):
    def shapes(k, x):
        """Of a piece that is free at x = 0: value, slope, curvature and its slope."""
        a, b = k * x, np.exp(k * x)
        sinh, cosh = (b - 1 / b) / 2, (b + 1 / b) / 2
        one = [np.cos(a) + cosh, -np.sin(a) + sinh, -np.cos(a) + cosh, np.sin(a) + sinh]
        two = [np.sin(a) + sinh, np.cos(a) + cosh, -np.sin(a) + sinh, -np.cos(a) + cosh]
        return np.array([one, two]).T

    def joint(k):
        # The right piece is looked at from its own free end: odd slopes change their sign.
        turned = np.array([1.0, -1.0, ratio, -ratio])[:, None] * shapes(k, right)
        return np.hstack([shapes(k, left), -turned])

    k = brentq(lambda k: np.linalg.det(joint(k)), 3.5 / (left + right), 6 / (left + right))
    weights = np.linalg.svd(joint(k))[2][-1]

    def height(x):
        if x <= left:
            return float(shapes(k, x)[0] @ weights[:2])
        return float(shapes(k, left + right - x)[0] @ weights[2:])

    total = left + right
    return brentq(height, 0.02, 0.5 * total), brentq(height, 0.5 * total, total - 0.01)


@pytest.mark.parametrize(
    "arches",
    [
        (Arch(centre_m=0.1, length_m=0.12, depth_m=6e-3),),
        (Arch(centre_m=0.07, length_m=0.08, depth_m=6e-3),),
    ],
)
def test_undercut_bars_against_the_solid_solver(arches):
    blank = bar(*arches, support=Free())
    modes = solve_modes(blank, STEEL, count=3, accuracy="draft")
    places = np.linspace(0.0, LENGTH, 401)
    points = np.stack([places, np.zeros_like(places)], axis=1)
    number = modes.labels.index("bending 1")
    height = modes.shapes.displacement(points)[:, 2, number]
    change = np.nonzero(height[1:] * height[:-1] < 0)[0]
    solid = places[change] + (places[1] - places[0]) / 2
    # Shear, and the motion along x of the lower face, shift them by a little.
    assert bending_nodes_m(blank) == pytest.approx(solid, abs=0.006 * LENGTH)


def test_rod_and_law_of_scale():
    def nodes(scale):
        stretches = (
            RodStretch(length_m=0.06 * scale, diameter_m=8e-3 * scale),
            RodStretch(length_m=0.1 * scale, diameter_m=8e-3 * scale, end_diameter_m=5e-3 * scale),
        )
        blank = build_blank(Rod(stretches=stretches), (), Free(), 1e-3, Path())
        return np.array(bending_nodes_m(blank))

    assert nodes(1.7) == pytest.approx(1.7 * nodes(1.0), rel=1e-6)
    # The thinner end swings more: its node lies farther from it.
    assert nodes(1.0)[0] < 0.2242 * 0.16 < 0.16 - nodes(1.0)[1]


def test_pads_stand_at_the_nodes_and_hardly_raise_the_pitch():
    arch = Arch(centre_m=0.07, length_m=0.08, depth_m=6e-3)
    pads = {"stiffness_n_per_m3": 3e8, "pad_width_m": 2e-3}
    own = bar(arch, support=NodalSupports(own_nodes=True, **pads))
    middles = [float(area.vertices_m[:, 0].mean()) for area in own.hold.areas]
    assert middles == pytest.approx(bending_nodes_m(own), abs=1e-9)
    free = solve_modes(bar(arch, support=Free()), STEEL, count=1, accuracy="draft").freq_hz[0]

    def raised(support):
        modes = solve_modes(bar(arch, support=support), STEEL, count=8, accuracy="draft")
        return modes.freq_hz[np.abs(modes.freq_hz / free - 1).argmin()] / free - 1

    assert raised(NodalSupports(own_nodes=True, **pads)) < 0.5 * raised(NodalSupports(**pads))


def test_bent_bars_are_refused():
    bend = StraightBend(
        start_m=(0.1, -0.015), end_m=(0.1, 0.015), angle_deg=30.0, inside_radius_m=3e-3
    )
    with pytest.raises(BodyError, match="straight bar"):
        bar(thickness_m=2e-3, features=(bend,))
    faults = list(NodalSupports(own_nodes=True, from_ends_m=0.04).problems())
    assert [fault.key for fault in faults] == ["own_nodes"]
