"""Spread of a plain reed against closed forms; what is kept after a stop."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from modewright.design.load import LoadedDesign, parse_design
from modewright.errors import DesignError, ModewrightError
from modewright.studies import trial
from modewright.studies.spread import Spread, spread_design
from modewright.studies.temperature import temperature_course
from plain_reed import PLAIN_REED

SPREAD = """
[spread]
modes = 2
solved = 4
[[spread.tolerances]]
kind = "strip thickness"
[[spread.tolerances]]
kind = "amount"
name = "length"
paths = ["resonator.length"]
plus_minus = "0.1 mm"
source = "made up"
[[spread.limits]]
kind = "pitch"
within = "40 cents"
"""
PICKUP = """
[[pickups]]
name = "plate"
gap = "0.5 mm"
bias = "100 V"
[pickups.plate]
kind = "disc"
centre = ["27 mm", "0 mm"]
diameter = "4 mm"
"""


def reed(text: str = SPREAD) -> LoadedDesign:
    return parse_design((PLAIN_REED + text).encode(), folder=Path(), file="reed.toml")


def spread(loaded: LoadedDesign, samples: int = 400) -> Spread:
    return spread_design(
        loaded.design, loaded.folder, samples=samples, scheduler="serial", accuracy="draft"
    )


@pytest.fixture(scope="module")
def found(tmp_path_factory: pytest.TempPathFactory) -> Spread:
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("MODEWRIGHT_CACHE", str(tmp_path_factory.mktemp("kept")))
        return spread(reed())


def test_thickness_and_length_of_a_reed_by_the_bar_law(found: Spread) -> None:
    neper = 1200 / np.log(2)
    thickness = neper * 0.020 / 0.35 / np.sqrt(3)
    length = -2 * neper * 0.1 / 30 / np.sqrt(3)
    assert found.derivative_cents[:, 0] == pytest.approx([thickness, length], rel=0.01)


def test_first_order_sampled_and_solved_agree(found: Spread) -> None:
    first = np.sqrt((found.derivative_cents**2).sum(axis=0))
    assert found.changes[:, :2].std(axis=0) == pytest.approx(first, rel=0.1)
    by_solver = found.truth[:, :2]
    assert np.abs(found.errors[:, :2]).max() < 0.1 * first.max()
    assert np.abs(by_solver).max() > first.max() / 4


def test_yield_is_that_of_the_pieces(found: Spread) -> None:
    assert found.as_cut.share == np.mean(np.abs(found.changes[:, 0]) <= 40)
    assert found.bought[0][0].share > found.as_cut.share


def test_stopped_study_goes_on_and_ends_alike(
    found: Spread, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("MODEWRIGHT_CACHE", str(tmp_path))
    solve, solved = trial.solve_trial, [0]

    def stopping(task: trial.Trial) -> trial.Tried:
        solved[0] += 1
        if solved[0] == 5:
            raise KeyboardInterrupt
        return solve(task)

    monkeypatch.setattr(trial, "solve_trial", stopping)
    with pytest.raises(KeyboardInterrupt):
        spread(reed())
    again = spread(reed())
    # The design, four ends and four pieces; the interrupted one was begun twice.
    assert solved[0] == 9 + 1
    _same(again, found)


@pytest.mark.parametrize(
    ("path", "more", "told"),
    [
        # A bar's pitch does not depend on its width but for Poisson's ratio.
        ("resonator.width", "", r"spread.trim: expected a number that takes mode 1"),
        ("pickups[1].tilt_x", PICKUP, "spread.trim: expected a number other than 0"),
    ],
)
def test_what_cannot_be_trimmed_is_refused(path: str, more: str, told: str) -> None:
    text = SPREAD.replace("modes = 2", f'modes = 2\ntrim = "{path}"') + more
    with pytest.raises(DesignError, match=told):
        spread(reed(text))


@pytest.mark.slow
def test_a_gap_that_moves_along_with_a_length_counts(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("MODEWRIGHT_CACHE", str(tmp_path))
    gap = PICKUP.replace("0.5 mm", "0.2 mm").replace("100 V", "200 V")
    thin = SPREAD[: SPREAD.index("[[spread.tol")].replace("solved = 4", "solved = 2")
    amount = """[[spread.tolerances]]
