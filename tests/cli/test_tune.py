"""``modewright tune``: exit codes, texts, files."""

import difflib
import json
import pathlib

import pytest

WISHES = """
# what I want
[tune]
accuracy = "draft"
modes = 4
starts = 2
solutions = 1

[[tune.free]]
path = "resonator.length"   # the only thing that may change
lowest = "40 mm"
highest = "90 mm"

[[tune.targets]]
kind = "pitch"
mode = "bending 1"
freq = "300 Hz"
"""


@pytest.fixture
def wished(strip):
    strip.write_text(strip.read_text("utf-8") + WISHES, "utf-8")
    return strip


def test_the_tuned_file_is_the_authors_with_one_value_changed(wished, call, tmp_path):
    tuned = tmp_path / "tuned.toml"
    ended = call("tune", wished, "-o", tuned)
    assert (ended.code, ended.err) == (0, "")
    assert "One solution from 1 start." in ended.out
    assert f"Solution 1: {tuned}" in ended.out
    before, after = (p.read_text("utf-8").splitlines() for p in (wished, tuned))
    changed = [row for row in difflib.ndiff(before, after) if row[:2] in {"- ", "+ "}]
    assert [row.split(" = ")[0] for row in changed] == ["- length", "+ length"]
    # What was promised is what `modes` finds.
    found = json.loads(call("modes", tuned, "--count", 4, "--accuracy", "draft", "--json").out)
    assert found["modes"][0]["freq_hz"] == pytest.approx(300, rel=6e-4)


def test_plain_data_say_where_they_come_from_and_are_repeated(wished, call):
    first, again = (call("tune", wished, "--json") for _ in range(2))
    assert first.code == 0
    found = json.loads(first.out)
    assert found == json.loads(again.out)
    assert found["settings"] == {"modes": 4, "solutions": 1, "starts": 2, "seed": 1}
    assert len(found["design_hash"]) == 64
    assert found["frequencies"] == "in vacuum"
    (solution,) = found["solutions"]
    assert solution["design_hash"] != found["design_hash"]
    assert abs(solution["targets"][0]["cents"]) <= 1
    assert found["nearest"] is None


def test_a_report_holds_page_pictures_and_data(wished, call, tmp_path):
    folder = tmp_path / "report"
    assert call("tune", wished, "--report", folder).code == 0
    assert {p.name for p in folder.iterdir()} == {
        "index.html", "outlines.png", "targets.png", "tuning.json",
    }  # fmt: skip
    assert (folder / "targets.png").read_bytes().startswith(b"\x89PNG")
    assert "bending 1 at 300 Hz" in (folder / "index.html").read_text("utf-8")


def test_targets_out_of_reach_end_with_code_2_and_what_stands_in_the_way(wished, call, tmp_path):
    wished.write_text(wished.read_text("utf-8").replace("300 Hz", "900 Hz"), "utf-8")
    tuned = tmp_path / "tuned.toml"
    ended = call("tune", wished, "-o", tuned)
    assert ended.code == 2
    assert "In the way: resonator.length at its lowest, 40 mm" in ended.out
    assert "It would help to free stock.thickness as well" in ended.out
    assert not tuned.exists()


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ('path = "resonator.length"', 'path = "resonator.lenght"', "tune.free[1].path"),
        ('mode = "bending 1"', 'mode = "bendnig 1"', "tune.targets[1].mode"),
        ('freq = "300 Hz"', 'note = "X3"', "tune.targets[1].note"),
        ('lowest = "40 mm"', 'lowest = "40 kg"', "tune.free[1].lowest"),
    ],
)
def test_faults_of_the_section_come_with_their_line(wished, call, old, new, message):
    text = wished.read_text("utf-8").replace(old, new)
    wished.write_text(text, "utf-8")
    line = next(i for i, row in enumerate(text.splitlines(), 1) if new in row)
    ended = call("tune", wished)
    assert (ended.code, ended.out) == (2, "")
    assert f"{wished}:{line}: {message}: expected" in ended.err


def test_the_design_itself_is_never_overwritten(wished, call):
    before = wished.read_bytes()
    ended = call("tune", wished, "-o", wished)
    assert ended.code == 2
    assert "got the design itself" in ended.err
    assert wished.read_bytes() == before


def test_a_solution_that_is_not_there_writes_nothing(wished, call, tmp_path):
    tuned = tmp_path / "tuned.toml"
    ended = call("tune", wished, "-o", tuned, "--solution", 5)
    assert ended.code == 2
    assert "solution: expected 1 to 1, got 5" in ended.err
    assert not tuned.exists()


def test_a_design_without_the_section_is_told_what_to_add(strip, call):
    ended = call("tune", strip)
    assert (ended.code, ended.out) == (2, "")
    assert "[[tune.free]] with path, lowest and highest" in ended.err


@pytest.mark.parametrize("name", ["forked_reed", "undercut_bar"])
def test_the_examples_of_tuning_are_sound(name, call):
    example = pathlib.Path(__file__).resolve().parents[2] / f"examples/tuning/{name}.toml"
    ended = call("check", example)
    assert (ended.code, ended.err) == (0, "")
    assert "[[tune.targets]]" in ended.out


def test_an_interrupted_search_says_so_and_leaves_with_130(wished, call, monkeypatch):
    from modewright.chain import tune_terrain

    def stopped(*_):
        raise KeyboardInterrupt

    monkeypatch.setattr(tune_terrain, "sample_body", stopped)
    ended = call("tune", wished)
    assert ended.code == 130
    assert "Interrupted: what was solved is kept" in ended.out
