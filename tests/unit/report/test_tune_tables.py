"""What the command says of targets that cannot be met: in words and cents of a maker."""

from modewright.report.tune_tables import tune_sentences

LOW = {
    "what": "resonator.length at its lowest, 50 mm",
    "if_moved": "6 mm lower",
    "now_cents": 975.0,
    "then_cents": 944.2,
    "is_met_then": False,
}
THICKER = {
    "address": "stock.thickness",
    "now": "1 mm",
    "change": "+0.1 mm",
    "then_cents": 0.02,
    "is_met_then": True,
}


def failure(obstacles=(), ends=(), further=()):
    return " ".join(
        tune_sentences(
            {
                "is_complete": True,
                "solutions": [],
                "starts_tried": 4,
                "nearest": {
                    "targets": [{"what": "bending 1 at 600 Hz", "cents": 975.0, "is_met": False}],
                    "modes": [],
                },
                "verdict": {
                    "obstacles": list(obstacles),
                    "ends": list(ends),
                    "further": list(further),
                },
            }
        )
    )


def test_what_binds_is_told_with_what_moving_it_would_bring():
    text = failure(obstacles=[LOW])
    assert "misses bending 1 at 600 Hz by 975.0 cents" in text
    assert (
        "In the way: resonator.length at its lowest, 50 mm. 6 mm lower, the largest miss would be "
        "about 944 cents." in text
    )
    assert "stands in the way" not in text


def test_ends_that_cost_little_are_named_and_not_blamed():
    text = failure(ends=[LOW])
    assert "At an end of its range: resonator.length at its lowest, 50 mm." in text
    assert "These ends are not what stands in the way: the free dimensions alone" in text
    assert "In the way:" not in text


def test_without_ends_nothing_is_blamed_and_what_would_help_is_told():
    text = failure(further=[THICKER])
    assert "No range and no limit stands in the way: the free dimensions alone" in text
    assert (
        "It would help to free stock.thickness as well: +0.1 mm from 1 mm, and all targets would "
        "be met, as far as slopes tell." in text
    )
