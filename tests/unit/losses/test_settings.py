"""The losses section of a design."""

import pytest

from modewright.losses.settings import LossSettings


def test_defaults_are_sound():
    assert list(LossSettings().problems()) == []
    assert list(LossSettings(support="entered", support_q=(1500.0,)).problems()) == []


@pytest.mark.parametrize(
    ("given", "expected", "got"),
    [
        ({"support": "entered"}, 'at least one figure because support = "entered"', "none"),
        ({"support_q": (900.0,)}, 'no figures because support = "estimate"', "1"),
        ({"support": "none", "support_q": (9.0, 8.0)}, 'no figures because support = "none"', "2"),
    ],
)
def test_switch_and_figures_must_agree(given, expected, got):
    (fault,) = LossSettings(**given).problems()
    assert (fault.key, fault.expected, fault.got) == ("support_q", expected, got)
    assert "support" in fault.hint
