"""Derivatives of bodies of varying thickness against differences of solutions on moved meshes."""

from pathlib import Path

import numpy as np
import pytest

from modewright.geometry.build import build_blank
from modewright.geometry.families.bar import Arch, Bar
from modewright.geometry.features.tip_mass import TipMass
from modewright.geometry.support import Clamped, ElasticClamp, Free
from modewright.modes.body_change import BodyChange
from modewright.modes.derivatives import frequency_derivatives
from modewright.modes.moved import solve_moved
from modewright.modes.solid import solve_body
from sheet_blanks import STEEL

VALUES = {"length": 0.2, "depth": 7e-3, "arch": 0.1, "taper": 5e-4, "thickness": 0.012}
MASS = TipMass(at="tip", offset_m=(-0.01, 0.0), mass_kg=0.02, diameter_m=8e-3, height_m=4e-3)


def blank(support, features=(), **changes):
    value = {**VALUES, **changes}
    arch = Arch(depth_m=value["depth"], length_m=value["arch"], flat_m=0.01)
    bar = Bar(length_m=value["length"], width_m=0.03, taper_depth_m=value["taper"], arches=(arch,))
    return build_blank(bar, features, support, value["thickness"], Path())


def change(support, features, name, share=5e-5):
    value, step = VALUES[name], share * VALUES[name]
    lower, upper = (blank(support, features, **{name: value + way * step}) for way in (-1, 1))
    return BodyChange(
        lower=lower, upper=upper, lower_material=STEEL, upper_material=STEEL, step=step
    )


@pytest.mark.parametrize(
    ("support", "features"),
    [
        (Free(), (MASS,)),
        pytest.param(Clamped(), (), marks=pytest.mark.slow),
        pytest.param(ElasticClamp(stiffness_n_per_m3=1e13), (), marks=pytest.mark.slow),
    ],
    ids=lambda value: getattr(value, "kind", "") or str(len(value)),
)
def test_frequencies_follow_every_dimension(support, features):
    _, solution = solve_body(blank(support, features), STEEL, count=3, accuracy="draft")
    changes = [change(support, features, name) for name in VALUES]
    found = frequency_derivatives(solution, changes)
    for k, name in enumerate(VALUES):

        def slope(share, name=name):
            step = share * VALUES[name]
            ends = [
                solve_moved(solution, blank(support, features, **{name: VALUES[name] + d}), STEEL)
                for d in (-step, step)
            ]
            low, high = (np.sqrt(end.omega2) / (2 * np.pi) for end in ends)
            return (high - low) / (2 * step)

        expected = (4 * slope(2e-3) - slope(4e-3)) / 3
        assert found[:, k] == pytest.approx(expected, rel=1e-4, abs=1e-5 * np.abs(expected).max())
