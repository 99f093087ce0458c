"""Outlines of the families against areas worked out by hand, and faults of their fields."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from modewright.errors import GeometryError
from modewright.geometry.families.forked_reed import Arm, ForkedReed
from modewright.geometry.families.plate import Plate
from modewright.geometry.families.registry import FAMILIES
from modewright.geometry.families.strip_reed import StripReed
from modewright.geometry.measures import bounding_box_m, signed_area_m2
from modewright.geometry.planar import contains, self_crossing_m
from modewright.geometry.sketch import Sketch, named_point_m

HERE = Path()


def fork(**changes: object) -> ForkedReed:
    fields: dict[str, object] = {
        "base_length_m": 0.02,
        "arms": (Arm(length_m=0.06, width_m=0.008), Arm(length_m=0.07, width_m=0.006)),
        "slot_widths_m": (0.002,),
    }
    return ForkedReed(**{**fields, **changes})  # pyright: ignore[reportArgumentType]


def area_m2(sketch: Sketch) -> float:
    return signed_area_m2(sketch.outline.outer)


def test_kinds_are_told_apart() -> None:
    kinds = [family.kind for family in FAMILIES]
    assert len(set(kinds)) == len(kinds)
    assert {"strip reed", "forked reed", "plate", "drawn outline"} <= set(kinds)


def test_tapered_strip_is_a_trapezium() -> None:
    sketch = StripReed(length_m=0.08, width_m=0.012, tip_width_m=0.008).sketch(HERE)
    assert area_m2(sketch) == pytest.approx(0.08 * 0.010, rel=1e-13)
    assert sketch.named_points[0].name == "tip"
    assert sketch.named_points[0].point_m == (0.08, 0.0)
    assert np.abs(sketch.root_edges_m[0, :, 1]).tolist() == [0.006, 0.006]


def test_plate() -> None:
    sketch = Plate(length_m=0.2, width_m=0.1).sketch(HERE)
    assert area_m2(sketch) == pytest.approx(0.02)
    low, high = bounding_box_m(sketch.outline.outer)
    assert [*low, *high] == pytest.approx([0.0, -0.05, 0.2, 0.05])


def test_fork_with_round_slot_end() -> None:
    # Base, two arms, and what the half circle of the slot leaves in its two corners.
    expected = 0.02 * 0.016 + 0.06 * 0.008 + 0.07 * 0.006 + (2 - np.pi / 2) * 1e-3**2
    assert area_m2(fork().sketch(HERE)) == pytest.approx(expected, rel=1e-12)


def test_fork_with_fillets_tip_radii_and_shoulders() -> None:
    reed = fork(slot_fillet_m=5e-4, tip_radius_m=1e-3, base_width_m=0.020, shoulder_fillet_m=1.5e-3)
    assert not list(reed.problems())
    corner = 1 - np.pi / 4
    expected = 0.02 * 0.020 + 0.06 * 0.008 + 0.07 * 0.006
    expected += corner * (2 * 5e-4**2 + 2 * 1.5e-3**2 - 4 * 1e-3**2)
    assert area_m2(reed.sketch(HERE)) == pytest.approx(expected, rel=1e-12)


def test_three_arms_have_two_crotches() -> None:
    arms = tuple(Arm(length_m=length, width_m=0.005) for length in (0.05, 0.07, 0.06))
    sketch = fork(arms=arms, slot_widths_m=(0.002, 0.003)).sketch(HERE)
    places = {point.name: point.point_m for point in sketch.named_points}
    assert places["tip"] == places["arm 2 tip"] == pytest.approx((0.09, -5e-4))
    assert places["crotch 1"] == pytest.approx((0.02, -0.004))
    assert places["crotch 2"] == pytest.approx((0.02, 0.0035))
    # Named places lie on the sheet, on its edge at most.
    assert contains(sketch.outline, np.array(list(places.values()))).all()


@given(
    st.lists(st.tuples(st.floats(0.02, 0.1), st.floats(0.003, 0.02)), min_size=2, max_size=3),
    st.floats(5e-4, 5e-3),
    st.floats(0.2, 1.0),
)
def test_every_sound_fork_is_one_simple_curve(
    arms: list[tuple[float, float]], slot_m: float, share: float
) -> None:
    reed = fork(
        arms=tuple(Arm(length_m=length, width_m=width) for length, width in arms),
        slot_widths_m=(slot_m,) * (len(arms) - 1),
        slot_fillet_m=share * slot_m / 2,
        tip_radius_m=share * min(width for _, width in arms) / 2,
    )
    assert not list(reed.problems())
    outer = reed.sketch(HERE).outline.outer
    assert self_crossing_m(outer) is None
    assert signed_area_m2(outer) > 0


@pytest.mark.parametrize(
    ("changes", "key", "words"),
    [
        ({"arms": (Arm(length_m=0.06, width_m=0.008),)}, "arms", "two or three"),
        ({"slot_widths_m": (0.002, 0.002)}, "slot_widths", "1 width for 2 arms"),
        ({"slot_fillet_m": 0.0011}, "slot_fillet", "half the narrowest slot, 1 mm"),
        ({"tip_radius_m": 0.0031}, "tip_radius", "half the narrowest arm, 3 mm"),
        ({"base_width_m": 0.003}, "base_width", "more than 4 mm"),
        (
            {"base_width_m": 0.018, "shoulder_fillet_m": 0.002},
            "shoulder_fillet",
            "the step, 1 mm",
        ),
    ],
)
def test_fields_that_do_not_fit(changes: dict[str, object], key: str, words: str) -> None:
    (fault,) = fork(**changes).problems()
    assert fault.key == key
    assert words in fault.expected


def test_strip_tip_radius_too_large() -> None:
    (fault,) = StripReed(length_m=0.08, width_m=0.01, tip_radius_m=0.006).problems()
    assert (fault.key, fault.got) == ("tip_radius", "6 mm")


def test_unknown_named_point_lists_the_known() -> None:
    points = Plate(length_m=0.2, width_m=0.1).sketch(HERE).named_points
    with pytest.raises(GeometryError, match=r'expected one of .*"corner".*got "tipp"'):
        named_point_m(points, "tipp", "tip mass at")
