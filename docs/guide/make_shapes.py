"""Remake the page of all shapes and its pictures.

``.venv/bin/python docs/guide/make_shapes.py`` writes docs/guide/shapes.md, and an outline of every
family into docs/guide/pictures/shapes/.
"""

from __future__ import annotations

import tempfile
import xml.etree.ElementTree as ET
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from modewright.design.load import parse_design
from modewright.geometry.build import blank_from_sketch
from modewright.geometry.flatten import flatten
from modewright.modes.fold_map import fold_of_regions, folded_places
from modewright.modes.regions import cut_into_regions

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.geometry.blank import Blank

HERE = Path(__file__).resolve().parent
PICTURES = HERE / "pictures" / "shapes"
WIDTH, MARGIN = 320.0, 8.0
HEAD = """# Shapes

Every family of bodies, with the few lines that make it. All keys stand in [the design
file](design_file.md); how to add a family: [Adding a family](../developer/adding_a_family.md).
Below a plan stands the body seen from the side where its thickness varies or it is bent. Blue is
held, dashed lines are supports or bends.

This page is written by `make_shapes.py`.
"""
TAIL = """
## What goes with what

- Holes, masses and thinned regions go with everything cut from flat stock. Bends go with sheet of
  one thickness, arches and tapers with bars without thinned regions. Rods and STEP solids are
  taken as they are.
- All places are those of the flat blank, also on bent sheet; motion, gaps and pickups count along
  the sheet's own axes.
- The gap of a pickup is that at the middle of its plate. Under an arch, a pocket or a rod it
  widens or narrows with the face above; squeezed air is reckoned with the gap in the middle.
- `modewright tune`, `sweep` and `sensitivity` follow bodies cut from flat stock, arches and
  tapers included. Bent sheet and solids have modes, losses, pickups and drawings, but no
  derivatives; drivers with an armature or a coil do not sit on solids.
- Nodal supports without a stiffness leave the bar free. Their marks lie at 0.224 of the length,
  the nodes of a bar of one thickness; undercut bars have them elsewhere: see the shape of the
  lowest mode in the dossier, and give `from_ends`.
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Example:
    """One entry: heading, what it is for, and its sections of a design file."""

    title: str
    words: str
    text: str
    thickness: str = "1 mm"
    support: str = 'kind = "clamped"'


EXAMPLES = (
    Example(
        title="Strip reed",
        words="One tongue, straight or tapered in width.",
        text='[resonator]\nkind = "strip reed"\nlength = "80 mm"\nwidth = "14 mm"\n'
        'tip_width = "8 mm"\ntip_radius = "2 mm"\n',
    ),
    Example(
        title="Forked reed",
        words="Two or three arms, tuned apart, on one base.",
        text='[resonator]\nkind = "forked reed"\nbase_length = "15 mm"\n'
        'slot_widths = ["3 mm"]\n[[resonator.arms]]\nlength = "60 mm"\nwidth = "8 mm"\n'
        '[[resonator.arms]]\nlength = "50 mm"\nwidth = "7 mm"\n',
    ),
    Example(
        title="Stepped strip",
        words="Stretches of different width, thickness, or both.",
        text='[resonator]\nkind = "stepped strip"\nfillet = "1 mm"\n'
        '[[resonator.steps]]\nlength = "30 mm"\nwidth = "14 mm"\n'
        '[[resonator.steps]]\nlength = "30 mm"\nwidth = "7 mm"\n'
        '[[resonator.steps]]\nlength = "15 mm"\nwidth = "12 mm"\ndepth = "0.5 mm"\n',
    ),
    Example(
        title="Fan of reeds",
        words="Up to 48 tongues on one base, side by side or spread.",
        text='[resonator]\nkind = "reed fan"\nbase_length = "12 mm"\ngaps = ["2 mm"]\n'
        'splay = "9 deg"\nfillet = "0.8 mm"\n'
        + "".join(
            f'[[resonator.reeds]]\nlength = "{length} mm"\nwidth = "6 mm"\n'
            for length in (70, 62, 55, 48, 42)
        ),
    ),
    Example(
        title="Tuning fork",
        words="Two prongs that swing in the plane of thick stock. They move along the sheet, where "
        "a pickup below hears nothing: its modes are there to be tuned and looked at.",
        text='[resonator]\nkind = "tuning fork"\nprong_length = "85 mm"\nprong_width = "5 mm"\n'
        'gap = "8 mm"\nyoke_depth = "7 mm"\nstem_length = "30 mm"\nstem_width = "7 mm"\n'
        'yoke_radius = "3 mm"\nstem_fillet = "1 mm"\n',
        thickness="6 mm",
    ),
    Example(
        title="Bar",
        words="Thick bar, undercut by arches (`cosine`, `parabola`, or a `given` profile, with a "
        "flat stretch if wanted) or tapered, on supports at its nodes.",
        text='[resonator]\nkind = "bar"\nlength = "240 mm"\nwidth = "36 mm"\n'
        '[[resonator.arches]]\ncentre = "85 mm"\nlength = "70 mm"\ndepth = "8 mm"\n'
        '[[resonator.arches]]\ncentre = "155 mm"\nlength = "60 mm"\ndepth = "6 mm"\n'
        'shape = "parabola"\n',
        thickness="16 mm",
        support='kind = "nodal supports"',
    ),
    Example(
        title="Plate",
        words="Rectangle.",
        text='[resonator]\nkind = "plate"\nlength = "80 mm"\nwidth = "60 mm"\n',
        support='kind = "free"',
    ),
    Example(
        title="Polygon plate",
        words="Three to sixty equal sides.",
        text='[resonator]\nkind = "polygon plate"\nsides = 6\ninner_diameter = "80 mm"\n'
        'corner_radius = "5 mm"\n',
        support='kind = "central stud"\ndiameter = "12 mm"',
    ),
    Example(
        title="Disc",
        words="With or without a hole in its middle, free or on a stud.",
        text='[resonator]\nkind = "disc"\ndiameter = "90 mm"\nhole_diameter = "8 mm"\n',
        support='kind = "central stud"\ndiameter = "16 mm"',
    ),
    Example(
        title="Flat bell",
        words="Outline of a bell, cut from sheet and hung by a hole.",
        text='[resonator]\nkind = "flat bell"\nheight = "80 mm"\ncrown_width = "34 mm"\n'
        'mouth_width = "80 mm"\nflare = "45 deg"\nbow = "6 mm"\nhole_diameter = "5 mm"\n',
        thickness="2 mm",
        support='kind = "free"',
    ),
    Example(
        title="Rod",
        words="Round, plain, tapered or stepped; the thickness of the stock plays no part.",
        text='[resonator]\nkind = "rod"\n'
        '[[resonator.stretches]]\nlength = "30 mm"\ndiameter = "10 mm"\n'
        '[[resonator.stretches]]\nlength = "70 mm"\ndiameter = "5 mm"\nend_diameter = "8 mm"\n',
    ),
    Example(
        title="Bent sheet",
        words="Any flat blank with straight bends: here a strip reed with two. The drawing is that "
        "of the flat blank, with the bend allowance worked out.",
        text='[resonator]\nkind = "strip reed"\nlength = "100 mm"\nwidth = "16 mm"\n'
        '[[features]]\nkind = "bend"\nstart = ["35 mm", "-8 mm"]\nend = ["35 mm", "8 mm"]\n'
        'angle = "70 deg"\ninside_radius = "3 mm"\n'
        '[[features]]\nkind = "bend"\nstart = ["70 mm", "-8 mm"]\nend = ["70 mm", "8 mm"]\n'
        'angle = "-40 deg"\ninside_radius = "6 mm"\n',
    ),
)
OTHERS = """
## Drawn outline and STEP solid

