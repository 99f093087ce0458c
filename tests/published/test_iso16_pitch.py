"""Equal-tempered frequencies and cents.

Sources
-------
ISO 16:1975, Acoustics: standard tuning frequency (A4 = 440 Hz).
A. J. Ellis, On the musical scales of various nations, J. Soc. Arts 33 (1885): cents.
"""

import pytest

from modewright.pitch import cents_between, freq_hz_of_note, ratio_of_cents


@pytest.mark.parametrize(
    ("name", "freq_hz"),
    [("C3", 130.812783), ("C4", 261.625565), ("C5", 523.251131), ("A5", 880.0)],
)
def test_equal_temperament(name, freq_hz):
    assert freq_hz_of_note(name) == pytest.approx(freq_hz, rel=1e-8)


def test_cents_of_small_changes():
    assert cents_between(1.001, 1.0) == pytest.approx(1.73037, rel=1e-5)
    assert ratio_of_cents(1.0) - 1 == pytest.approx(577.79e-6, rel=1e-5)
    # A bending mode of a sheet follows its thickness.
    assert cents_between(1.01, 1.0) == pytest.approx(17.23, rel=3e-4)
