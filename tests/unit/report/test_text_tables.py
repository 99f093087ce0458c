"""Tables to read: dashes, signs of infinity and the worse of two figures."""

from modewright.report.text_tables import detuning_table, margin_table, rest_tables

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
