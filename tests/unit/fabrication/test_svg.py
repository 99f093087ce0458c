"""Drawings for reading and printing: true size, and paths that follow the contour."""

import math
import pathlib
import re
from xml.etree import ElementTree as ET

import numpy as np
import pytest
import shapely

from crowded_blanks import CROWDED
from modewright.fabrication.blank_drawing import draw_blank
from modewright.fabrication.drawing import Contour, Drawing, Note
from modewright.fabrication.svg import drawing_to_svg
from modewright.geometry.build import blank_from_sketch
from modewright.geometry.families.strip_reed import StripReed
from modewright.geometry.loop import Loop
from modewright.geometry.support import Clamped

SVG = "{http://www.w3.org/2000/svg}"


def parsed(drawing):
    return ET.fromstring(drawing_to_svg(drawing))  # noqa: S314 (made here)


def contour_only(loop):
    contours = (Contour(loop=loop, layer="OUTLINE"),)
    return Drawing(title="t", contours=contours)


def sampled_path(text, per_arc=2000):
    """Points along a path of M, L, A and Z, by the arc rules of SVG 1.1, appendix F.6.5."""
    words = re.findall(r"[MLAZ]|-?[\d.]+", text)
    here, points, i = None, [], 0
    while i < len(words):
        word = words[i]
        if word in "ML":
            here = np.array([float(words[i + 1]), float(words[i + 2])])
            points.append(here)
            i += 3
        elif word == "A":
            radius, _, turn, large, sweep, x, y = map(float, words[i + 1 : i + 8])
            assert turn == 0
            there = np.array([x, y])
            points.extend(_arc(here, there, radius, bool(large), bool(sweep), per_arc))
            here, i = there, i + 8
        else:
            i += 1
    return np.array(points)


def _arc(start, end, radius, large, sweep, count):
    half = (start - end) / 2
    short = max(radius**2 / half.dot(half) - 1, 0.0)
    side = -1 if large == sweep else 1
    centre_turned = side * math.sqrt(short) * np.array([half[1], -half[0]])
    centre = centre_turned + (start + end) / 2
    first = math.atan2(*(half - centre_turned)[::-1])
    last = math.atan2(*(-half - centre_turned)[::-1])
    angle = last - first
    if sweep and angle < 0:
        angle += 2 * math.pi
    if not sweep and angle > 0:
        angle -= 2 * math.pi
    steps = first + angle * np.arange(1, count + 1) / count
    used = np.hypot(*(start - centre))
    assert used == pytest.approx(radius, rel=1e-3)
    return centre + used * np.stack([np.cos(steps), np.sin(steps)], axis=1)


def polygon_area(points):
    x, y = points.T
    return abs(np.sum(x * np.roll(y, -1) - y * np.roll(x, -1))) / 2


# Three quarters of a disc of 10 mm radius, and a square with two sides bent in and two bent out.
PACMAN = Loop(
    vertices_m=np.array([[0, 0], [10, 0], [0, -10]]) * 1e-3,
    bulge=np.array([0, math.tan(3 * math.pi / 8), 0]),
)
_HALF = math.tan(math.pi / 8)
WAVE = Loop(
    vertices_m=np.array([[0, 0], [10, 0], [10, 10], [0, 10]]) * 1e-3,
    bulge=np.array([_HALF, -_HALF, _HALF, -_HALF]),
)
DISC = Loop(vertices_m=np.array([[-3, 2], [5, 2]]) * 1e-3, bulge=np.ones(2))


@pytest.mark.parametrize("turned", [False, True], ids=["anticlockwise", "clockwise"])
@pytest.mark.parametrize(
    ("loop", "wanted_mm2"),
    [(PACMAN, 0.75 * math.pi * 100), (WAVE, 100.0), (DISC, 16 * math.pi)],
    ids=["three quarters", "wave", "disc"],
)
def test_arcs_have_the_right_radius_and_side(loop, wanted_mm2, turned):
    if turned:
        loop = Loop(vertices_m=loop.vertices_m[::-1], bulge=-np.roll(loop.bulge[::-1], -1))
    path = parsed(contour_only(loop)).find(f".//{SVG}path")
    assert polygon_area(sampled_path(path.get("d"))) == pytest.approx(wanted_mm2, rel=1e-4)


def test_extent_of_arcs_lies_on_the_sheet_of_paper():
    root = parsed(contour_only(PACMAN))
    moved = re.match(r"translate\((\S+) (\S+)\)", root.find(f"{SVG}g").get("transform"))
    points = sampled_path(root.find(f".//{SVG}path").get("d")) + [float(v) for v in moved.groups()]
    width, height = (float(v) for v in root.get("viewBox").split()[2:])
    assert points.min() >= 0
    assert points[:, 0].max() <= width
    assert points[:, 1].max() <= height
    np.testing.assert_allclose(np.ptp(points, axis=0), [20, 20], atol=1e-3)


