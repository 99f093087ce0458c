"""Which pickup and driver the loop uses."""

import dataclasses

import pytest

from modewright.chain.closed_loop import analyse_loop, chosen_driver, chosen_pickup
from modewright.errors import LoopError


def with_loop(design, **changes):
    return dataclasses.replace(design, loop=dataclasses.replace(design.loop, **changes))


def test_first_ones_unless_named(bench_g3):
    design, hearing = bench_g3.loaded.design, bench_g3.hearing
    assert chosen_pickup(design, hearing) is hearing.pickups[0]
    named = with_loop(design, pickup="plate", driver="magnet")
    assert chosen_pickup(named, hearing) is hearing.pickups[0]
    assert chosen_driver(named, hearing) is hearing.drivers[0]


@pytest.mark.parametrize(("what", "known"), [("pickup", "plate"), ("driver", "magnet")])
def test_unknown_name(what, known, bench_g3):
    design = with_loop(bench_g3.loaded.design, **{what: "horn"})
    with pytest.raises(LoopError, match=f'loop.{what}: expected one of "{known}", got "horn"'):
        analyse_loop(design, bench_g3.body, bench_g3.hearing)


@pytest.mark.parametrize(("what", "field"), [("pickup", "pickups"), ("driver", "drivers")])
def test_none_at_all(what, field, bench_g3):
    hearing = dataclasses.replace(bench_g3.hearing, **{field: ()})
    with pytest.raises(LoopError, match=f"loop: expected a {what}, got a design without one"):
        analyse_loop(bench_g3.loaded.design, bench_g3.body, hearing)
