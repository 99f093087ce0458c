"""The generic reader, on sections of its own."""

import re
from dataclasses import dataclass
from typing import ClassVar

import pytest

from modewright.design.read import read_design
from modewright.design.source import parse_source
from modewright.errors import DesignError
from modewright.parameters import (
    Fault,
    choice,
    count,
    flag,
    point,
    points,
    quantities,
    quantity,
    section,
    sections,
    text,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Strip:
    """Section of the tests."""

    kind: ClassVar[str] = "strip"
    length_m: float = quantity("m", "Free length.", show="mm", above=0, plausible=(1e-3, 1.0))
    taper: float = quantity("1", "Width at the tip over width at the root.", default=1.0, above=0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Disc:
    """Section of the tests."""

    kind: ClassVar[str] = "disc"
    radius_m: float = quantity("m", "Radius.", show="mm", above=0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Plate:
    """Section of the tests."""

    name: str = text("Name of the plate.")
    centre_m: tuple[float, float] = point("Its centre.", default=(0.0, 0.0))
    corners_m: tuple[tuple[float, float], ...] = points("Its corners.", default=())
    gaps_m: tuple[float, ...] = quantities("m", "Gaps.", default=(), show="um", length=3, above=0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Rest:
    """Section of the tests."""

    turns: int = count("Turns.", default=100, at_least=1, at_most=1000)
    quiet: bool = flag("Whether it is quiet.", default=False)
    colour: str = choice("Colour.", ("red", "green"), default="red")

    def problems(self):
        if self.quiet and self.turns > 500:
            yield Fault(key="turns", expected="at most 500 when quiet", got=str(self.turns))


@dataclass(frozen=True, slots=True, kw_only=True)
class Root:
    """Section of the tests."""

    body: Strip | Disc = section("The body.", Strip, Disc)
    plates: tuple[Plate, ...] = sections("The plates.", Plate, default=())
    rest: Rest = section("The rest.", Rest, default=Rest())


GOOD = '[body]\nkind = "strip"\nlength = "40 mm"\n'


def read(content: str):
    return read_design(parse_source(content.encode(), "f.toml"), Root)


def messages(content: str) -> list[str]:
    try:
        design, findings = read(content)
    except DesignError as error:
        return [str(problem) for problem in error.problems]
    assert (design is None) == bool(findings.problems)
    return [str(problem) for problem in findings.problems]


def test_all_shapes_of_value():
    design, findings = read(
        GOOD
        + """
[[plates]]
name = "a"
centre = ["1 mm", "-2.5 cm"]
corners = [["0 mm", "0 mm"],
           ["1 mm", "0 mm"]]
gaps = ["100 um", "0.2 mm", "300 um"]
[[plates]]
name = "b"
[rest]
turns = 7
quiet = true
colour = "green"
"""
    )
    assert findings.problems == findings.warnings == []
    assert design == Root(
        body=Strip(length_m=0.04, taper=1.0),
        plates=(
            Plate(
                name="a",
                centre_m=(1e-3, -0.025),
                corners_m=((0.0, 0.0), (1e-3, 0.0)),
                gaps_m=(1e-4, 2e-4, 3e-4),
            ),
            Plate(name="b"),
        ),
        rest=Rest(turns=7, quiet=True, colour="green"),
    )


@pytest.mark.parametrize(
    ("content", "expected"),
    [
        ('[body]\nkind = "strip"\n', 'f.toml:1: body.length: expected a quantity such as "32 mm"'),
        (GOOD.replace("40 mm", "40 s"), 'f.toml:3: body.length: .* got "40 s". "s" is not a unit'),
        (GOOD.replace('"40 mm"', "40"), 'got 40. Add the unit, such as "40 mm"'),
        (GOOD.replace('"40 mm"', '"40"'), 'got "40". Add the unit, such as "40 mm"'),
        (GOOD.replace("40 mm", "40 MM"), 'Did you mean "40 mm"'),
        (
            GOOD.replace('"40 mm"', '["40 mm"]'),
            r"such as .* got a list of 1\. Write one quantity, with",
        ),
        (GOOD.replace('"40 mm"', "{}"), r"such as .* got a table\. Write one quantity, no section"),
        (
            GOOD.replace('"40 mm"', "nan"),
            r"got nan\. Write a finite number and its unit, in quotes",
        ),
        (GOOD.replace('"40 mm"', "-inf"), r"got -inf\. Write a finite number and its unit"),
        (
            GOOD.replace('"40 mm"', "true"),
            r"quantity such as .* got true\. Write a finite number and",
        ),
        (GOOD.replace('"40 mm"', "1979-05-27"), "quantity such as .* got 1979-05-27"),
        (GOOD.replace("40 mm", "-40 mm"), 'expected more than 0 mm, got "-40 mm"'),
        (GOOD.replace("40 mm", "140 m"), r'something like 1 mm to 1000 mm, got "140 m". Did you'),
        (GOOD.replace("40 mm", "140 m"), 'Did you mean "140 mm"'),
        (GOOD.replace("40 mm", "1e999 mm"), "The number must be finite"),
        (GOOD + "taper = nan\n", r"f.toml:4: body.taper: .* got nan\. Write a finite number\."),
        (GOOD + "taper = -1\n", "f.toml:4: body.taper: expected more than 0, got"),
        (GOOD + "tapr = 1\n", 'f.toml:4: body.tapr: .* unknown key "tapr". Did you mean "taper"'),
        (GOOD.replace("length", "length_m"), 'body.length_m: .* Write "length"'),
        (GOOD.replace("strip", "strp"), '"strip" or "disc", got "strp". Did you mean "strip"'),
        (GOOD.replace('kind = "strip"', ""), 'body.kind: .* got nothing. Add kind = "strip"'),
        (GOOD.replace('"strip"', "3"), '"strip" or "disc", got 3'),
        (GOOD + "[rets]\nturns = 1\n", 'f.toml:4: rets: .* unknown section "rets". Did you mean'),
        (GOOD + "[rest]\nturns = 2.0\n", "rest.turns: expected a whole number, got 2.0. Write 2."),
        (GOOD + "[rest]\nturns = 0\n", "rest.turns: expected at least 1, got 0"),
        (GOOD + "[rest]\nturns = 1001\n", "rest.turns: expected at most 1000, got 1001"),
        (GOOD + "[rest]\nturns = true\n", "rest.turns: expected a whole number, got true"),
        (GOOD + f"[rest]\nturns = 0x{'f' * 4000}\n", "got a very large whole number"),
        (GOOD + '[rest]\nquiet = "yes"\n', 'rest.quiet: expected true or false, got "yes"'),
        (GOOD + '[rest]\ncolour = "gren"\n', '"red" or "green", got "gren". Did you mean "green"'),
        (GOOD + "[rest]\ncolour = 1\n", '"red" or "green", got 1'),
        (
            GOOD + "[rest]\nquiet = true\nturns = 600\n",
            "f.toml:6: rest.turns: expected at most 500",
        ),
        (GOOD + "[[rest]]\nturns = 1\n", "rest: expected a section of its own, got a list of 1"),
        (GOOD + "rest = 4\n", "body.rest: .* unknown key"),
        (GOOD + '[plates]\nname = "a"\n', r"plates: expected a list of sections, .*\[\[ \]\]"),
        (GOOD + "[[plates]]\n", r"f.toml:4: plates\[1\].name: expected a value, got nothing. Name"),
        (GOOD + "[[plates]]\nname = 3\n", r"plates\[1\].name: expected text in quotes, got 3"),
        (
            GOOD + '[[plates]]\nname = "a"\n[[plates]]\nname = "a"\n',
            r'f.toml:7: plates\[2\].name: expected a name of its own, got "a" again',
        ),
        (
            GOOD + '[[plates]]\nname = "a"\ncentre = ["1 mm", "2 mm", "3 mm"]\n',
            r"f.toml:6: plates\[1\].centre: expected 2 entries, got 3",
        ),
        (
            GOOD + '[[plates]]\nname = "a"\ngaps = ["1 um", "2 um"]\n',
            r"plates\[1\].gaps: expected 3 entries, got 2",
        ),
        (
            GOOD + '[[plates]]\nname = "a"\ngaps = ["1 um", "2 um", "-3 um"]\n',
            r"plates\[1\].gaps\[3\]: expected more than 0 um",
        ),
        (
            GOOD + '[[plates]]\nname = "a"\ncorners = ["1 mm", "2 mm"]\n',
            r'plates\[1\].corners\[1\]: expected a place such as .* got "1 mm"',
        ),
    ],
)
def test_one_fault(content, expected):
    found = messages(content)
    assert any(re.search(expected, message) for message in found), found


def test_every_fault_at_once_and_in_the_order_of_the_file():
    found = messages(
        '[body]\nkind = "strip"\nlength = 40 mm\ntapr = 2\n[rest]\nturns = "3"\ncolour = gren\n'
    )
    assert [message.split(": ")[0] for message in found] == [f"f.toml:{n}" for n in (3, 4, 6, 7)]
    assert 'Write length = "40 mm".' in found[0]
    assert 'Write colour = "gren".' in found[3]


def test_misspelt_kind_does_not_hide_the_other_faults_of_its_section():
    found = messages('[body]\nkind = "strp"\nlength = "40 s"\n')
    assert len(found) == 2
    assert "body.kind" in found[0]
    assert "body.length" in found[1]


def test_odd_but_possible_value_is_a_warning():
    design, findings = read(GOOD.replace("40 mm", "1.4 m"))
    assert design is not None
    assert [str(w) for w in findings.warnings] == [
        'f.toml:3: body.length: expected something like 1 mm to 1000 mm, got "1.4 m". '
        'Did you mean "1.4 mm"?'
    ]


def test_line_of_a_key_in_an_inline_table():
    inline = 'plates = [\n  {name = "a"},\n  {name = "b", centr = []},\n]\n' + GOOD
    assert messages(inline)[0].startswith("f.toml:3: plates[2].centr: ")


def test_long_list_of_problems_is_cut():
    found = messages(GOOD + "".join(f"x{n} = 1\n" for n in range(150)))
    assert len(found) == 101
    assert found[-1] == "f.toml: file: expected fewer problems, got 50 more."
