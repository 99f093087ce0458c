"""``modewright dossier``: everything it lists is there, and the page stands alone."""

import csv
import html.parser
import json
import re
import tomllib
import types

import ezdxf
import numpy as np
import pytest
import soundfile

from drawn_area import drawn_area_mm2

VOID = {"meta", "img", "br", "wbr", "hr", "link", "input", "line", "path", "rect"}


class Page(html.parser.HTMLParser):
    """Elements of a page, with a check that every one that opens is closed in its turn."""

    def __init__(self):
        super().__init__()
        self.open, self.elements, self.cells = [], [], []

    def handle_starttag(self, tag, attrs):
        self.elements.append((tag, dict(attrs)))
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag, attrs):
        self.elements.append((tag, dict(attrs)))

    def handle_endtag(self, tag):
        if tag not in VOID:
            assert self.open.pop() == tag

    def handle_data(self, data):
        if self.open and self.open[-1] == "td":
            self.cells.append(data)


def with_few_tolerances(text):
    """The example with two of its tolerances and two checked pieces, to be solved sooner."""
    blocks = re.split(r"\n(?=\[\[spread\.tolerances\]\])", text)
    *tolerances, last = blocks[1:]
    limits = last[last.index("\n[[spread.limits]]") :]
    kept = [t for t in tolerances if "strip thickness" in t or 'name = "gap"' in t]
    assert len(kept) == 2
    return blocks[0].replace("[spread]\n", "[spread]\nsolved = 2\n") + "\n".join(kept) + limits


@pytest.fixture(scope="module")
def written(tmp_path_factory, example):
    """Folder of the example's dossier, at draft accuracy."""
    from modewright.design.load import load_design
    from modewright.workflows.dossier import write_dossier

    file = tmp_path_factory.mktemp("design") / "g3.toml"
    text = with_few_tolerances(example.read_text(encoding="utf-8"))
    file.write_text(text, encoding="utf-8")
    folder = tmp_path_factory.mktemp("dossier") / "new" / "folder"
    done = write_dossier(file, folder, accuracy="draft")
    design_hash = load_design(file).design_hash
    return types.SimpleNamespace(folder=folder, done=done, file=file, design_hash=design_hash)


@pytest.fixture(scope="module")
def page(written):
    found = Page()
    found.feed((written.folder / "index.html").read_text(encoding="utf-8"))
    found.close()
    return found


pytestmark = pytest.mark.slow


def test_every_file_that_it_lists_is_there_and_no_other(written, page):
    begin = page.cells.index("outline.dxf")
    listed = {
        name
        for cell in page.cells[begin:]
        for name in cell.split(", ")
        if re.fullmatch(r"\w+\.[a-z]+", name)
    }
    present = {p.name for p in written.folder.iterdir()}
    assert listed == present - {"index.html"}
    for name in ("free", "damped", "mode_1_held", "all_held", "mode_4_swelling"):
        assert f"{name}.wav" in present
    assert all(p.stat().st_size > 0 for p in written.folder.iterdir())
    assert written.done.is_stable
    assert written.done.index == written.folder / "index.html"


def test_page_is_well_formed_and_loads_nothing_from_elsewhere(page):
    assert page.open == []
    for tag, attributes in page.elements:
        for name in ("src", "href", "xlink:href", "poster", "data", "srcset"):
            value = attributes.get(name, "data:")
            assert value.startswith(("data:", "#")), (tag, name, value[:60])
        assert tag not in {"script", "link", "iframe", "object", "embed", "base"}
        assert "url(" not in attributes.get("style", "")
    anchors = {a["id"] for _, a in page.elements if "id" in a}
    links = [a["href"][1:] for t, a in page.elements if t == "a"]
    assert set(links) <= anchors
    assert len(links) == len(set(links)) == 16


def test_text_names_no_address_but_the_drawing_format(written):
    text = (written.folder / "index.html").read_text(encoding="utf-8")
    without_data = re.sub(r"base64,[A-Za-z0-9+/=]+", "", text)
    addresses = set(re.findall(r"https?://[^\s\"'<>]+", without_data))
    assert addresses == {"http://www.w3.org/2000/svg"}  # a name, not a place to load from
    assert "@import" not in without_data
    assert "url(" not in without_data


