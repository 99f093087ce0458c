"""Damaged design files: always a list of problems with lines, never a traceback."""

import pathlib

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from modewright.design.load import parse_design
from modewright.design.starter import starter_design_text
from modewright.errors import DesignError

ROOT = pathlib.Path(__file__).resolve().parents[3]
EXAMPLES = [ROOT / "examples" / "boathouse_bench" / "g3.toml"]
BASES = [starter_design_text(), *(p.read_text(encoding="utf-8") for p in EXAMPLES)]

NASTY = [
    *('""', '"', "'", "[]", "{}", "[[]]", "[", "]", "nan", "inf", "-inf", "0", "-1", "1e308"),
    *("1e-320", "99999999999999999999999", "0x" + "f" * 300, "true", "1979-05-27", "1 mm"),
    *('"1 mm', '"mm"', '"1 furlong"', '"1 mm mm"', '"1e400 m"', '"1 m**99"', '"1e9 m"', '"-3 mm"'),
    *('"0 mm"', '"1 degC"', '"1 mm/"', '"__import__"', '"\\u0000"', '["1 mm"]', '[["1 mm"]]'),
    *(
        '["1 mm", 2]',
        "{a = 1}",
        "[{a = 1}]",
        '{kind = "x"}',
        '"\U0001f3b5"',
        '"' + "x" * 5000 + '"',
    ),
    *('"NaN mm"', '"1_000 mm"', '"½ mm"', '"1 K"', '"%"', '"1 %"', '"1 dB"', "1.5", '"١ mm"'),
]


@st.composite
def damaged(draw):
    text = draw(st.sampled_from(BASES))
    for _ in range(draw(st.integers(1, 4))):
        text = draw(st.sampled_from([_bytes, _line, _value, _cut]))(draw, text)
    return text.encode("utf-8", "surrogateescape")


def _bytes(draw, text):
    content = bytearray(text.encode("utf-8", "surrogateescape"))
    at = draw(st.integers(0, max(0, len(content) - 1)))
    content[at : at + draw(st.integers(0, 3))] = draw(st.binary(max_size=4))
    return content.decode("utf-8", "surrogateescape")


def _line(draw, text):
    lines = text.split("\n")
    at, other = (draw(st.integers(0, len(lines) - 1)) for _ in range(2))
    what = draw(st.sampled_from(["drop", "twice", "swap", "uncomment"]))
    if what == "drop":
        del lines[at]
    elif what == "twice":
        lines.insert(other, lines[at])
    elif what == "swap":
        lines[at], lines[other] = lines[other], lines[at]
    else:
        lines[at] = lines[at].removeprefix("# ")
    return "\n".join(lines)


def _value(draw, text):
    lines = text.split("\n")
    at = draw(st.sampled_from([n for n, line in enumerate(lines) if "=" in line] or [0]))
    lines[at] = lines[at].lstrip("# ").split("=")[0] + "= " + draw(st.sampled_from(NASTY))
    return "\n".join(lines)


def _cut(draw, text):
    return text[: draw(st.integers(0, len(text)))]


def problems_of(content: bytes):
    try:
        loaded = parse_design(content, folder=pathlib.Path("/nowhere"), file="f.toml")
    except DesignError as error:
        return error.problems
    assert len(loaded.design_hash) == 64
    return None


def check(content: bytes) -> None:
    problems = problems_of(content)
    assert problems is None or len(problems) > 0
    lines = content.replace(b"\r\n", b"\n").count(b"\n") + 1
    for problem in problems or ():
        assert problem.what
        assert problem.expected
        assert problem.got
        assert 0 <= problem.line <= lines
        assert len(str(problem).encode()) < 2000


_QUIET = [HealthCheck.too_slow, HealthCheck.data_too_large]


@settings(max_examples=60, deadline=None, suppress_health_check=_QUIET)
@given(damaged())
def test_damaged_files(content):
    check(content)


@pytest.mark.slow
@settings(max_examples=800, deadline=None, suppress_health_check=_QUIET)
@given(damaged())
def test_many_damaged_files(content):
    check(content)


@settings(max_examples=60, deadline=None)
@given(st.binary(max_size=200))
def test_any_bytes(content):
    check(content)
