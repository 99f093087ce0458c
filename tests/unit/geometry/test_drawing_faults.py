"""Drawings that make no body are refused with the place of the fault."""

from __future__ import annotations

import itertools
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import pytest

from modewright.errors import GeometryError
from modewright.geometry.drawn_parts import read_drawing
from modewright.geometry.families.drawn import DrawnOutline

if TYPE_CHECKING:
    from collections.abc import Callable

    from ezdxf.layouts.layout import Modelspace

    Save = Callable[..., Path]
    Draw = Callable[[Modelspace], object]

OUTLINE = {"layer": "OUTLINE"}
SQUARE = [(0, 0), (40, 0), (40, 40), (0, 40)]


def square(space: Modelspace, layer: str = "OUTLINE") -> None:
    space.add_lwpolyline(SQUARE, close=True, dxfattribs={"layer": layer})


def with_square(add: Draw) -> Draw:
    def draw(space: Modelspace) -> None:
        square(space)
        add(space)

    return draw


def lines(*corners: tuple[float, float]) -> Draw:
    def draw(space: Modelspace) -> None:
        for start, end in itertools.pairwise(corners):
            space.add_line(start, end, dxfattribs=OUTLINE)

    return draw


def twice_lines(space: Modelspace) -> None:
    for _ in range(2):
        lines((0, 0), (40, 0), (40, 40), (0, 0))(space)


def inserted_in_itself(space: Modelspace) -> None:
    assert space.doc is not None
    block = space.doc.blocks.new("B")
    block.add_blockref("b", (1, 1))
    space.add_blockref("B", (0, 0))


@pytest.mark.parametrize(
    ("draw", "words"),
    [
        (
            lines((0, 0), (40, 0), (40, 40), (0, 40)),
            r"ends at \(0\.000, 0\.000\) mm without meeting another; .* 40\.0000 mm away",
        ),
        (
            lines((0, 0), (40, 0), (40, 40), (0, 40), (0, 0.005)),
            r"ends at \(0\.000, 0\.005\) mm .* 0\.0050 mm away",
        ),
        (
            lambda s: s.add_lwpolyline(SQUARE, dxfattribs=OUTLINE),
            r"ends at \(0\.000, 40\.000\) mm",
        ),
        (
            lambda s: s.add_lwpolyline(
                [(0, 0), (40, 40), (40, 0), (0, 40)], close=True, dxfattribs=OUTLINE
            ),
            r"crosses itself at \(20\.000, 20\.000\) mm",
        ),
        (
            lines((0, 0), (40, 40), (40, 0), (0, 40), (0, 0)),
            r"crosses itself at \(20\.000, 20\.000\) mm",
        ),
        (twice_lines, r"4 curves meet at \(0\.000, 0\.000\) mm .*drawn twice"),
        (
            lambda s: (square(s), s.add_line((0, 0), (40, 0), dxfattribs=OUTLINE)),
            r"ends at \(0\.000, 0\.000\) mm without meeting another",
        ),
        (
            lambda s: (
                lines((0, 0), (40, 0), (40, 40), (0, 0))(s),
                lines((40, 0), (40, 40))(s),
            ),
            r"3 curves meet at \(40\.000, 0\.000\) mm where 2 should \(one may be drawn twice\)",
        ),
        (with_square(square), r"same curve drawn twice around \(20\.000, 20\.000\) mm"),
        (
            with_square(lambda s: s.add_circle((40, 20), 5, dxfattribs=OUTLINE)),
            r"two curves that cross or touch at \(40\.000, (15|25)\.000\) mm",
        ),
        (
            with_square(lambda s: s.add_circle((60, 20), 5, dxfattribs=OUTLINE)),
            r"curve around \(60\.000, 20\.000\) mm outside the largest one",
        ),
        (
            with_square(lambda s: [s.add_circle((20, 20), r, dxfattribs=OUTLINE) for r in (9, 3)]),
            r"inside a hole around \(20\.000, 20\.000\) mm",
        ),
        (lambda s: square(s, "Contour"), "on the layer OUTLINE, got the layers Contour"),
        (lambda _: None, "on the layer OUTLINE, got no curves at all"),
        (
            with_square(lambda s: s.add_line((1, 0), (1, 9), dxfattribs={"layer": "CLAMP"})),
            r"layer CLAMP .* from \(1\.000, 0\.000\) mm to \(1\.000, 9\.000\) mm",
        ),
        (
            with_square(lambda s: s.add_arc((0, 0), 9, 0, 90, dxfattribs={"layer": "CLAMP"})),
            r"every curve on the layer CLAMP .* got none under the arc from",
        ),
        (
            with_square(lambda s: s.add_line((1, 1), (1, 9), dxfattribs={"layer": "ELECTRODE_A"})),
            r"closed curves on the layer ELECTRODE_A",
        ),
        (
            with_square(
                lambda s: s.add_lwpolyline(
                    [(1, 1), (9, 9), (9, 1), (1, 9)],
                    close=True,
                    dxfattribs={"layer": "ELECTRODE_A"},
                )
            ),
            r"layer ELECTRODE_A .* crossing at \(5\.000, 5\.000\) mm",
        ),
        (
            with_square(lambda s: s.add_3dface(SQUARE, dxfattribs=OUTLINE)),
            "got 3DFACE on OUTLINE",
        ),
        (
            lambda s: s.add_circle((0, 0), 5, dxfattribs={**OUTLINE, "extrusion": (0, 1, 0)}),
            "does not lie flat",
        ),
        (
            with_square(lambda s: s.add_spline([(3, 3)] * 4, dxfattribs=OUTLINE)),
            "a SPLINE without length on layer OUTLINE",
        ),
        (
            with_square(inserted_in_itself),
            "the block b, which contains itself",
        ),
        (
            with_square(
                lambda s: s.add_lwpolyline(
                    [(5, 5)] * 3, close=True, dxfattribs={"layer": "ELECTRODE_A"}
                )
            ),
            "closed curve on the layer ELECTRODE_A, got points without extent",
        ),
    ],
)
def test_refused_with_the_place(drawing: Save, draw: Draw, words: str) -> None:
    with pytest.raises(GeometryError, match=f"(?s)drawn.dxf: expected .*{words}"):
        read_drawing(drawing(draw))


