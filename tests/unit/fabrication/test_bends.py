"""Bends on the flat pattern: where the lines lie and what the list says."""

from __future__ import annotations

import math
from io import StringIO
from pathlib import Path

import ezdxf
import numpy as np
import pytest

from modewright.fabrication.bend_marks import bend_lines
from modewright.fabrication.blank_drawing import draw_blank
from modewright.fabrication.dxf import drawing_to_dxf
from modewright.fabrication.svg import drawing_to_svg
from modewright.geometry.build import build_blank
from modewright.geometry.families.strip_reed import StripReed
from modewright.geometry.features.bend import StraightBend
from modewright.geometry.support import Clamped, NodalSupports

BEND = StraightBend(
    start_m=(0.03, 0.0), end_m=(0.03, 0.005), angle_deg=-90.0, inside_radius_m=2e-3, k_factor=0.4
)
BLANK = build_blank(StripReed(length_m=0.08, width_m=0.02), (BEND,), Clamped(), 1e-3, Path())


def test_lines_span_the_blank_an_allowance_apart() -> None:
    lines = bend_lines(BLANK)
    assert [line.is_thick for line in lines] == [False, True, False]
    x = sorted(line.start_mm[0] for line in lines)
    width = math.pi / 2 * 2.4
    assert x == pytest.approx([30 - width / 2, 30, 30 + width / 2], abs=1e-9)
    for line in lines:
        assert abs(line.end_mm[1] - line.start_mm[1]) == pytest.approx(20, abs=1e-3)


def test_drawing_tells_the_bender_everything() -> None:
    drawing = draw_blank(BLANK, title="leaf", facts=())
    text = " ".join(note.text for note in drawing.notes)
    assert "90 deg down, inside radius 2.000" in text
    assert "allowance 3.770" in text
    assert "neutral fibre at 0.400" in text
    assert "#1b6b3a" in drawing_to_svg(drawing)
    document = ezdxf.read(StringIO(drawing_to_dxf(drawing)))
    bends = document.modelspace().query('LINE[layer=="BEND"]')
    assert len(bends) == 3
    middle = np.mean([[line.dxf.start.x, line.dxf.end.x] for line in bends])
    assert middle == pytest.approx(30.0, abs=1e-9)


def test_flat_blank_has_no_bend_lines() -> None:
    flat = build_blank(StripReed(length_m=0.08, width_m=0.02), (), NodalSupports(), 1e-3, Path())
    assert bend_lines(flat) == []
    drawing = draw_blank(flat, title="bar", facts=())
    assert [line.layer for line in drawing.lines].count("REST") == 2