def test_pictures_and_sounds_are_inside_and_described(page):
    images = [a for t, a in page.elements if t == "img"]
    assert len(images) > 15
    for image in images:
        assert len(image["alt"].strip()) > 5
        assert re.match(r"data:image/(png|gif);base64,", image["src"])
    sounds = [a for t, a in page.elements if t == "audio"]
    assert len(sounds) == 5
    for sound in sounds:
        assert sound["src"].startswith("data:audio/wav;base64,")
        assert "controls" in sound
        assert "autoplay" not in sound
    assert [a["lang"] for t, a in page.elements if t == "html"] == ["en"]


def test_targets_of_the_example_are_met_and_told(written, page):
    data = json.loads((written.folder / "targets.json").read_text(encoding="utf-8"))
    pitch, *limits = data["targets"]
    assert pitch["what"] == "mode 1 at G3"
    assert all(target["is_met"] for target in data["targets"])
    assert pitch["margin"] == pytest.approx(2.0 - abs(pitch["found"]))
    assert page.cells.count("pass") == 1 + min(len(limits), 10)
    assert "FAIL" not in page.cells
    sizes = {t["what"]: (t["found"], t["margin"]) for t in limits if t["unit"] == "m"}
    # 26.5 mm of base and 43.8 mm of arm; three arms and two slots side by side.
    assert sizes["length 125 mm or less"] == pytest.approx((0.0703, 0.125 - 0.0703))
    assert sizes["width 60 mm or less"] == pytest.approx((0.022, 0.038))


def test_dimension_varied_shows_the_veering_of_arm_3(page):
    text = " ".join(page.cells)
    assert re.search(r"36\.\d+ mm 2 and 3 4\d\d\.\d \d\d\.\d \d\d % veering", text)


def test_made_pieces_add_up(written):
    data = json.loads((written.folder / "spread.json").read_text(encoding="utf-8"))
    assert data["samples"] == 2000
    assert sum(cause["share"] for cause in data["contributors"]) == pytest.approx(1.0)
    for limit in data["limits"]:
        for when in ("as_cut", "trimmed"):
            assert data["yield"][when]["share"] <= limit[when] + 1e-12
    # Pitch goes with the thickness: 1200/ln 2 cents times 0.03 mm over 1 mm, uniform within.
    (thickness,) = [c for c in data["contributors"] if c["name"] == "strip thickness"]
    assert thickness["cents"] == pytest.approx(1731 * 0.03 / 3**0.5, rel=0.02)


