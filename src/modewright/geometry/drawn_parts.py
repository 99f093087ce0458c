"""The layers of a drawing sorted into outline, held places, pickup plates and drivers.

Layers, in any case: ``OUTLINE`` closed outer loop and inner loops; ``CLAMP`` curves on the outline,
or closed areas between jaws; ``ELECTRODE...`` closed areas, one pickup plate each;
``DRIVER...`` points or closed areas.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from modewright.errors import GeometryError
from modewright.geometry.blank import NamedPoint, Outline
from modewright.geometry.chaining import CLOSE_M, Chains, Trace, chain
from modewright.geometry.drawn_clamp import HeldPlaces, held_places
from modewright.geometry.drawn_outline import outline_from_loops
from modewright.geometry.dxf_import import read_dxf
from modewright.geometry.measures import bounding_box_m
from modewright.geometry.places import place_mm
from modewright.geometry.planar import self_crossing_m
from modewright.geometry.sketch import NamedArea

if TYPE_CHECKING:
    from pathlib import Path

    from modewright.geometry.dxf_import import DxfContent, DxfItem
    from modewright.geometry.loop import Loop

__all__ = ["DrawnParts", "read_drawing"]


# Longest side of what is usually cut; beyond, a drawing may name a unit it was not drawn in.
_USUAL_M = (4e-3, 1.2)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class DrawnParts:
    """What a drawing says about a resonator.

    Parameters
    ----------
    outline : Outline
    held : HeldPlaces
    electrodes : tuple of NamedArea
        Pickup plates, named by layer and, where a layer holds several, by order in the file.
    driver_points : tuple of NamedPoint
    driver_areas : tuple of NamedArea
    unit_name : str
        Unit of the drawing, in words.
    notes : tuple of str
        What was assumed and what was left out, one sentence each; empty if nothing.
    """

    outline: Outline
    held: HeldPlaces
    electrodes: tuple[NamedArea, ...]
    driver_points: tuple[NamedPoint, ...]
    driver_areas: tuple[NamedArea, ...]
    unit_name: str
    notes: tuple[str, ...] = ()


def read_drawing(path: Path) -> DrawnParts:
    """Read a drawing.

    Parameters
    ----------
    path : Path
        DXF file.

    Returns
    -------
    DrawnParts

    Raises
    ------
    GeometryError
        With every fault of a layer and its coordinates in mm.
    """
    content = read_dxf(path)
    _refuse_unread(path, content)
    outline = outline_from_loops(path, _outline_loops(path, content))
    clamp = chain(_traces(_on_layer(content, "CLAMP")))
    plates = [(layer, _areas(path, items)) for layer, items in _layers(content, "ELECTRODE")]
    drivers = _layers(content, "DRIVER")
    return DrawnParts(
        outline=outline,
        held=held_places(path, replace(clamp, loops=_sound(path, "CLAMP", clamp.loops)), outline),
        electrodes=tuple(area for layer, loops in plates for area in _named(layer, loops)),
        driver_points=tuple(p for layer, items in drivers for p in _points(layer, items)),
        driver_areas=tuple(
            area for layer, items in drivers for area in _named(layer, _areas(path, items))
        ),
        unit_name=content.unit_name,
        notes=_notes(content, outline),
    )


def _is_ours(layer: str) -> bool:
    name = layer.upper()
    return name in ("OUTLINE", "CLAMP") or name.startswith(("ELECTRODE", "DRIVER"))


def _refuse_unread(path: Path, content: DxfContent) -> None:
    bad = sorted({f"{kind} on {layer}" for layer, kind in content.shapeless if _is_ours(layer)})
    if bad:
        raise GeometryError(
            f"{path}: expected lines, arcs, circles, ellipses, polylines and splines, got "
            f"{', '.join(bad)}.",
            hint="Take these apart into plain curves, or move them to another layer.",
        )


def _notes(content: DxfContent, outline: Outline) -> tuple[str, ...]:
    """What the reader of the design should be told about the drawing."""
    notes: list[str] = []
    low, high = bounding_box_m(outline.outer)
    size = " by ".join(f"{side * 1e3:.6g}" for side in high - low)
    if content.is_unit_assumed:
        notes.append(
            f"the drawing names no unit ($INSUNITS): its lengths are taken as mm, so that the "
            f"contour is {size} mm."
        )
    elif not _USUAL_M[0] <= float((high - low).max()) <= _USUAL_M[1]:
        notes.append(
            f"the contour is {size} mm, read in the unit that the drawing names, "
            f"{content.unit_name}: is that the unit it was drawn in?"
        )
    unread = [*content.unread, *((i.layer, i.kind) for i in content.items if not _is_used(i))]
    if unread:
        counts = Counter(unread)
        words = ", ".join(
            f"{count} {kind} on layer {layer}" for (layer, kind), count in sorted(counts.items())
        )
        notes.append(f"not read: {words}.")
    if content.paper_count:
        notes.append(f"not read: {content.paper_count} entities on sheets of paper.")
    return tuple(notes)


def _is_used(item: DxfItem) -> bool:
    """Whether an entity is part of the body or of what listens and pushes; points only push."""
    return _is_ours(item.layer) and (
        item.point_m is None or item.layer.upper().startswith("DRIVER")
    )


def _on_layer(content: DxfContent, layer: str) -> list[DxfItem]:
    return [item for item in content.items if item.layer.upper() == layer]


def _layers(content: DxfContent, prefix: str) -> list[tuple[str, list[DxfItem]]]:
    """Layers whose name starts with `prefix`, in the order of their first entity."""
    found: dict[str, list[DxfItem]] = {}
    for item in content.items:
        if item.layer.upper().startswith(prefix):
            found.setdefault(item.layer, []).append(item)
    return list(found.items())


def _traces(items: list[DxfItem]) -> list[Trace]:
    return [item.trace for item in items if item.trace is not None]


def _outline_loops(path: Path, content: DxfContent) -> tuple[Loop, ...]:
    traces = _traces(_on_layer(content, "OUTLINE"))
    if not traces:
        layers = sorted({item.layer for item in content.items})
        found = f"the layers {', '.join(layers)}" if layers else "no curves at all"
        raise GeometryError(
            f"{path}: expected curves on the layer OUTLINE, got {found}.",
            hint="Move the contour of the body to a layer named OUTLINE.",
        )
    return _closed(path, "OUTLINE", traces)


def _closed(path: Path, layer: str, traces: list[Trace]) -> tuple[Loop, ...]:
    chains = chain(traces)
    _refuse_open(path, layer, chains)
    if traces and not chains.loops:
        raise GeometryError(
            f"{path}: expected a closed curve on the layer {layer}, got points without extent.",
            hint="Remove what has no length, or draw the area.",
        )
    return chains.loops


def _refuse_open(path: Path, layer: str, chains: Chains) -> None:
    if chains.faults:
        lines = "".join(f"\n  {fault}" for fault in chains.faults[:20])
        more = len(chains.faults) - 20
        rest = f"\n  and {more} more" if more > 0 else ""
        raise GeometryError(
            f"{path}: expected closed curves on the layer {layer}, got{lines}{rest}\n",
            hint=f"Ends must meet within {CLOSE_M * 1e3:g} mm: join them in the drawing.",
        )


def _areas(path: Path, items: list[DxfItem]) -> tuple[Loop, ...]:
    layer = items[0].layer
    return _sound(path, layer, _closed(path, layer, _traces(items)))


def _sound(path: Path, layer: str, loops: tuple[Loop, ...]) -> tuple[Loop, ...]:
    for loop in loops:
        crossing = self_crossing_m(loop)
        if crossing is not None:
            raise GeometryError(
                f"{path}: expected curves on the layer {layer} that do not cross themselves, got "
                f"a crossing at {place_mm(crossing)}.",
                hint="Redraw the area there.",
            )
    return loops


def _named(layer: str, loops: tuple[Loop, ...]) -> list[NamedArea]:
    if len(loops) == 1:
        return [NamedArea(name=layer, loop=loops[0])]
    return [NamedArea(name=f"{layer} {i}", loop=loop) for i, loop in enumerate(loops, 1)]


def _points(layer: str, items: list[DxfItem]) -> list[NamedPoint]:
    places = [item.point_m for item in items if item.point_m is not None]
    if len(places) == 1:
        return [NamedPoint(name=layer, point_m=places[0])]
    return [NamedPoint(name=f"{layer} {i}", point_m=place) for i, place in enumerate(places, 1)]
