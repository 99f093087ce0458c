"""Faults of a score that involve several fields."""

import pytest

from modewright.sound.score import Hold, Noise, Oscillator


def told(section):
    return [(fault.key, fault.expected, fault.got) for fault in section.problems()]


@pytest.mark.parametrize("until_s", [1.0, 2.0])
def test_what_ends_before_it_begins(until_s):
    wanted = [("until", "later than 2 s", f"{until_s:g} s")]
    assert told(Hold(mode=1, at_s=2.0, until_s=until_s)) == wanted
    assert told(Noise(at_s=2.0, until_s=until_s, level=0.1)) == wanted


def test_oscillator_deeper_than_the_level():
    assert told(Oscillator(rate_hz=1.0, depth=1.2)) == [("depth", "at most 100 %", "120 %")]


def test_sound_ones():
    assert told(Hold(mode=1, at_s=2.0)) == []
    assert told(Hold(mode=1, at_s=2.0, until_s=2.1)) == []
    assert told(Noise(at_s=0.0, until_s=1.0, level=0.1)) == []
    assert told(Oscillator(rate_hz=1.0, depth=1.0)) == []
