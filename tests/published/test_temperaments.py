"""Sizes of scales that others have published.

@book{helmholtz1885,
  author    = {H. Helmholtz},
  title     = {On the Sensations of Tone},
  note      = {translated and enlarged by A. J. Ellis; table of intervals in cents, appendix XX,
               section D (from memory)},
  publisher = {Longmans, Green},
  edition   = {2},
  year      = {1885}
}

@book{barbour1951,
  author    = {J. M. Barbour},
  title     = {Tuning and Temperament: a Historical Survey},
  note      = {tables of Pythagorean and quarter-comma meantone tuning (from memory)},
  publisher = {Michigan State College Press},
  year      = {1951}
}

ISO 16:1975, Acoustics: standard tuning frequency, A4 = 440 Hz.
"""

import pytest

from modewright.instrument.scale import ListedIntervals, Scale

PURE_MAJOR = {  # Helmholtz and Ellis, whole cents
    "1": 0, "9/8": 204, "5/4": 386, "4/3": 498, "3/2": 702, "5/3": 884, "15/8": 1088,
}  # fmt: skip
PYTHAGOREAN = {"1": 0, "9/8": 204, "81/64": 408, "4/3": 498, "3/2": 702, "27/16": 906,
               "243/128": 1110}  # fmt: skip
SEVENTHS = {"1": 0, "7/6": 267, "7/4": 969}


@pytest.mark.parametrize("published", [PURE_MAJOR, PYTHAGOREAN, SEVENTHS])
def test_pure_scales_in_whole_cents(published):
    scale = Scale(steps=ListedIntervals(intervals=tuple(published)), freq_hz=200.0)
    found = [scale.note_of_degree(d, 440.0).cents for d in range(1, len(published) + 1)]
    assert found == pytest.approx(list(published.values()), abs=0.5)


def test_quarter_comma_meantone_by_its_fifths():
    # Four fifths of 5^(1/4) make a pure third: C D E G A at 0, 193, 386, 697, 890 cents (Barbour).
    fifth = "696.578 cents"
    intervals = (
        "1",
        f"{fifth} + {fifth} - octave",
        "5/4",
        fifth,
        f"{fifth} + {fifth} + {fifth} - octave",
    )
    scale = Scale(steps=ListedIntervals(intervals=intervals), freq_hz=200.0)
    found = [scale.note_of_degree(d, 440.0).cents for d in range(1, 6)]
    assert found == pytest.approx([0, 193, 386, 697, 890], abs=0.5)


@pytest.mark.parametrize(
    ("name", "freq_hz"),
    [("C3", 130.812783), ("C4", 261.625565), ("C5", 523.251131), ("A5", 880.0)],
)
def test_equal_temperament(name, freq_hz):
    scale = Scale(note="A4")
    degree = scale.find_degree(name, 440.0)
    assert scale.note_of_degree(degree, 440.0).freq_hz == pytest.approx(freq_hz, rel=1e-8)
