"""``modewright instrument``: exit codes, texts, files."""

import json
import math
import pathlib
import re
import tomllib

import ezdxf
import pytest

from modewright.errors import DesignError, Problem

FAMILY = """
# a plain reed
[design]
name = "Strip"
[material]
name = "stainless 301 half hard"
[stock]
thickness = "1 mm"
[resonator]
kind = "strip reed"
length = "60 mm"   # changes from note to note
width = "10 mm"
[support]
kind = "clamped"
"""

PLAN = """
[instrument]
name = "Three strips"
[family]
file = "strip.toml"
[scale]
freq = "240 Hz"
[scale.steps]
kind = "listed intervals"
intervals = ["1", "5/4", "3/2"]
names = ["do", "mi", "so"]
[compass]
last = "so"
[tune]
accuracy = "draft"
modes = 3
starts = 1
[[tune.free]]
path = "resonator.length"
lowest = "30 mm"
highest = "90 mm"
[[tune.targets]]
kind = "pitch"
mode = 1
[base]
kind = "rigid block"
mass = "1.5 kg"
length = "200 mm"
width = "100 mm"
"""


@pytest.fixture
def plan(tmp_path):
    (tmp_path / "strip.toml").write_text(FAMILY, "utf-8")
    file = tmp_path / "plan.toml"
    file.write_text(PLAN, "utf-8")
    return file


def test_every_note_gets_a_design_that_sounds_it(plan, call, tmp_path):
    folder = tmp_path / "out"
    ended = call("instrument", plan, "-o", folder)
    assert (ended.code, ended.err) == (0, "")
    assert "Three strips: 3 notes" in ended.out
    assert "3 blanks on 1 sheet" in ended.out
    data = json.loads((folder / "instrument.json").read_text("utf-8"))
    for number, (note, ratio) in enumerate(zip(data["notes"], (1, 5 / 4, 3 / 2), strict=True), 1):
        assert note["wanted_hz"] == pytest.approx(240 * ratio)
        assert abs(note["miss_cents"]) <= 1.0
        file = folder / f"{number:02d}_{note['name']}.toml"
        assert "# changes from note to note" in file.read_text("utf-8")
        alone = json.loads(call("modes", file, "--count", 3, "--accuracy", "draft", "--json").out)
        # Free of pickups a reed is tuned in vacuum; the base of 1.5 kg raises it.
        cents = 1200 * math.log2(alone["modes"][0]["freq_hz"] / note["wanted_hz"])
        assert cents + note["base_cents"] == pytest.approx(note["miss_cents"], abs=0.1)
        assert note["base_cents"] > 0.5
    assert data["crosstalk"]["asymmetry"] <= 1e-8
    cut = ezdxf.readfile(folder / "sheet_1.dxf")
    outlines = [e for e in cut.modelspace() if e.dxf.layer == "OUTLINE"]
    assert len(outlines) == 3
    for name in ("sheet.png", "sheet_1.svg", "compass.png", "crosstalk.png"):
        assert (folder / name).stat().st_size > 1000


def test_without_a_base_nothing_goes_through_it(plan, call):
    text = plan.read_text("utf-8")
    plan.write_text(text[: text.index("[base]")], "utf-8")
    data = json.loads(call("instrument", plan, "--json").out)
    assert data["crosstalk"]["base_db"] is None
    assert data["pulls"] == []
    assert [note["base_cents"] for note in data["notes"]] == [0.0, 0.0, 0.0]
    assert all(abs(note["miss_cents"]) <= 1.0 for note in data["notes"])


def test_a_note_out_of_reach_is_told_and_the_nearest_shown(plan, call):
    text = plan.read_text("utf-8").replace('highest = "90 mm"', 'highest = "50 mm"')
    plan.write_text(text, "utf-8")
    ended = call("instrument", plan)
    assert ended.code == 2
    # Strips at one length are alike, whatever the base: what holds them back is their range.
    assert re.search(
        r"do is not met: mode 1 at [\d.]+ Hz; "
        r"in the way is resonator\.length at its highest, 50 mm\.",
        ended.out,
    )
    assert "split" not in ended.out
    told = re.search(r"answers alike to (\S+) of its largest answer", ended.out)
    assert told is not None
    assert float(told[1]) <= 1e-8


@pytest.mark.slow
def test_pitch_on_a_base_that_stands_still_is_judged_there(plan, call):
    text = plan.read_text("utf-8").replace('last = "so"', 'last = "so"\non_base = false')
    plan.write_text(text.replace('mass = "1.5 kg"', 'mass = "0.5 kg"'), "utf-8")
    ended = call("instrument", plan, "--json")
    assert ended.code == 0
    for note in json.loads(ended.out)["notes"]:
        # The light base moves every note by more than the tolerance; the plan does not ask.
        assert note["base_cents"] > 1.0
        assert note["goals"][0]["margin"] >= 0.0
        assert note["is_met"]