REED = blank_from_sketch(
    StripReed(length_m=60e-3, width_m=10e-3, tip_radius_m=5e-3).sketch(pathlib.Path()),
    (),
    Clamped(),
    1e-3,
)


def box_of(text):
    """Room that a text takes on paper, by the mean width of a plain typeface."""
    size = float(text.get("font-size"))
    x, y = float(text.get("x")), float(text.get("y"))
    width, height = 0.5 * size * len(text.text), 0.72 * size
    x -= {"start": 0.0, "middle": width / 2, "end": width}[text.get("text-anchor", "start")]
    if "rotate" in text.get("transform", ""):
        x0 = float(text.get("x"))
        along = x - x0
        return shapely.box(x0 - height, y - along - width, x0, y - along)
    return shapely.box(x, y - height, x + width, y)


def test_one_millimetre_of_paper_is_one_unit_and_the_scale_is_told():
    drawing = draw_blank(REED, title="a <reed> & co", facts=("half hard",))
    root = parsed(drawing)
    assert root.tag == f"{SVG}svg"
    box = [float(v) for v in root.get("viewBox").split()]
    # One user unit is one millimetre: the size in mm equals the view box.
    assert float(root.get("width").removesuffix("mm")) == pytest.approx(box[2], abs=0.01)
    assert float(root.get("height").removesuffix("mm")) == pytest.approx(box[3], abs=0.01)
    assert root.find(f"{SVG}title").text == "a <reed> & co"
    assert drawing.scale == 2
    outline = sampled_path(root.find(f".//{SVG}path").get("d"))
    assert polygon_area(outline) == pytest.approx(2**2 * (550 + math.pi * 12.5), rel=1e-4)
    texts = [t.text for t in root.iter(f"{SVG}text")]
    assert {"60.000", "10.000", "thickness 1 mm", "half hard"} <= set(texts)
    (words,) = [text for text in texts if text.startswith("10 mm of the part")]
    assert words == "10 mm of the part; scale 2 : 1"
    thick = [line for line in root.iter(f"{SVG}line") if line.get("stroke-width") == "0.7"]
    bars = [line for line in thick if line.get("y1") == line.get("y2")]
    assert [float(bar.get("x2")) - float(bar.get("x1")) for bar in bars] == pytest.approx([20])


@pytest.mark.parametrize("name", CROWDED)
def test_no_text_lies_on_another_or_off_the_paper(name):
    root = parsed(CROWDED[name])
    boxes = [box_of(text) for text in root.iter(f"{SVG}text")]
    tree = shapely.STRtree(boxes)
    pairs = tree.query(boxes, predicate="intersects")
    overlaps = [(i, j) for i, j in pairs.T if i < j and boxes[i].intersection(boxes[j]).area > 0]
    texts = [text.text for text in root.iter(f"{SVG}text")]
    assert [(texts[i], texts[j]) for i, j in overlaps] == []
    width, height = (float(v) for v in root.get("viewBox").split()[2:])
    moved = re.match(r"translate\((\S+) (\S+)\)", root.find(f"{SVG}g").get("transform"))
    left, top = (float(v) for v in moved.groups())
    bounds = np.array([box.bounds for box in boxes]) + np.array([left, top, left, top])
    assert bounds.min() >= 0
    assert bounds[:, 2].max() <= width
    assert bounds[:, 3].max() <= height


def test_arrows_stand_outside_where_there_is_no_room_between_them():
    narrow = blank_from_sketch(
        StripReed(length_m=60e-3, width_m=2e-3).sketch(pathlib.Path()), (), Clamped(), 1e-3
    )
    drawing = draw_blank(narrow, title="t", facts=())
    tight = {measure.text: measure.is_tight for measure in drawing.measures}
    assert tight == {"60.000": False, "2.000": True}
    root = parsed(drawing)
    arrows = [
        [tuple(map(float, corner.split(","))) for corner in p.get("points").split()]
        for p in root.iter(f"{SVG}polygon")
    ]
    (text,) = [t for t in root.iter(f"{SVG}text") if t.text == "2.000"]
    upright = [a for a in arrows if abs(a[1][1] - a[2][1]) < 1e-9]
    tips = sorted(a[0][1] for a in upright)
    # 2 mm at 2 : 1 between the points, the heads beyond them, the text below the lower one.
    assert tips[1] - tips[0] == pytest.approx(4)
    assert {np.sign(a[1][1] - a[0][1]) == np.sign(a[0][1] - np.mean(tips)) for a in upright} == {
        True
    }
    assert float(text.get("y")) > tips[1]


def test_note_stands_where_it_belongs():
    drawing = Drawing(
        title="t",
        scale=2,
        contours=(Contour(loop=DISC, layer="OUTLINE"),),
        notes=(Note(place_mm=(1.0, 2.0), text="middle"),),
    )
    (note,) = [t for t in parsed(drawing).iter(f"{SVG}text") if t.text == "middle"]
    assert (float(note.get("x")), float(note.get("y"))) == (2.0, -4.0)
