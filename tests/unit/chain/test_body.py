"""From a design to the damped modes of its body."""

import numpy as np
import pytest

from modewright.chain import body as body_module
from modewright.chain.body import analyse_body, modes_up_to
from modewright.design.load import parse_design
from modewright.errors import GeometryError, SolveError
from modewright.modes.basis import BendingStrain, Modes

# Pressure-vessel code tables of austenitic steel (from memory): E = 195 GPa at 20 °C and 189 GPa at
# 100 °C; expansion from a strip mill's data sheet of stainless 301.
DRIFT_PER_K = (189 / 195 - 1) / 80
EXPANSION_PER_K = 16.8e-6

STRIP = """
[design]
name = "strip"
[material]
name = "stainless 301"
temperature = "{temperature}"
[stock]
thickness = "1 mm"
[resonator]
kind = "strip reed"
length = "60 mm"
width = "10 mm"
[support]
kind = "clamped"
"""


def strip(folder, temperature="20 degC", more=""):
    text = STRIP.format(temperature=temperature) + more
    return parse_design(text.encode(), folder=folder).design


def analysed(folder, count=3, **changes):
    return analyse_body(strip(folder, **changes), folder, count=count, accuracy="draft")


def test_frequency_falls_with_temperature_as_stiffness_and_expansion_demand(tmp_path):
    cold, warm = (analysed(tmp_path, temperature=t) for t in ("10 degC", "30 degC"))
    found = np.log(warm.modes.freq_hz / cold.modes.freq_hz) / 20
    # f ~ (h/L²) sqrt(E/ρ), and all lengths grow alike: (β + α)/2, as for every tuning fork.
    assert found == pytest.approx((DRIFT_PER_K + EXPANSION_PER_K) / 2, rel=0.05)
    assert np.ptp(found) < 1e-9


def test_warmer_sheet_is_analysed_at_its_temperature(tmp_path):
    cold, warm = (analysed(tmp_path, temperature=t) for t in ("10 degC", "30 degC"))
    assert cold.material.temperature_k == pytest.approx(283.15)
    ratio = warm.material.solid.youngs_modulus_pa / cold.material.solid.youngs_modulus_pa
    assert np.log(ratio) == pytest.approx(20 * DRIFT_PER_K, rel=0.05)


def test_modal_mass_of_a_clamped_strip_at_its_tip(tmp_path):
    # A cantilever's modes, normalised to 2 at the tip, all have a quarter of the mass there
    # (Blevins, Formulas for Natural Frequency and Mode Shape, table 8-1). A sheet
    # clamped across its width comes close.
    found = analysed(tmp_path)
    assert found.reference.name == "tip"
    assert found.modal_mass_kg[0] == pytest.approx(found.modes.body_mass_kg / 4, rel=0.02)


@pytest.mark.parametrize(
    ("more", "name", "point_m"),
    [
        ('[reference_point]\nname = "middle"\n', "middle", (30e-3, 0.0)),
        ('[reference_point]\npoint = ["20 mm", "3 mm"]\n', "reference point", (20e-3, 3e-3)),
    ],
)
def test_reference_point(more, name, point_m, tmp_path):
    found = analysed(tmp_path, more=more)
    assert found.reference.name == name
    assert found.reference.point_m == pytest.approx(point_m)


def test_unknown_reference_point_names_the_known_ones(tmp_path):
    with pytest.raises(GeometryError) as caught:
        analysed(tmp_path, more='[reference_point]\nname = "arm 2 tip"\n')
    assert 'reference_point.name: expected "tip", "middle" or "root", got' in str(caught.value)
    assert 'got "arm 2 tip"' in str(caught.value)


def test_second_analysis_reads_the_same_bits_back(tmp_path, monkeypatch):
    monkeypatch.setenv("MODEWRIGHT_CACHE", str(tmp_path / "kept"))
    solved = []

    def solve(*args, **kwargs):
        solved.append(kwargs["count"])
        return original(*args, **kwargs)

    original = body_module.solve_modes
    monkeypatch.setattr(body_module, "solve_modes", solve)
    first = analysed(tmp_path)
    second = analysed(tmp_path)
    assert solved == [3]
    place = np.array([[55e-3, 3e-3], [20e-3, -4e-3]])
    for one, other in (
        (first.modes.freq_hz, second.modes.freq_hz),
        (first.modes.error_cents, second.modes.error_cents),
        (first.basis.damping_ratio, second.basis.damping_ratio),
        (first.modal_mass_kg, second.modal_mass_kg),
        (first.modes.shapes.displacement(place), second.modes.shapes.displacement(place)),
    ):
        assert np.asarray(one).tobytes() == np.asarray(other).tobytes()
    assert first.modes.labels == second.modes.labels
    assert first.modes.source == second.modes.source

    (file,) = (tmp_path / "kept").iterdir()
    file.write_bytes(file.read_bytes()[:1000])
    third = analysed(tmp_path)
    assert solved == [3, 3]
    # Repeated solutions agree to the round-off of the factorisation, some 1e-5 cents.
    np.testing.assert_allclose(third.modes.freq_hz, first.modes.freq_hz, rtol=1e-6)
    analysed(tmp_path)
    assert solved == [3, 3]


class NoShapes:
    """Shapes of a body of which only the number of modes matters."""

    def __init__(self, count):
        self.mode_count = count

    def displacement(self, points_m):
        return np.zeros((len(points_m), 3, self.mode_count))

    def recombined(self, mix):
        return NoShapes(mix.shape[1])


def ladder(spacing_hz, asked):
    """Solver of a body with evenly spaced modes that notes what it was asked for."""

    def solve(count):
        asked.append(count)
        freq_hz = spacing_hz * np.arange(1, count + 1)
        return Modes(
            freq_hz=freq_hz,
            error_cents=np.zeros(count),
            labels=("bending",) * count,
            shapes=NoShapes(count),
            bending=BendingStrain(
                thickness_m=np.array([1e-3]), dilatation_per_pa=np.zeros((1, count))
            ),
            body_mass_kg=1e-3,
            source="made up",
        )

    return solve


@pytest.mark.parametrize("spacing_hz", [99.0, 300.0, 1000.0, 7000.0])
@pytest.mark.parametrize("at_least", [1, 12, 40])
def test_all_modes_up_to_a_frequency(spacing_hz, at_least):
    asked = []
    found = modes_up_to(ladder(spacing_hz, asked), 20e3, at_least)
    below = int(np.ceil(20e3 / spacing_hz)) - 1
    assert len(found.freq_hz) == max(below, at_least)
    assert found.shapes.mode_count == len(found.labels) == len(found.freq_hz)
    # Each further solution is dear: few of them, and not many more modes than needed.
    assert len(asked) <= 5
    assert asked[-1] <= max(2 * below, 40, at_least)


def test_expected_number_is_asked_for_at_once_and_too_many_never():
    asked = []
    assert len(modes_up_to(ladder(120.0, asked), 20e3, 12, 161.0).freq_hz) == 166
    assert asked == [202]
    asked = []
    with pytest.raises(SolveError, match=r"at most 256 below 20000 Hz, got .* about 900"):
        modes_up_to(ladder(30.0, asked), 20e3, 12, 900.0)
    assert asked == []


def test_more_modes_than_the_core_has_room_for_are_refused():
    with pytest.raises(SolveError, match=r"at most 256 below 20000 Hz, got as many below 7680 Hz"):
        modes_up_to(ladder(30.0, []), 20e3, 12)