def test_gap_of_a_micrometre_is_no_gap(drawing: Save) -> None:
    path = drawing(lines((0, 0), (40, 0), (40, 40), (0, 40), (0, 0.001)))
    assert len(read_drawing(path).outline.outer.bulge) == 4


def test_unknown_unit(drawing: Save) -> None:
    with pytest.raises(GeometryError, match=r"expected \$INSUNITS one of .*4 \(mm\).*, got 20"):
        read_drawing(drawing(square, units=20))


def test_missing_file(tmp_path: Path) -> None:
    with pytest.raises(GeometryError, match=r"none\.dxf: expected a DXF drawing, got no such"):
        DrawnOutline(file="none.dxf").sketch(tmp_path)


def test_empty_file_name() -> None:
    (fault,) = DrawnOutline(file=" ").problems()
    assert fault.key == "file"


def test_reference_point_off_the_sheet(drawing: Save) -> None:
    path = drawing(square)
    with pytest.raises(GeometryError, match=r"tip: .*got \(50\.000, 0\.000\) mm"):
        DrawnOutline(file=path.name, tip_m=(0.05, 0.0)).sketch(path.parent)


@pytest.mark.parametrize("content", [b"", b"hello", b"\x00\xff" * 200, b"0\nSECTION\n2\nHEADER\n"])
def test_not_a_drawing(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "bad.dxf"
    path.write_bytes(content)
    with pytest.raises(GeometryError, match=r"bad\.dxf"):
        read_drawing(path)


@pytest.mark.slow
def test_damaged_drawings_never_escape_as_another_error(drawing: Save) -> None:
    def draw(space: Modelspace) -> None:
        square(space)
        space.add_ellipse((20, 20), (6, 0), 0.5, dxfattribs=OUTLINE)
        space.add_spline([(2, 2, 0), (6, 4, 0), (2, 6, 0), (2, 2, 0)], dxfattribs=OUTLINE)
        space.add_arc((30, 10), 3, 0, 180, dxfattribs=OUTLINE)

    path = drawing(draw, release="R2000")
    rows = path.read_text().split("\n")
    start = next(i for i, row in enumerate(rows) if row == "ENTITIES")
    chance = np.random.default_rng(7)
    refused = 0
    for trial in range(400):
        damaged = list(rows)
        for _ in range(3):
            place = int(chance.integers(start, len(rows)))
            damaged[place] = str(chance.choice(["", "x", "-1", "1e400", "nan", "0", "999999999"]))
        if trial % 5 == 0:
            damaged = damaged[: int(chance.integers(10, len(rows)))]
        path.write_text("\n".join(damaged))
        try:
            read_drawing(path)
        except GeometryError:
            refused += 1
    assert refused > 200


def test_points_without_extent(drawing: Save) -> None:
    path = drawing(lambda s: s.add_lwpolyline([(3, 4)] * 3, close=True, dxfattribs=OUTLINE))
    with pytest.raises(GeometryError, match="got points without extent"):
        read_drawing(path)


def test_numbers_beyond_any_sheet(drawing: Save) -> None:
    path = drawing(lambda s: s.add_circle((1e9, 0), 5, dxfattribs=OUTLINE))
    with pytest.raises(
        GeometryError, match="got a CIRCLE on layer OUTLINE that reaches 1e"
    ) as told:
        read_drawing(path)
    assert told.value.hint == "Move the drawing to the origin, and check its unit."


@pytest.mark.parametrize("radius_mm", [0.0, 1e-5])
def test_circle_smaller_than_any_cut(drawing: Save, radius_mm: float) -> None:
    path = drawing(with_square(lambda s: s.add_circle((20, 20), radius_mm, dxfattribs=OUTLINE)))
    words = f"at least 20 µm across, got one of {2e3 * radius_mm:g} µm on layer"
    with pytest.raises(GeometryError, match=words):
        read_drawing(path)


def test_curves_in_space_are_not_pressed_flat(drawing: Save) -> None:
    path = drawing(
        with_square(
            lambda s: s.add_polyline3d(
                [(5, 5, 0), (9, 5, 0), (9, 9, 6)], close=True, dxfattribs=OUTLINE
            )
        )
    )
    with pytest.raises(GeometryError, match=r"a POLYLINE on layer OUTLINE that rises by 6\.000 mm"):
        read_drawing(path)
