"""What lies off the sheet is told by every verb, with the line at which it stands."""

import re

import pytest

PLACES = [
    (
        'at = "arm 3 middle"\noffset = ["-0.75 mm", "0 mm"]',
        'position = ["90 mm", "8 mm"]',
        "drivers[1].position",
        "mm off",
    ),
    ('name = "arm 2 tip"', 'name = "arm 9 tip"', "reference_point.name", '"arm 2 tip"'),
    ("[strike]\n", '[strike]\npoint = ["90 mm", "0 mm"]\n', "strike.point", "19.70 mm off"),
    (
        'centre = ["-6.5 mm", "0 mm"]',
        'centre = ["-6.5 mm", "-72 mm"]',
        "pickups[1].plate",
        "beside it",
    ),
]


@pytest.fixture
def displaced(example, tmp_path):
    """Function that moves things in the example off the sheet and gives the file and its lines."""

    def save(*changes):
        text = example.read_text(encoding="utf-8")
        for old, new, *_ in changes:
            assert old in text
            text = text.replace(old, new)
        design = tmp_path / "design.toml"
        design.write_text(text, encoding="utf-8")
        return design, text.split("\n")

    return save


def line_told(err, what):
    found = re.search(rf"design\.toml:(\d+): {re.escape(what)}", err)
    assert found, err
    return int(found.group(1))


@pytest.mark.parametrize("change", PLACES)
def test_check_names_what_lies_off_the_sheet(change, displaced, call):
    _, new, what, told = change
    design, lines = displaced(change)
    done = call("check", design)
    assert done.code == 2
    assert told in done.err
    wanted = lines.index("[pickups.plate]" if "plate" in what else new.strip().split("\n")[-1])
    assert line_told(done.err, what) == wanted + 1


@pytest.mark.parametrize(
    "words",
    [("check",), ("modes",), ("loop",), ("dossier", "-o", "out"), ("render", "-o", "n.wav")],
)
def test_every_verb_tells_all_of_them_before_it_begins(
    words, displaced, call, tmp_path, monkeypatch, example
):
    monkeypatch.chdir(tmp_path)
    design, _ = displaced(*PLACES)
    verb, *rest = words
    if verb == "render":
        rest += ["--score", example.parent / "swell.toml"]
    done = call(verb, design, *rest)
    assert (done.code, done.out) == (2, "")
    assert done.err.startswith("4 problems found:")
    told = [line_told(done.err, what) for _, _, what, _ in PLACES]
    assert sorted(told) == [int(n) for n in re.findall(r"design\.toml:(\d+): ", done.err)]
    assert [p.name for p in tmp_path.iterdir()] == ["design.toml"]


def test_holes_and_masses_off_the_sheet_name_their_section(strip, call):
    hole = '[[features]]\nkind = "round hole"\ncentre = ["90 mm", "0 mm"]\ndiameter = "2 mm"\n'
    mass = '[[features]]\nkind = "tip mass"\ndiameter = "40 mm"\nmass = "1 g"\n'
    text = strip.read_text(encoding="utf-8")
    strip.write_text(text + hole, encoding="utf-8")
    done = call("modes", strip)
    line = text.count("\n") + 1
    assert f"strip.toml:{line}: features[1], hole 1: expected a place on the sheet" in done.err
    strip.write_text(text + mass, encoding="utf-8")
    done = call("modes", strip)
    assert f"strip.toml:{line}: features[1], tip mass 1: expected a footprint" in done.err


BIASED = """
[[pickups]]
kind = "capacitive"
gap = "{gap}"
bias = "{bias}"
tilt_x = {tilt}
plate = {{ kind = "rectangle", centre = ["50 mm", "0 mm"], length = "10 mm", width = "10 mm" }}
[[drivers]]
kind = "{kind}"
position = ["20 mm", "0 mm"]
{driver}
"""
WEAK = """bias_flux_density = "0.05 T"
iron_gap = "0 mm"
armature = { diameter = "5 mm", thickness = "1 mm" }"""


@pytest.mark.parametrize(
    ("changes", "key", "line", "fault"),
    [
        ({"bias": "8000 V"}, "pickups[1].bias", "bias =", "it snaps over"),
        (
            {"driver": WEAK.replace("0.05 T", "0.9 T") + '\nside = "below"\ngap = "0.1 mm"'},
            "drivers[1].bias_flux_density",
            "bias_flux_density",
            "it snaps over",
        ),
        (
            {"driver": 'iron_gap = "0 mm"'},
            "drivers[1].armature",
            "[[drivers]]",
            "expected iron under the pole",
        ),
        (
            {"driver": WEAK.replace("0.05 T", "0 T")},
            "drivers[1].bias_flux_density",
            "bias_flux_density",
            "expected a bias flux",
        ),
        (
            {
                "driver": WEAK.replace("0.05 T", "0.5 T").replace('"0 mm"', '"5 mm"')
                + '\ngap = "0.02 mm"'
            },
            "drivers[1].bias_flux_density",
            "bias_flux_density",
            "which closes the gap",
        ),
    ],
)
def test_faults_under_bias_name_their_line(changes, key, line, fault, strip, call):
    given = {"gap": "0.3 mm", "bias": "20 V", "tilt": 0.0, "kind": "biased electromagnet"}
    text = strip.read_text(encoding="utf-8") + BIASED.format(**(given | {"driver": WEAK} | changes))
    strip.write_text(text, encoding="utf-8")
    done = call("loop", strip, "--accuracy", "draft")
    assert (done.code, done.out) == (2, "")
    assert fault in done.err
    number = line_told(done.err.replace("strip.toml", "design.toml"), key)
    assert text.split("\n")[number - 1].startswith(line)


def test_check_names_a_driver_that_the_sheet_does_not_suit(displaced, call):
    design, lines = displaced(('name = "stainless 301 half hard"', 'name = "aluminium 6061-T6"'))
    text = design.read_text(encoding="utf-8")
    start, end = text.index("[drivers.armature]"), text.index("[drivers.coil]")
    design.write_text(text[:start] + text[end:], encoding="utf-8")
    done = call("check", design)
    assert done.code == 2
    assert "expected iron under the pole, got a non-magnetic sheet and no armature" in done.err
    assert line_told(done.err, "drivers[1].armature") == lines.index("[[drivers]]") + 1


def test_check_tells_of_a_bias_that_sparks(displaced, call):
    design, lines = displaced(('bias = "100 V"', 'bias = "3000 V"'))
    done = call("check", design)
    assert done.code == 0
    assert "sparks from about 1500 V" in done.err
    assert line_told(done.err, "pickups[1].bias") == lines.index('bias = "3000 V"') + 1


def test_a_film_that_lets_nothing_ring_is_told_with_its_section(displaced, call):
    design, lines = displaced(('support_q = ["1500"]', 'support_q = ["0.9"]'))
    done = call("modes", design, "--accuracy", "draft", "--count", "2")
    assert done.code == 2
    assert line_told(done.err, "losses: expected modes that ring, got a loss factor of") == (
        lines.index("[losses]") + 1
    )
