"""The example: derivatives against extrapolated central differences of whole recomputations.

Each side of a difference is the whole design with another value, solved anew on the moved mesh,
with its own operating point, pickups and drivers. The air around it is that of the example, whose
widths the sampled sections of the sheet know in steps only.
"""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from modewright.chain.body import body_of_modes, in_air
from modewright.chain.hearing import analyse_hearing
from modewright.chain.places import place_design
from modewright.chain.sensitivity import coupling_derivatives, frequency_sensitivity
from modewright.design.address import replaced
from modewright.design.load import parse_design
from modewright.materials.choice import chosen_material
from modewright.modes.moved import solve_moved
from modewright.modes.sampling import sheet_shapes
from modewright.modes.solid import solve_body

EXAMPLE = Path(__file__).parents[2] / "examples/boathouse_bench/g3.toml"
TIP = """
[[features]]
kind = "tip mass"
at = "arm 1 tip"
offset = ["-3 mm", "0 mm"]
mass = "0.1 g"
diameter = "3 mm"
height = "0.5 mm"
"""
# Wide enough to stand out from round-off, narrow enough for the mode that turns fastest.
STEPS = {
    "resonator.arms[2].length": 1e-3,
    "resonator.slot_widths[1]": 1e-2,
    "stock.thickness": 1e-3,
    "material.poisson_ratio": 2e-2,
    "features[1].mass": 3e-2,
    "drivers[1].armature.thickness": 4e-2,
}
FOLDER = EXAMPLE.parent
COUNT = 6

pytestmark = pytest.mark.slow


@pytest.fixture(scope="module")
def design():
    content = EXAMPLE.read_text().replace("[support]", f"{TIP}\n[support]")
    return parse_design(content.encode(), folder=FOLDER).design


@pytest.fixture(scope="module")
def body(design):
    """Modes, solution and losses of the design itself."""
    placed = place_design(design, FOLDER)
    solid = chosen_material(design.material).solid
    modes, solution = solve_body(placed.blank, solid, count=COUNT, accuracy="draft")
    return modes, solution, body_of_modes(placed, modes)


@pytest.fixture(scope="module")
def derivatives(design):
    addresses = list(STEPS)
    plain = frequency_sensitivity(design, FOLDER, addresses, count=COUNT, accuracy="draft")
    coupled = coupling_derivatives(design, FOLDER, addresses, count=COUNT, accuracy="draft")
    free = plain.cents_per_unit * np.log(2) / 1200 * plain.modes.freq_hz[:, None]
    values = [parameter.value for parameter in plain.parameters]
    found = np.array(
        [
            free,
            coupled.freq_hz,
            coupled.reference_per_sqrt_kg,
            coupled.volts_per_coordinate[0],
            coupled.force_per_drive[0],
        ]
    )
    return dict(zip(addresses, zip(values, np.moveaxis(found, -1, 0), strict=True), strict=True))


def at_value(design, body, address, value):
    """Frequencies, alone and as biased, then shape at the reference, pickup and driver."""
    modes, solution, here = body
    changed = replaced(design, address, value)
    placed = place_design(changed, FOLDER)
    found = solve_moved(solution, placed.blank, chosen_material(changed.material).solid)
    moved = replace(
        modes,
        freq_hz=np.sqrt(found.omega2) / (2 * np.pi),
        shapes=sheet_shapes(found.system, found.shapes),
    )
    there = body_of_modes(placed, moved)
    hearing = analyse_hearing(placed.design, replace(there, basis=in_air(there.modes, here.losses)))
    # A shape has no sign of its own; the reference point gives it one.
    turn = np.sign(hearing.reference_per_sqrt_kg)
    return np.array(
        [
            moved.freq_hz,
            hearing.operating_point.basis.freq_hz,
            turn * hearing.reference_per_sqrt_kg,
            turn * hearing.pickups[0].port.volts_per_coordinate,
            turn * hearing.drivers[0].port.force_per_drive,
        ]
    ), turn


@pytest.mark.parametrize("address", list(STEPS))
def test_frequencies_shapes_and_couplings_follow(design, body, derivatives, address):
    value, found = derivatives[address]
    here, turn = at_value(design, body, address, value)

    def slope(share):
        ends = [at_value(design, body, address, value * (1 + way * share))[0] for way in (-1, 1)]
        return (ends[1] - ends[0]) / (2 * value * share)

    wanted = (4 * slope(STEPS[address]) - slope(2 * STEPS[address])) / 3
    found = np.concatenate([found[:2], turn * found[2:]])
    # Relative to the derivative; where it all but vanishes, to a hundredth of quantity over value.
    scale = np.maximum(np.abs(wanted), 0.01 * np.abs(here) / value)
    error = np.abs(found - wanted) / scale
    np.testing.assert_array_less(error[:2], 1e-4)
    moves = body[2].moves_at_reference
    assert moves.sum() == COUNT - 1
    np.testing.assert_array_less(error[2:, moves], 1e-4)