def test_data_beside_the_page_agree(written):
    read = {
        name: json.loads((written.folder / f"{name}.json").read_text(encoding="utf-8"))
        for name in ("modes", "hearing", "loop", "coefficients", "targets", "spread")
    }
    for data in read.values():
        assert data["design_hash"] == written.design_hash
        assert data["accuracy"] == ("normal" if data is read["targets"] else "draft")
    with (written.folder / "modes.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert [float(row["freq_hz"]) for row in rows] == [m["freq_hz"] for m in read["modes"]["modes"]]
    assert read["coefficients"]["regulated_modes"] == [m["number"] for m in read["loop"]["modes"]]


def test_complete_design_beside_the_page_is_the_same_design(written):
    from modewright.design.load import load_design

    again = load_design(written.folder / "design.toml")
    assert again.design_hash == written.design_hash


def in_mm(text):
    value, unit = text.split()
    assert unit == "mm"
    return float(value)


def test_outline_has_the_area_of_the_body(written, example):
    space = ezdxf.readfile(written.folder / "outline.dxf").modelspace()
    (outline,) = space.query('LWPOLYLINE[layer=="OUTLINE"]')
    reed = tomllib.loads(example.read_text(encoding="utf-8"))["resonator"]
    arms = [(in_mm(arm["length"]), in_mm(arm["width"])) for arm in reed["arms"]]
    slots = [in_mm(width) for width in reed["slot_widths"]]
    head = sum(width for _, width in arms) + sum(slots)
    # Base, arms, rounded tips, and a half circle at the bottom of each slot that leaves the
    # corners of the square end standing.
    wanted = in_mm(reed["base_length"]) * head + sum(length * width for length, width in arms)
    wanted -= 2 * len(arms) * (1 - np.pi / 4) * in_mm(reed["tip_radius"]) ** 2
    wanted += sum((1 - np.pi / 4) * width**2 / 2 for width in slots)
    assert drawn_area_mm2(outline) == pytest.approx(wanted, rel=1e-4)


def test_sounds_are_calibrated_and_below_the_ceiling(written):
    for path in written.folder.glob("*.wav"):
        with soundfile.SoundFile(path) as file:
            assert re.match(r"full scale = [\d.e+-]+ V peak\. design [0-9a-f]{12}$", file.comment)
            assert np.abs(file.read()).max() <= 10 ** (-3 / 20) + 2.0**-23


def test_stop_in_between(written, tmp_path, monkeypatch, call):
    """A stop leaves whole files only."""
    folder = tmp_path / "out"

    def stop(*_, **__):
        raise KeyboardInterrupt

    with monkeypatch.context() as patch:
        patch.setattr("modewright.workflows.dossier.spectrum_png", stop)
        ended = call("dossier", written.file, "-o", folder, "--accuracy", "draft")
    assert ended.code == 130
    assert "Traceback" not in ended.err
    present = {p.name for p in folder.iterdir()}
    assert "index.html" not in present
    assert not [name for name in present if name.startswith(".") or name.endswith(".part")]
    for name in ("modes.json", "loop.json", "hearing.json", "coefficients.json"):
        json.loads((folder / name).read_text(encoding="utf-8"))
    assert soundfile.info(folder / "free.wav").frames == 240000


def test_unstable_loop_gets_a_page_that_says_so(unstable, tmp_path, monkeypatch, call):
    # Moving pictures take most of the time and know nothing of the loop.
    monkeypatch.setattr("modewright.report.pictures.mode_animation_gif", lambda *_: b"GIF89a")
    folder = tmp_path / "out"
    ended = call("dossier", unstable, "-o", folder, "--accuracy", "draft")
    assert ended.code == 0
    assert "The loop is UNSTABLE; see the dossier." in ended.out
    assert "loop UNSTABLE with" in (folder / "index.html").read_text(encoding="utf-8")
    assert [p.name for p in folder.glob("*.wav")] == ["free.wav"]


def test_folder_that_cannot_be(example, tmp_path, call):
    (tmp_path / "file").write_text("mine")
    ended = call("dossier", example, "-o", tmp_path / "file", "--accuracy", "draft")
    assert ended.code == 2
    assert "expected a folder or nothing" in ended.err
    assert (tmp_path / "file").read_text() == "mine"


def test_bad_design_makes_no_folder(strip, tmp_path, call):
    strip.write_text(strip.read_text(encoding="utf-8").replace("60 mm", "60"), encoding="utf-8")
    ended = call("dossier", strip, "-o", tmp_path / "out", "--accuracy", "draft")
    assert ended.code == 2
    assert not (tmp_path / "out").exists()


PICKUP = """
[[pickups]]
name = "ear"
[pickups.plate]
kind = "disc"
centre = ["50 mm", "0 mm"]
diameter = "6 mm"
"""
DRIVER = """
[[drivers]]
kind = "moving coil"
position = ["40 mm", "0 mm"]
"""


@pytest.mark.parametrize(
    ("more", "lacks", "scale"),
    [
        ("", ["pickup", "driver", "treated mode"], r"[\d.e-]+ m peak"),
        (PICKUP, ["driver", "treated mode"], r"[\d.]+ V peak"),
        (DRIVER, ["pickup", "treated mode"], r"[\d.e-]+ m peak"),
        (PICKUP + DRIVER, ["treated mode"], r"[\d.]+ V peak"),
    ],
    ids=["bare", "heard", "pushed", "untreated"],
)
def test_dossier_of_what_lacks_something(more, lacks, scale, strip, tmp_path, monkeypatch, call):
    monkeypatch.setattr("modewright.report.pictures.mode_animation_gif", lambda *_: b"GIF89a")
    strip.write_text(strip.read_text(encoding="utf-8") + more, encoding="utf-8")
    folder = tmp_path / "out"
    ended = call("dossier", strip, "-o", folder, "--accuracy", "draft")
    assert (ended.code, ended.err) == (0, "")
    told = " and ".join(f"no {part}" for part in lacks)
    assert f"The design has {told}; the dossier says what to add." in ended.out
    found = Page()
    text = (folder / "index.html").read_text(encoding="utf-8")
    found.feed(text)
    found.close()
    assert found.open == []
    assert len([a for t, a in found.elements if t == "audio"]) == 1
    has_loop = "pickup" not in lacks and "driver" not in lacks
    assert len([a for t, a in found.elements if t == "h2"]) == 10 + has_loop + (
        "pickup" not in lacks
    )
    for part, section in (
        ("pickup", "[[pickups]]"), ("driver", "[[drivers]]"), ("treated mode", "[[loop.modes]]")
    ):  # fmt: skip
        assert (section in text) == (part in lacks)
    assert (folder / "loop.json").exists() == has_loop
    assert ("no loop yet" in text) != has_loop
    assert "Open loop with everything damped." not in text  # of nothing treated it is nothing
    with soundfile.SoundFile(folder / "free.wav") as file:
        assert re.match(rf"full scale = {scale}\. ", file.comment)
        assert np.abs(file.read()).max() > 1e-3


WISHES = """
[tune]
accuracy = "draft"
modes = 4
[[tune.free]]
path = "resonator.length"
lowest = "55 mm"
highest = "65 mm"
[[tune.targets]]
kind = "pitch"
mode = 1
freq = "1000 Hz"
[spread]
modes = 2
solved = 2
[[spread.tolerances]]
kind = "amount"
name = "length"
paths = ["resonator.length"]
plus_minus = "{off}"
source = "made up"
"""


def test_missed_targets_and_impossible_pieces_are_told(strip, tmp_path, monkeypatch, call):
    monkeypatch.setattr("modewright.report.pictures.mode_animation_gif", lambda *_: b"GIF89a")
    wishes = WISHES.format(off="75 mm")
    plain = strip.read_text(encoding="utf-8")
    strip.write_text(plain + wishes, encoding="utf-8")
    folder = tmp_path / "out"
    ended = call("dossier", strip, "-o", folder, "--accuracy", "draft")
    assert (ended.code, ended.err) == (0, "")
    text = (folder / "index.html").read_text(encoding="utf-8")
    assert "<td>FAIL</td>" in text
    assert "Missed: mode 1 at 1000 Hz." in text
    assert "The tolerances of [spread] could not be worked out. spread: expected a sound" in text
    assert not (folder / "spread.json").exists()
    (target,) = json.loads((folder / "targets.json").read_text(encoding="utf-8"))["targets"]
    # Mode 1 lies at some 226 Hz, as 0.1615 h/L² (E/ρ)^½ says.
    wanted = 1200 * np.log2(0.1615 * 1e-3 / 0.06**2 * (193e9 / 7900) ** 0.5 / 1000)
    assert target["found"] == pytest.approx(wanted, abs=60)
    assert target["margin"] == pytest.approx(1.0 - abs(target["found"]))
    # What is no longer asked for is not left beside the page.
    strip.write_text(plain, encoding="utf-8")
    assert call("dossier", strip, "-o", folder, "--accuracy", "draft").code == 0
    assert not (folder / "targets.json").exists()


def test_faults_of_the_studies_have_a_line(strip, tmp_path, monkeypatch, call):
    monkeypatch.setattr("modewright.report.pictures.mode_animation_gif", lambda *_: b"GIF89a")
    wishes = WISHES.format(off="1 mm").replace("mode = 1", 'mode = "bending 99"')
    strip.write_text(strip.read_text(encoding="utf-8") + wishes, encoding="utf-8")
    ended = call("dossier", strip, "-o", tmp_path / "out", "--accuracy", "draft")
    assert ended.code == 2
    assert re.search(r"strip\.toml:\d+: tune\.targets\[1\]\.mode: expected", ended.err)
    assert not (tmp_path / "out").exists()


def test_sections_of_an_earlier_dossier_with_a_loop_are_dropped(strip, tmp_path, monkeypatch, call):
    monkeypatch.setattr("modewright.report.pictures.mode_animation_gif", lambda *_: b"GIF89a")
    folder = tmp_path / "out"
    folder.mkdir()
    for name in ("loop.json", "coefficients.json", "damped.wav", "mine.json"):
        (folder / name).write_text("old")
    assert call("dossier", strip, "-o", folder, "--accuracy", "draft").code == 0
    present = {p.name for p in folder.iterdir()}
    assert not present & {"loop.json", "coefficients.json", "damped.wav"}
    assert "mine.json" in present
