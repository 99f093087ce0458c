"""Gaps between parts that stand on a common base, from cold to warm."""

from __future__ import annotations

import pytest

from modewright.tolerances.warmth import Warmth, gap_change_m

GAP_M, WARMING_K = 0.4e-3, 25.0


def test_one_metal_throughout_grows_evenly() -> None:
    warmth = Warmth(standoff_expansion_per_k=12e-6, bearer_expansion_per_k=12e-6)
    for is_above in (False, True):
        change = gap_change_m(warmth, GAP_M, WARMING_K, is_above=is_above)
        assert change == pytest.approx(GAP_M * 12e-6 * WARMING_K)


def test_brass_under_the_sheet_lifts_it_off_a_plate_on_steel() -> None:
    # 10 mm of brass at 19e-6 against 9.6 mm of steel at 12e-6, 25 K warmer.
    warmth = Warmth(standoff_m=10e-3, standoff_expansion_per_k=19e-6, bearer_expansion_per_k=12e-6)
    lifted = 10e-3 * 19e-6 * WARMING_K
    below = gap_change_m(warmth, GAP_M, WARMING_K, is_above=False)
    above = gap_change_m(warmth, GAP_M, WARMING_K, is_above=True)
    assert below == pytest.approx(lifted - 9.6e-3 * 12e-6 * WARMING_K)
    assert above == pytest.approx(10.4e-3 * 12e-6 * WARMING_K - lifted)
    assert below > 0 > above


def test_range_that_is_none() -> None:
    faults = list(Warmth(coldest_k=300.0, warmest_k=290.0).problems())
    assert [fault.key for fault in faults] == ["warmest"]