kind = "amount"
name = "{0}"
paths = [{1}]
plus_minus = "0.01 mm"
source = "made up"
"""
    length, plate = '"resonator.length"', '"pickups[1].gap"'
    apart = thin + amount.format("a", length) + amount.format("b", plate)
    one = spread(reed(apart + gap), 10).response
    both = spread(reed(thin + amount.format("c", f"{length}, {plate}") + gap), 10).response
    # Only the bias tells a frequency of the gap.
    assert abs(one.slope[1, 0]) > 0.1
    assert both.slope[0, :2] == pytest.approx(one.slope[:, :2].sum(axis=0), rel=1e-6)
    assert both.curve[0, :2] == pytest.approx(one.curve[:, :2].sum(axis=0), rel=1e-6)


@pytest.mark.slow
def test_remarks_limits_and_trimming_are_changed_without_solving_again(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("MODEWRIGHT_CACHE", str(tmp_path))
    first = spread(reed())

    def solves_again(_: trial.Trial) -> trial.Tried:
        raise AssertionError

    monkeypatch.setattr(trial, "solve_trial", solves_again)
    changed = SPREAD.replace("40 cents", "1 cents").replace("made up", "measured")
    heading = '\n[design]\nname = "another"\n[[tune.free]]\npath = "resonator.length"\n'
    heading += 'lowest = "20 mm"\nhighest = "40 mm"\n'
    heading += '[[tune.targets]]\nkind = "pitch"\nmode = 1\nfreq = "300 Hz"\n'
    again = spread(reed(changed + heading))
    assert np.array_equal(again.changes, first.changes, equal_nan=True)
    assert again.as_cut.share < first.as_cut.share


def _same(one: Spread, other: Spread) -> None:
    """To the last bit."""
    assert np.array_equal(one.changes, other.changes, equal_nan=True)
    assert np.array_equal(one.truth, other.truth, equal_nan=True)
    assert one.as_cut == other.as_cut


def test_damaged_pieces_are_solved_anew_and_told(
    found: Spread, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("MODEWRIGHT_CACHE", str(tmp_path))
    assert spread(reed()).damaged == 0
    cut, noise, *_ = sorted(tmp_path.glob("spread-*"))
    cut.write_bytes(cut.read_bytes()[:200])
    noise.write_bytes(b"\0" * 500)
    again = spread(reed())
    assert again.damaged == 2
    _same(again, found)
    assert spread(reed()).damaged == 0


@pytest.mark.slow
def test_processes_and_cluster_give_the_serial_numbers(
    found: Spread, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    distributed = pytest.importorskip("distributed")
    loaded = reed()
    with distributed.LocalCluster(
        n_workers=1, threads_per_worker=1, dashboard_address=None
    ) as cluster:
        for scheduler in ("processes", cluster.scheduler_address):
            monkeypatch.setenv("MODEWRIGHT_CACHE", str(tmp_path / scheduler[:3]))
            again = spread_design(
                loaded.design, loaded.folder, samples=400, scheduler=scheduler, accuracy="draft"
            )
            _same(again, found)


def test_drift_with_warmth_is_half_the_sum_of_both_constants(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("MODEWRIGHT_CACHE", str(tmp_path))
    loaded = reed()
    course = temperature_course(loaded.design, loaded.folder, modes=2, accuracy="draft")
    expected = 1200 / np.log(2) * (-4e-4 + 16.8e-6) / 2
    assert course.cents_per_k == pytest.approx([expected] * 2, rel=0.05)


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("resonator.length", "resonator.lenght", "resonator.length"),
        ("0.1 mm", "0.1 kg", "plus_minus"),
        ("0.1 mm", "0 mm", "above 0"),
        ("resonator.length", "stock.thickness", "each number once"),
    ],
)
def test_tolerance_that_is_wrong(old: str, new: str, said: str) -> None:
    with pytest.raises(ModewrightError, match=said):
        spread(reed(SPREAD.replace(old, new)))


def test_design_without_tolerances() -> None:
    with pytest.raises(ModewrightError, match=r"\[\[spread\.tolerances\]\]"):
        spread(reed(""))


ENTERED = SPREAD + '[[spread.tolerances]]\nkind = "material spread"\n'


def test_constant_that_was_measured_has_no_spread_of_the_table() -> None:
    measured = (PLAIN_REED + ENTERED).replace(
        'name = "stainless 301"', 'name = "stainless 301"\nyoungs_modulus = "190 GPa"'
    )
    loaded = parse_design(measured.encode(), folder=Path(), file="reed.toml")
    with pytest.raises(ModewrightError, match="entered in the design"):
        spread(loaded)


@pytest.mark.parametrize(
    ("limit", "said"),
    [
        ('kind = "margins"', "expected a loop"),
        ('kind = "sensitivity"\nwithin = "1 dB"', "a pickup that hears mode 1"),
    ],
)
def test_limit_of_what_the_design_does_not_have(
    limit: str, said: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("MODEWRIGHT_CACHE", str(tmp_path))
    with pytest.raises(ModewrightError, match=said) as raised:
        spread(reed(f"{SPREAD}[[spread.limits]]\n{limit}\n"))
    assert "spread.limits[2]" in str(raised.value)
