"""Results as plain data: what JSON has no word for becomes null, and the numbers fit together."""

import json
import math
import re

import numpy as np
import pytest

from modewright.report.tables import finite, loop_data, modes_data, origin


@pytest.mark.parametrize(
    ("value", "wanted"), [(1.5, 1.5), (math.inf, None), (-math.inf, None), (math.nan, None)]
)
def test_finite(value, wanted):
    assert finite(value) == wanted


def test_origin_names_design_settings_and_version():
    from modewright import __version__

    assert origin("ab", "draft") == {
        "design_hash": "ab", "accuracy": "draft", "modewright": __version__,
    }  # fmt: skip


def test_notes_of_the_modes(bench_g3):
    for a4_hz in (415.0, 442.0):
        for row in modes_data(bench_g3.body, a4_hz):
            # Undo the note by its definition: semitones from A4, then cents.
            letter, octave = re.fullmatch(r"([A-G]#?)(-?\d+)", row["note"]).groups()
            names = ["C", "C#", "D", "D#", "E", "F", "F#", "G", "G#", "A", "A#", "B"]
            semitones = names.index(letter) - 9 + 12 * (int(octave) - 4) + row["note_cents"] / 100
            assert a4_hz * 2 ** (semitones / 12) == pytest.approx(row["freq_hz"], rel=1e-9)
            assert abs(row["note_cents"]) <= 50


def test_modes_fit_together(bench_g3):
    rows = modes_data(bench_g3.body, 442.0, 5)
    assert [row["number"] for row in rows] == [1, 2, 3, 4, 5]
    assert rows[0]["ratio"] == 1
    freq_hz = [row["freq_hz"] for row in rows]
    assert freq_hz == sorted(freq_hz)
    for row in rows:
        assert row["ratio"] == pytest.approx(row["freq_hz"] / freq_hz[0])
        assert sum(row["loss_shares"].values()) == pytest.approx(1)
        assert all(share >= 0 for share in row["loss_shares"].values())
    assert len(modes_data(bench_g3.body, 442.0)) == len(bench_g3.body.basis.freq_hz)


def test_loop_is_strict_json_and_fits_together(bench_g3):
    read = json.loads(json.dumps(loop_data(bench_g3.loop, 1e-3), allow_nan=False))
    for case in read["cases"]:
        for pole in case["poles"]:
            # T60 = ln(1000)/σ.
            assert pole["t60_s"] * pole["decay_rate_per_s"] == pytest.approx(math.log(1000))
    for mode in read["modes"]:
        both = (mode["fastest_t60_loop_s"], mode["exponential_t60_driver_s"])
        assert mode["exponential_t60_s"] == max(both)
        binding = "loop margins" if both[0] > both[1] else "driver limit"
        assert mode["exponential_t60_by"] == binding
        assert 0 < mode["decay_at_limit_s"] < mode["exponential_t60_driver_s"]
        assert 0 < mode["level_m"] <= mode["highest_level_m"]
    damped = {p["number"]: p["t60_s"] for p in read["cases"][1]["poles"]}
    alone = 3 * np.log(10) / bench_g3.loop.plant.decay_rate_per_s
    for mode in read["modes"]:
        assert damped[mode["number"]] < alone[mode["number"] - 1]
