"""The performances of every dossier."""

import dataclasses

import numpy as np
import pytest

from made_up_plant import make_plant
from modewright.loop.close import close_loop
from modewright.loop.settings import LoopSettings, ModeControl
from modewright.workflows.dossier_scores import dossier_scores


def scores_of(*numbers):
    controls = tuple(ModeControl(mode=n) for n in numbers)
    return dossier_scores(close_loop(make_plant(), LoopSettings(modes=controls)).regulators)


def test_names_follow_the_treated_modes():
    assert [name for name, _, _ in scores_of(1, 2, 3, 4, 5, 7)] == [
        "free", "damped", "mode_1_held", "all_held", "mode_4_swelling",
    ]  # fmt: skip
    assert [name for name, _, _ in scores_of(3, 6)][-1] == "mode_6_swelling"


@pytest.mark.parametrize("numbers", [(2,), (1, 3), (1, 2, 3, 4, 5, 7)])
def test_scores_ask_for_treated_modes_only_and_are_sound(numbers):
    for name, caption, score in scores_of(*numbers):
        assert {hold.mode for hold in score.holds} <= set(numbers), name
        assert caption
        assert score.strikes
        assert not [fault for hold in score.holds for fault in hold.problems()]
        assert all(hold.at_s < score.length_s for hold in score.holds)


def test_every_treated_mode_is_held_once():
    (score,) = [score for name, _, score in scores_of(1, 2, 5) if name == "all_held"]
    assert [hold.mode for hold in score.holds] == [1, 2, 5]


def test_without_treated_modes_only_the_free_sound():
    some = close_loop(make_plant(), LoopSettings(modes=(ModeControl(mode=1),))).regulators
    none = dataclasses.replace(some, modes=np.array([], dtype=np.int64))
    ((name, _, score),) = dossier_scores(none)
    assert (name, score.start, score.holds) == ("free", "free", ())
