"""Tables to read: dashes, signs of infinity and the worse of two figures."""

import pytest

from modewright.report.text_tables import detuning_table, margin_table, pickup_tables, rest_tables

MODE = {
    "number": 3,
    "label": "torsion 1",
    "detuning_cents": [-5.0, -1.0, 1.0, 5.0],
    "held_level_db": [-0.8, 0.01, -0.02, 0.5],
    "held_pull_cents": [2.0, 0.1, -0.3, -2.5],
    "damped_t60_s": [0.7, 0.5, 0.6, None],
    "damped_pull_cents": [0.0, 0.0, 0.0, 0.0],
}


def test_worse_of_both_ways():
    table = detuning_table({"detuning": [MODE]})
    assert table.rows == (("3", "torsion 1", "-0.02", "-0.30", "0.600", "-0.80", "-2.50", "grows"),)
    assert len(table.columns) == len(table.rows[0])
    assert table.title.startswith("Model off by 1 or 5 cents")


def test_margins_of_a_stable_and_an_unstable_case():
    margins = {
        "gain_db": None, "gain_freq_hz": 100.0, "phase_deg": 61.4, "phase_freq_hz": 200.0,
        "delay_s": 0.25e-3, "delay_freq_hz": 300.0,
    }  # fmt: skip
    cases = [
        {"case": "as stated", "is_stable": True, "margins": margins},
        {"case": "all damped", "is_stable": False, "margins": margins},
    ]
    others = [{"case": "all held", "is_stable": True, "margins": margins}]
    table = margin_table({"cases": cases, "other_states": others})
    assert table.rows[0] == ("as stated", "∞", "100.0", "61", "200.0", "0.25", "300.0")
    assert table.rows[1][:2] == ("all damped", "none: unstable")
    assert table.rows[2][0] == "all held"
    assert {len(row) for row in table.rows} == {len(table.columns)}


def test_nothing_at_rest_gives_no_table():
    bare = {"gaps": [], "freq_hz": [100.0], "shift_cents": [0.0], "shift_by_cause_cents": {}}
    assert rest_tables(bare) == ()


def test_noise_over_all_frequencies_stands_below_the_sum_of_what_is_heard(bench_g3):
    pickup = bench_g3.hearing.pickups[0].figures
    total_f = pickup.capacitance_f + bench_g3.loaded.design.pickups[0].stray_capacitance_f
    data = {
        "name": "plate", "capacitance_f": 1e-12, "corner_hz": 1.0, "motion_m": 1e-5,
        "sensitivity_v_per_m": [], "noise_v_rms": {"bias resistor": 4e-6, "total": 5e-6},
        "ktc_noise_v_rms": pickup.ktc_noise_v,
    }  # fmt: skip
    _, noise = pickup_tables(data)
    assert [row[0] for row in noise.rows[:2]] == ["bias resistor", "total"]
    name, value = noise.rows[2]
    assert name.startswith("kT/C")
    # Nyquist's 4kTR over a first-order low-pass of RC: sqrt(kT/C), whatever R.
    assert float(value) == pytest.approx(1e6 * (1.380649e-23 * 293.15 / total_f) ** 0.5, rel=0.01)
