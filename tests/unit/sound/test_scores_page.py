"""The page about scores names the keys that a score has, and its examples can be read."""

import pathlib
import re

import pytest

from modewright.design.read import read_design, section_keys
from modewright.design.source import parse_source
from modewright.sound.score import Change, Hold, Noise, Oscillator, Score, Strike

ROOT = pathlib.Path(__file__).resolve().parents[3]
PAGE = (ROOT / "docs" / "guide" / "scores.md").read_text(encoding="utf-8")
EXAMPLES = re.findall(r"```toml\n(.*?)```", PAGE, re.DOTALL)
TABLES = {
    "### At the top": Score,
    "### `[[strikes]]`": Strike,
    "### `[[holds]]`": Hold,
    "`[holds.oscillator]`": Oscillator,
    "### `[[changes]]`": Change,
    "### `[[noises]]`": Noise,
}


@pytest.mark.parametrize("text", EXAMPLES)
def test_examples_are_scores(text):
    score, findings = read_design(parse_source(text.encode()), Score)
    assert score is not None, findings.problems
    assert score.strikes


@pytest.mark.parametrize(("heading", "section"), TABLES.items())
def test_tables_name_every_key(heading, section):
    table = PAGE.split(heading, 1)[1].split("| --- | --- | --- |\n", 1)[1].split("\n\n", 1)[0]
    named = set(re.findall(r"`(\w+)`", " ".join(row.split("|")[1] for row in table.splitlines())))
    keys = set(section_keys(section))
    assert named == keys - {"strikes", "holds", "changes", "noises", "oscillator"}
