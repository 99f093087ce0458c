"""Electronics in the dossier: what is not judged is told, and what is not there is left out."""

from dataclasses import replace
from types import SimpleNamespace

import pytest

from modewright.chain.hearing import analyse_hearing
from modewright.report.chapters.electronics import electronics_chapter
from modewright.transducers.surroundings import Surroundings
from modewright.workflows.dossier_electronics import shown_electronics


def chapter_text(found):
    return "".join(
        electronics_chapter(SimpleNamespace(electronics=shown_electronics(found))).blocks
    )


def test_a_design_without_surroundings_is_not_called_quiet(bench_g3):
    text = chapter_text(bench_g3)
    assert "not judged" in text
    assert "let it bleed" in text
    assert "Delay of every stage" in text


def test_surroundings_are_shown(bench_g3):
    room = Surroundings(electric_field_v_per_m=5.0)
    design = replace(bench_g3.placed.design, surroundings=room)
    found = replace(bench_g3, placed=replace(bench_g3.placed, design=design))
    text = chapter_text(found)
    assert "electric field of the mains" in text
    assert "Not judged: ripple" in text


def test_no_loop_no_chapter(bench_g3):
    assert shown_electronics(replace(bench_g3, closed_loop=None)) is None
    assert electronics_chapter(SimpleNamespace(electronics=None)) is None


def test_the_picture_is_the_same_every_time(bench_g3):
    first, second = (shown_electronics(bench_g3).chart_png for _ in range(2))
    assert first == second
    assert first.startswith(b"\x89PNG")


def test_a_leaking_board_is_in_the_table(bench_g3):
    share = 0.25
    pickup = bench_g3.body.pickups[0]
    leak_ohm = pickup.bias_resistance_ohm * share / (1 - share)
    dirty = replace(pickup, leakage_resistance_ohm=leak_ohm)
    hearing = analyse_hearing(bench_g3.placed.design, replace(bench_g3.body, pickups=(dirty,)))
    clean = bench_g3.hearing.pickups[0].figures
    found = hearing.pickups[0].figures
    assert "board leakage" in found.noise.contributor_v
    # A voltage divider takes the bias, the corner rises by as much as the resistance falls.
    ratio = found.sensitivity_v_per_m[0] / clean.sensitivity_v_per_m[0]
    assert ratio == pytest.approx(share, rel=2e-3)
    assert found.corner_hz / clean.corner_hz == pytest.approx(1 / share, rel=1e-2)