`kind = "drawn outline"` reads a DXF drawing, `kind = "STEP solid"` a solid. Of a solid, faces are
held by the names they bear in the file, or because they lie in a box:

```toml
[resonator]
kind = "STEP solid"
file = "body.step"
held_faces = ["root"]                                # or:
# held_box_low = ["-1 mm", "-10 mm", "-1 mm"]
# held_box_high = ["1 mm", "10 mm", "5 mm"]
```
"""


def main() -> None:
    """Write page and pictures."""
    PICTURES.mkdir(parents=True, exist_ok=True)
    page = [HEAD]
    for example in EXAMPLES:
        name = example.title.lower().replace(" ", "_")
        (PICTURES / f"{name}.svg").write_text(picture(example), encoding="utf-8")
        page.append(
            f"\n## {example.title}\n\n{example.words}\n\n"
            f"![{example.title}](pictures/shapes/{name}.svg)\n\n"
            f"```toml\n{shown(example)}```\n"
        )
    (HERE / "shapes.md").write_text("".join([*page, OTHERS, TAIL]), encoding="utf-8")


def shown(example: Example) -> str:
    """What the reader has to write."""
    stock = f'[stock]\nthickness = "{example.thickness}"\n'
    return f"{stock}\n{example.text}\n[support]\n{example.support}\n"


def picture(example: Example) -> str:
    """SVG of the plan, and of the side where there is something to see."""
    text = '[material]\nname = "stainless 301"\n' + shown(example)
    with tempfile.TemporaryDirectory() as folder:
        design = parse_design(text.encode(), folder=Path(folder)).design
        sketch = design.resonator.sketch(Path(folder))
    blank = blank_from_sketch(sketch, design.features, design.support, design.stock.thickness_m)
    loops = (blank.outline.outer, *blank.outline.holes)
    paths = [(closed(flatten(loop, 1e-5)), "metal") for loop in loops]
    paths += [(np.array(line), "dashed") for line in blank.rests_m]
    if blank.hold is not None:
        paths += [(edge, "held") for edge in blank.hold.edges_m]
        paths += [(closed(flatten(area, 1e-5)), "held") for area in blank.hold.areas]
        if blank.hold.faces is not None and blank.solid is not None:
            radius = float(np.abs(blank.outline.outer.vertices_m[0, 1]))
            paths.append((np.array([[0.0, -radius], [0.0, radius]]), "held"))
    bottom = min(path[:, 1].min() for path, _ in paths)
    side = side_view(blank)
    if side is not None:
        drop = bottom - 0.012 - side[:, 1].max()
        paths.append((side + np.array([0.0, drop]), "metal"))
    for bend in blank.bends:
        reach = 0.008 * np.array([bend.along, -bend.along])
        paths.append((bend.middle_m + reach, "dashed"))
    return svg(paths)


def side_view(blank: Blank) -> NDArray[np.float64] | None:
    """Section along the middle; None for a flat body of one thickness."""
    low = blank.outline.outer.vertices_m[:, 0].min()
    high = blank.outline.outer.vertices_m[:, 0].max()
    x = np.linspace(low, high, 801)
    if blank.bends:
        return bent_section(blank, x)
    points = np.stack([x, np.zeros_like(x)], axis=1)
    bottom, top = blank.faces_m(points)
    for pocket in blank.pockets:
        corners = flatten(pocket.loop, 1e-5)
        inside = (x >= corners[:, 0].min()) & (x <= corners[:, 0].max())
        removed = blank.thickness_m - pocket.thickness_m
        bottom = bottom + inside * removed * (pocket.side == "bottom")
        top = top - inside * removed * (pocket.side == "top")
    if np.ptp(top - bottom) < 1e-9 and blank.solid is None:
        return None
    return closed(np.concatenate([np.stack([x, bottom], axis=1), np.stack([x, top], axis=1)[::-1]]))


def bent_section(blank: Blank, x: NDArray[np.float64]) -> NDArray[np.float64]:
    """Both faces of bent sheet along its middle."""
    regions = cut_into_regions(blank, 1e-5)
    fold = fold_of_regions(blank, regions)
    spans = [region.polygon.bounds for region in regions.regions]
    faces: list[NDArray[np.float64]] = []
    for z in (0.0, blank.thickness_m):
        places: list[NDArray[np.float64]] = []
        for value in x:
            part = next(
                p
                for (lo, _, hi, _), p in zip(spans, fold.parts, strict=True)
                if lo - 1e-6 <= value <= hi + 1e-6
            )
            place, _ = folded_places(fold, part, np.array([value, 0.0, z]))
            places.append(place[[0, 2]])
        faces.append(np.array(places))
    return closed(np.concatenate([faces[0], faces[1][::-1]]))


def closed(corners: NDArray[np.float64]) -> NDArray[np.float64]:
    """The same curve, back to its start."""
    return np.concatenate([corners, corners[:1]])


def svg(paths: list[tuple[NDArray[np.float64], str]]) -> str:
    """Draw curves given in metres."""
    low = np.min([path.min(axis=0) for path, _ in paths], axis=0)
    high = np.max([path.max(axis=0) for path, _ in paths], axis=0)
    scale = (WIDTH - 2 * MARGIN) / (high - low).max()
    size = (high - low) * scale + 2 * MARGIN
    root = ET.Element(
        "svg",
        {
            "xmlns": "http://www.w3.org/2000/svg",
            "width": f"{size[0]:.0f}",
            "height": f"{size[1]:.0f}",
            "viewBox": f"0 0 {size[0]:.1f} {size[1]:.1f}",
        },
    )
    ET.SubElement(root, "rect", {"width": "100%", "height": "100%", "fill": "#ffffff"})
    styles = {
        "metal": {"fill": "#d9dde2", "stroke": "#222222", "stroke-width": "1"},
        "held": {"fill": "none", "stroke": "#0b5fa5", "stroke-width": "3"},
        "dashed": {
            "fill": "none", "stroke": "#222222", "stroke-width": "1", "stroke-dasharray": "5 3",
        },
    }  # fmt: skip
    holes = 0
    for path, style in paths:
        places = (path - low) * scale + MARGIN
        places[:, 1] = size[1] - places[:, 1]
        points = " ".join(f"{x:.1f},{y:.1f}" for x, y in places)
        look = dict(styles[style])
        if style == "metal" and holes:
            is_hole = np.ptp(path[:, 0]) < 0.3 * np.ptp(paths[0][0][:, 0])
            look["fill"] = "#ffffff" if is_hole else look["fill"]
        holes += style == "metal"
        ET.SubElement(root, "polyline", {"points": points, **look})
    return ET.tostring(root, encoding="unicode")


if __name__ == "__main__":
    main()
