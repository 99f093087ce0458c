"""Drawings for the cutter, read back by the DXF library and by the reader of drawn outlines."""

import io
import math
import pathlib

import ezdxf
import numpy as np
import pytest

from drawn_area import drawn_area_mm2
from modewright.fabrication.blank_drawing import draw_blank
from modewright.fabrication.dxf import drawing_to_dxf
from modewright.geometry.arcs import arc_of
from modewright.geometry.blank import Blank, Hold, NamedPoint, Outline
from modewright.geometry.build import blank_from_sketch
from modewright.geometry.families.drawn import DrawnOutline
from modewright.geometry.families.forked_reed import Arm, ForkedReed
from modewright.geometry.families.plate import Plate
from modewright.geometry.families.strip_reed import StripReed
from modewright.geometry.features.holes import RoundHole, SlottedHole
from modewright.geometry.features.tip_mass import TipMass
from modewright.geometry.loop import Loop
from modewright.geometry.measures import centroid_m, outline_area_m2, signed_area_m2
from modewright.geometry.support import Clamped

HERE = pathlib.Path()


def blank_of(family, *features):
    return blank_from_sketch(family.sketch(HERE), features, Clamped(), 1e-3)


def corner_loss(radius):
    """What a rounded right-angled corner lacks of the sharp one; an inner one has it too much."""
    return (1 - math.pi / 4) * radius**2


FORK = ForkedReed(
    base_length_m=23e-3,
    slot_widths_m=(1.5e-3, 2e-3),
    slot_fillet_m=0.4e-3,
    tip_radius_m=0.5e-3,
    arms=(
        Arm(length_m=41.5e-3, width_m=6e-3),
        Arm(length_m=45.5e-3, width_m=7e-3),
        Arm(length_m=38e-3, width_m=6e-3),
    ),
)  # fmt: skip
FORK_MM2 = (
    23 * (6 + 7 + 6 + 1.5 + 2)
    + 6 * 41.5 + 7 * 45.5 + 6 * 38
    - 6 * corner_loss(0.5) + 4 * corner_loss(0.4)
)  # fmt: skip

CASES = {
    "rectangle": (blank_of(Plate(length_m=60e-3, width_m=10e-3)), 600.0),
    "half stadium": (
        blank_of(StripReed(length_m=60e-3, width_m=10e-3, tip_radius_m=5e-3)),
        55 * 10 + math.pi * 25 / 2,
    ),
    "taper": (blank_of(StripReed(length_m=50e-3, width_m=8e-3, tip_width_m=5e-3)), 325.0),
    "fork": (blank_of(FORK), FORK_MM2),
    "fork with holes": (
        blank_of(
            FORK,
            RoundHole(centre_m=(10e-3, 4e-3), diameter_m=3e-3),
            SlottedHole(centre_m=(10e-3, -5e-3), length_m=7e-3, width_m=2e-3),
        ),
        FORK_MM2 - math.pi * 1.5**2 - (5 * 2 + math.pi),
    ),
}


PLATE = Loop.polygon([[40e-3, -4e-3], [50e-3, -4e-3], [50e-3, 4e-3], [40e-3, 4e-3]])
DISC = Loop(vertices_m=[[39e-3, 7e-3], [43e-3, 7e-3]], bulge=[1, 1])


def drawn(blank, **more):
    return drawing_to_dxf(draw_blank(blank, title="a reed", facts=("a fact",), **more))


@pytest.mark.parametrize("name", CASES)
def test_area_read_back_with_the_library(name):
    blank, wanted_mm2 = CASES[name]
    space = ezdxf.read(io.StringIO(drawn(blank))).modelspace()
    areas = sorted((drawn_area_mm2(e) for e in space.query('*[layer=="OUTLINE"]')), reverse=True)
    assert areas[0] - sum(areas[1:]) == pytest.approx(wanted_mm2, rel=1e-5)


@pytest.mark.parametrize("name", CASES)
def test_area_read_back_as_a_drawn_outline(name, tmp_path):
    blank, wanted_mm2 = CASES[name]
    (tmp_path / "outline.dxf").write_text(drawn(blank), encoding="utf-8")
    sketch = DrawnOutline(file="outline.dxf").sketch(tmp_path)
    assert outline_area_m2(sketch.outline) * 1e6 == pytest.approx(wanted_mm2, rel=1e-6)
    assert len(sketch.outline.holes) == len(blank.outline.holes)
    width_mm = abs(blank.hold.edges_m[:, 1, 1] - blank.hold.edges_m[:, 0, 1]).sum() * 1e3
    read_mm = abs(sketch.root_edges_m[:, 1, 1] - sketch.root_edges_m[:, 0, 1]).sum() * 1e3
    assert read_mm == pytest.approx(width_mm, rel=1e-9)


