"""Units that are none, or that the units library stumbles over."""

import contextlib
import itertools
import string

import pytest

from modewright.units import UnitError, parse_quantity

WORDS = ["and", "in", "None", "lambda", "e", "pi", "inf", "nan", "degC", "degF", "dBm", "Np", "bit"]


@pytest.mark.parametrize("word", [*WORDS, "m", "K", "Hz", "kg", "delta", "octave"])
def test_no_unit_escapes_as_another_error(word):
    shapes = [
        "{0}",
        "{0}*m",
        "{0}/m",
        "1/{0}",
        "{0}**2",
        "{0}^-1",
        "{0}**0.5",
        "{0}/m/{0}",
        "{0} m",
    ]
    for shape, number, unit in itertools.product(
        shapes, ("1", "-3e300", "1e-320"), ("m", "K", "1")
    ):
        text = f"{number} {shape.format(word)}"
        try:
            value = parse_quantity(text, unit)
        except UnitError:
            continue
        assert value == value


@pytest.mark.parametrize("letter", string.ascii_letters)
def test_two_letters(letter):
    for other in ("", *string.ascii_letters):
        with contextlib.suppress(UnitError):
            parse_quantity(f"1 {letter}{other}", "m")


def test_endless_unit():
    with pytest.raises(UnitError, match="number followed by its unit"):
        parse_quantity("1 " + "*".join(["m"] * 3000), "m")
