"""Drawings for reading and printing: true size, and paths that follow the contour."""

import math
import pathlib
import re
from xml.etree import ElementTree as ET

import numpy as np
import pytest

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
    return Drawing(title="t", contours=contours, lines=(), measures=(), notes=(), facts=())


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


def test_true_size_in_millimetres():
    blank = blank_from_sketch(
        StripReed(length_m=60e-3, width_m=10e-3, tip_radius_m=5e-3).sketch(pathlib.Path()),
        (), Clamped(), 1e-3,
    )  # fmt: skip
    root = parsed(draw_blank(blank, title="a <reed> & co", facts=("half hard",)))
    assert root.tag == f"{SVG}svg"
    box = [float(v) for v in root.get("viewBox").split()]
    # One user unit is one millimetre: the size in mm equals the view box.
    assert float(root.get("width").removesuffix("mm")) == pytest.approx(box[2], abs=0.01)
    assert float(root.get("height").removesuffix("mm")) == pytest.approx(box[3], abs=0.01)
    assert root.find(f"{SVG}title").text == "a <reed> & co"
    outline = sampled_path(root.find(f".//{SVG}path").get("d"))
    assert polygon_area(outline) == pytest.approx(550 + math.pi * 12.5, rel=1e-4)
    texts = [t.text for t in root.iter(f"{SVG}text")]
    assert {"60.000", "10.000", "thickness 1 mm", "half hard"} <= set(texts)


def test_bar_of_ten_millimetres_is_ten_millimetres_long():
    root = parsed(contour_only(DISC))
    (bar,) = [line for line in root.findall(f"{SVG}line") if line.get("stroke-width") == "0.6"]
    assert float(bar.get("x2")) - float(bar.get("x1")) == pytest.approx(10)
    assert bar.get("y1") == bar.get("y2")


def test_note_stands_where_it_belongs():
    drawing = Drawing(
        title="t",
        contours=(Contour(loop=DISC, layer="OUTLINE"),),
        lines=(),
        measures=(),
        notes=(Note(place_mm=(1.0, 2.0), text="middle"),),
        facts=(),
    )
    (note,) = [t for t in parsed(drawing).iter(f"{SVG}text") if t.text == "middle"]
    assert (float(note.get("x")), float(note.get("y"))) == (1.0, -2.0)
