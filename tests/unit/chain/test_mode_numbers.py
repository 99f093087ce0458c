"""Labels of designs and scores become numbers, faults name their key."""

import pytest

from modewright.chain.mode_numbers import numbered_loop, numbered_score
from modewright.errors import ModeProblemsError
from modewright.loop.settings import LoopSettings, ModeControl
from modewright.sound.score import Change, Hold, Score

LABELS = ("bending 1", "torsion 1", "bending 2", "lateral 1")


def settings(*modes, modelled=4):
    return LoopSettings(modes=tuple(ModeControl(mode=m) for m in modes), modelled_modes=modelled)


def test_labels_and_numbers_side_by_side():
    found = numbered_loop(settings("bending 2", 1, "Torsion 1"), LABELS)
    assert [control.number for control in found.modes] == [3, 1, 2]


def test_the_same_label_finds_a_mode_that_has_changed_its_place():
    moved = ("bending 1", "bending 2", "torsion 1")
    assert numbered_loop(settings("torsion 1"), LABELS).modes[0].number == 2
    assert numbered_loop(settings("torsion 1"), moved).modes[0].number == 3


def test_one_mode_by_number_and_label():
    with pytest.raises(ModeProblemsError) as caught:
        numbered_loop(settings("torsion 1", 1, 2), LABELS)
    (problem,) = caught.value.problems
    assert problem.what == "loop.modes[3].mode"
    assert problem.got == 'mode 2, "torsion 1", 2 times'


def test_label_of_a_mode_that_the_observer_does_not_know():
    with pytest.raises(ModeProblemsError) as caught:
        numbered_loop(settings("bending 2", modelled=2), LABELS)
    (problem,) = caught.value.problems
    assert problem.what == "loop.modelled_modes"
    assert "at least 3" in problem.expected


def test_scores():
    score = Score(
        length_s=1.0,
        holds=(Hold(mode="torsion 1", at_s=0.0),),
        changes=(Change(at_s=0.0, to="free"), Change(at_s=0.5, mode="bending 1", to="damped")),
    )
    found = numbered_score(score, LABELS, [1, 2])
    assert found.holds[0].mode == 2
    assert [change.mode for change in found.changes] == [0, 1]


def test_every_fault_of_a_score_at_once():
    score = Score(
        length_s=1.0,
        holds=(Hold(mode="torsion 2", at_s=0.0), Hold(mode="lateral 1", at_s=0.0)),
        changes=(Change(at_s=0.0, mode=9, to="free"),),
    )
    with pytest.raises(ModeProblemsError) as caught:
        numbered_score(score, LABELS, [1, 2])
    unknown, untreated, beyond = caught.value.problems
    assert unknown.what == "holds[1].mode"
    assert unknown.hint.startswith('Did you mean "torsion 1"')
    assert untreated.what == "holds[2].mode"
    assert untreated.expected == 'a treated mode (1 "bending 1", 2 "torsion 1")'
    assert beyond.what == "changes[1].mode"


def test_what_a_score_needs_a_loop_for():
    assert not Score(length_s=1.0).needs_loop
    assert Score(length_s=1.0, start="damped").needs_loop
    assert Score(length_s=1.0, holds=(Hold(mode=1, at_s=0.0),)).needs_loop