@pytest.mark.slow
def test_two_near_notes_on_a_light_base_share_their_modes_and_are_told(plan, call):
    # Two near equal oscillators on one light mass swing together and against each other, an
    # interval apart that no tuning of either closes.
    text = plan.read_text("utf-8").replace('last = "so"', 'notes = ["do", "mi"]')
    text = text.replace('"5/4"', '"5 cents"').replace('mass = "1.5 kg"', 'mass = "0.05 kg"')
    plan.write_text(text, "utf-8")
    ended = call("instrument", plan)
    assert ended.code == 2
    assert "do is not met: it is split" in ended.out
    assert "mi is not met: it is split" in ended.out


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ('file = "strip.toml"', 'file = "stripe.toml"', "nothing of this name"),
        ('last = "so"', 'last = "la"', "compass.last: expected a number or name of a degree"),
        ('last = "so"', "", "compass.last: expected either first and last"),
        ('"5/4"', '"5/0"', "scale.steps.intervals[2]"),
        ('freq = "240 Hz"', "", "scale.note: expected a note or a freq, got neither"),
        ('path = "resonator.length"', 'path = "stock.thickness"', "blanks of one sheet"),
        ('path = "resonator.length"', 'path = "resonator.lenght"', "Did you mean"),
        ("mode = 1", 'mode = 1\nfreq = "240 Hz"', "one pitch without note and freq"),
        ('mass = "1.5 kg"', "", "base.mass"),
        ("[base]", '[sheet]\nlength = "50 mm"\n[base]', "expected room for every blank"),
        ("[compass]", "[compass]\neven_modes = [70]", "13: compass.even_modes[1]: expected"),
    ],
)
def test_wrong_plans_are_told_and_leave_nothing(plan, call, tmp_path, old, new, told):
    text = plan.read_text("utf-8")
    assert old in text
    plan.write_text(text.replace(old, new), "utf-8")
    ended = call("instrument", plan, "-o", tmp_path / "out")
    assert ended.code == 2
    assert told in ended.err
    assert "Traceback" not in ended.err
    assert not (tmp_path / "out").exists()


def test_a_note_refused_when_read_back_leaves_no_folder(plan, call, tmp_path, monkeypatch):
    def refuse(*_content: bytes, file: str, **_folder: pathlib.Path) -> None:
        raise DesignError([Problem(file=file, what="design.name", expected="text", got="none")])

    monkeypatch.setattr("modewright.workflows.instrument.parse_design", refuse)
    ended = call("instrument", plan, "-o", tmp_path / "deep" / "out")
    assert ended.code == 2
    assert "01_do.toml: design.name" in ended.err
    assert not (tmp_path / "deep").exists()


@pytest.mark.slow
def test_page_tells_targets_with_margin_and_loads_nothing(plan, call, tmp_path):
    family = tmp_path / "strip.toml"
    family.write_text(
        FAMILY
        + '[tune]\n[[tune.free]]\npath = "resonator.length"\nlowest = "20 mm"\nhighest = "90 mm"\n'
        '[[tune.targets]]\nkind = "pitch"\nmode = 1\nfreq = "240 Hz"\n',
        "utf-8",
    )
    plan.write_text(
        plan.read_text("utf-8").replace(
            "[base]", '[[tune.targets]]\nkind = "decay"\nmode = 1\nleast = "0.1 s"\n[base]'
        ),
        "utf-8",
    )
    folder = tmp_path / "out"
    ended = call("instrument", plan, "-o", folder)
    assert (ended.code, ended.err) == (0, "")
    text = (folder / "index.html").read_text("utf-8")
    assert not re.search(r"""(src|href)="(?!data:|#)""", text)
    assert text.count("<svg") == 1
    for head in ("Targets", "Compass", "Sheet", "Notes together", "Budget", "Files", "Safety"):
        assert f">{head}</h2>" in text
    data = json.loads((folder / "instrument.json").read_text("utf-8"))
    assert data["goals"] == ["pitch"]
    for note in data["notes"]:
        (goal,), (limit,) = note["goals"], note["limits"]
        assert goal["margin"] == pytest.approx(1.0 - abs(note["miss_cents"]))
        assert limit["unit"] == "s"
        assert limit["margin"] == pytest.approx(limit["found"] - 0.1)
    assert text.count("<td>pass</td>") == 3
    listed = set(re.findall(r"<td>([\w']+\.[a-z]+)</td>", text))
    assert listed == {path.name for path in folder.iterdir()} - {"index.html"}
    assert set(data["written"]) == {path.name for path in folder.iterdir()}


@pytest.mark.slow
def test_note_files_keep_targets_of_the_family_at_their_own_pitch(plan, call, tmp_path):
    family = tmp_path / "strip.toml"
    heading = '[design]\nname = "Strip"\nnote = "B3"'
    family.write_text(
        FAMILY.replace('[design]\nname = "Strip"', heading)
        + '[tune]\n[[tune.free]]\npath = "resonator.length"\nlowest = "20 mm"\nhighest = "90 mm"\n'
        '[[tune.targets]]\nkind = "pitch"\nmode = 1\n',
        "utf-8",
    )
    folder = tmp_path / "out"
    assert call("instrument", plan, "-o", folder).code == 0
    notes = json.loads((folder / "instrument.json").read_text("utf-8"))["notes"]
    for number, note in enumerate(notes, 1):
        design = tomllib.loads((folder / f"{number:02d}_{note['name']}.toml").read_text("utf-8"))
        (target,) = design["tune"]["targets"]
        value, unit = target["freq"].split()
        # The base of 1.5 kg raises the note by what the body must be flat of it.
        cents = 1200 * math.log2(note["wanted_hz"] / float(value))
        assert unit == "Hz"
        assert cents == pytest.approx(note["base_cents"], abs=0.5)
