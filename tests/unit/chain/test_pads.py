"""A bar that lies on soft pads: a rigid mass on springs, below its bending modes."""

import numpy as np
import pytest

from modewright.chain.body import analyse_body
from modewright.design.load import parse_design
from modewright.errors import BodyError

BAR = """
[design]
name = "bar"
{more}
[material]
name = "stainless 301 half hard"
[stock]
thickness = "3 mm"
[resonator]
kind = "bar"
length = "200 mm"
width = "30 mm"
[support]
kind = "nodal supports"
stiffness = "1e7 N/m**3"
pad_width = "5 mm"
loss_factor = "0.2"
"""


def bar(folder, more=""):
    design = parse_design(BAR.format(more=more).encode(), folder=folder).design
    return analyse_body(design, folder, count=8, accuracy="draft")


def test_a_bouncing_bar_loses_what_its_pads_take(tmp_path):
    found = bar(tmp_path)
    bounce_hz = np.sqrt(1e7 * 2 * 0.005 * 0.03 / found.modes.body_mass_kg) / (2 * np.pi)
    rigid = found.modes.freq_hz < 30.0
    assert rigid.sum() == 6
    nearest = int(np.argmin(np.abs(found.modes.freq_hz - bounce_hz)))
    assert found.modes.freq_hz[nearest] == pytest.approx(bounce_hz, rel=0.01)
    # All the energy of a rigid body on springs is in the springs.
    pads = found.losses.loss_factor[found.losses.mechanisms.index("support")]
    np.testing.assert_allclose(pads[rigid], 0.2, rtol=0.01)
    # A bent bar stores at most the share (bounce/f)² of the pads' peak motion in them.
    bending = found.modes.labels.index("bending 1")
    assert pads[bending] < 0.2 * 4 * (bounce_hz / found.modes.freq_hz[bending]) ** 2
    assert found.basis.t60_s[bending] > 10 * found.basis.t60_s[nearest]


def test_sliding_and_rocking_on_the_pads_is_no_reason_to_refuse(tmp_path):
    found = bar(tmp_path)
    bending = found.modes.labels.index("bending 1")
    assert bending > 0
    assert not found.moves_at_reference[0]
    assert found.moves_at_reference[bending]
    # Rocking leaves the middle still, where the bar bends most.
    middle = bar(tmp_path, more='[reference_point]\nname = "middle"')
    assert middle.reference.name == "middle"
    with pytest.raises(BodyError, match="bending 1, the lowest that bends along z, moves"):
        bar(tmp_path, more='[reference_point]\npoint = ["44.85 mm", "0 mm"]')