def test_a_round_edge_held_all_round_comes_back(tmp_path):
    edge = Loop(vertices_m=[[0, 0], [80e-3, 0]], bulge=[1, 1])
    ends = edge.vertices_m[::-1]
    hold = Hold(edges_m=np.stack([edge.vertices_m, ends], axis=1), edge_bulge=edge.bulge)
    blank = Blank(
        outline=Outline(outer=edge), thickness_m=1e-3, hold=hold,
        named_points=(NamedPoint(name="tip", point_m=(0.0, 0.0)),),
    )  # fmt: skip
    (tmp_path / "outline.dxf").write_text(drawn(blank), encoding="utf-8")
    sketch = DrawnOutline(file="outline.dxf").sketch(tmp_path)
    assert not sketch.root_areas
    held = zip(sketch.root_edges_m, sketch.root_edge_bulge, strict=True)
    total = sum(abs(arc_of(*edge, bulge).angle_rad) for edge, bulge in held)
    assert total == pytest.approx(2 * math.pi, abs=1e-4)


def test_arcs_stay_arcs():
    space = ezdxf.read(io.StringIO(drawn(CASES["half stadium"][0]))).modelspace()
    (outline,) = space.query('LWPOLYLINE[layer=="OUTLINE"]')
    arcs = [e for e in outline.virtual_entities() if e.dxftype() == "ARC"]
    assert sum((a.dxf.end_angle - a.dxf.start_angle) % 360 for a in arcs) == pytest.approx(180)
    for arc in arcs:
        assert arc.dxf.radius == pytest.approx(5, rel=1e-12)
        assert (arc.dxf.center.x, arc.dxf.center.y) == pytest.approx((55, 0), abs=1e-9)


def test_units_layers_and_everything_that_is_near_the_sheet():
    mass = TipMass(at="tip", diameter_m=4e-3, height_m=2e-3, mass_kg=2e-4, offset_m=(-5e-3, 0.0))
    blank = blank_of(StripReed(length_m=60e-3, width_m=10e-3), mass)
    document = ezdxf.read(
        io.StringIO(drawn(blank, plates=(("plate 1", PLATE),), drivers=(("coil/2", DISC),)))
    )
    assert document.header["$INSUNITS"] == 4  # millimetres, DXF reference, HEADER section
    assert document.audit().errors == []
    space = document.modelspace()
    layers = {e.dxf.layer for e in space}
    assert layers == {
        "OUTLINE", "CLAMP", "HATCH", "MASS", "ELECTRODE_plate_1", "DRIVER_coil_2", "DIMENSION",
        "NOTE",
    }  # fmt: skip
    for layer in layers - {"OUTLINE"}:
        assert document.layers.get(layer).description.startswith("not cut")
    assert document.layers.get("OUTLINE").description == "cut"
    # The layer that is cut holds closed curves and nothing else.
    outline = space.query('*[layer=="OUTLINE"]')
    assert {(e.dxftype(), e.closed) for e in outline} == {("LWPOLYLINE", True)}
    (circle,) = space.query('*[layer=="MASS"]')
    assert drawn_area_mm2(circle) == pytest.approx(math.pi * 4, rel=1e-5)
    (held,) = space.query('*[layer=="CLAMP"]')
    ends = sorted((round(p.x, 9), round(p.y, 9)) for p in (held.dxf.start, held.dxf.end))
    assert ends == [(0, -5), (0, 5)]
    words = {e.dxf.text for e in space.query("TEXT")}
    assert {"a reed", "a fact", "thickness 1 mm", "plate 1", "mass 1", "coil/2"} <= words


def test_plates_drivers_and_jaws_come_back_with_the_drawing(tmp_path):
    blank = blank_from_sketch(FORK.sketch(HERE), (), Clamped(jaw_depth_m=5e-3), 1e-3)
    text = drawn(blank, plates=(("plate", PLATE),), drivers=(("magnet", DISC),))
    (tmp_path / "outline.dxf").write_text(text, encoding="utf-8")
    sketch = DrawnOutline(file="outline.dxf").sketch(tmp_path)
    assert [area.name for area in sketch.plates] == ["ELECTRODE_plate"]
    assert abs(signed_area_m2(sketch.plates[0].loop)) == pytest.approx(80e-6)
    assert [area.name for area in sketch.driver_areas] == ["DRIVER_magnet"]
    assert centroid_m(sketch.driver_areas[0].loop) == pytest.approx([41e-3, 7e-3])
    assert len(sketch.root_areas) == 1


def test_dimensions_say_what_they_measure():
    space = ezdxf.read(io.StringIO(drawn(CASES["fork"][0]))).modelspace()
    texts = set()
    for dimension in space.query("DIMENSION"):
        assert float(dimension.dxf.text) == pytest.approx(dimension.get_measurement(), abs=6e-4)
        texts.add(dimension.dxf.text)
    # Overall length and width, the tips of the two shorter arms, and the roots of the slots.
    assert {"68.500", "22.500", "64.500", "61.000", "23.000"} <= texts
    # Sides of the arms from the lower side on: 6, then a slot of 1.5, an arm of 7, a slot of 2.
    assert {"6.000", "7.500", "14.500", "16.500"} <= texts
