"""Design rules: whether a board house can make a board, and whether it holds the voltage.

The check knows only the finished copper, holes and openings, not how they were laid out.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations
from typing import TYPE_CHECKING

from shapely import Point, Polygon, is_valid_reason
from shapely.ops import nearest_points, unary_union

from modewright.fabrication.board.clearance import clearance_m
from modewright.fabrication.board.model import Side
from modewright.geometry.planar import loop_polygon

if TYPE_CHECKING:
    from collections.abc import Iterator

    from shapely.geometry.base import BaseGeometry

    from modewright.fabrication.board.model import Board, Copper, Hole, Net
    from modewright.fabrication.board.settings import BoardSettings

__all__ = ["RULES", "Breach", "broken_rules", "voltage_between_v"]

SIDES: tuple[Side, Side] = ("top", "bottom")
AREA_SHARE = 2e-3
"""Share by which the copper of a plate may differ from the plate of the model."""

# Lengths below this are rounding.
_EXACT_M = 1e-8
# Chords of round copper come so much nearer than the circles they stand for.
_CHORD_M = 2e-6
_ANNULAR_RING_M = 0.1e-3
# Of what lies narrower than a track, only pieces of so many squares of it count: acute corners of
# sound copper are narrow too.
_NARROW_SQUARES = 0.5

RULES = {
    "closed": "every piece of copper and the edge bound an area and do not cross themselves",
    "inside": "all copper lies inside the board, and no nearer to its edge than edge_distance",
    "track": "no copper is narrower than smallest_track",
    "space": "no two nets come nearer than smallest_space",
    "clearance": "no two nets come nearer than their voltage allows (IPC-2221, table 6-1)",
    "joined": "every net is one piece through its holes",
    "ring": "copper stands 0.1 mm or more round every lined hole",
    "screw": "no net comes nearer to an earthed screw head than its voltage allows",
    "vent": "holes through a plate stay smallest_space off all copper but that plate's",
    "face": "no solder mask lies on plates, guards and the slit between them",
    "room": "nothing else stands under the sheet where the board would be",
    "area": "every plate has the area of the model within 0.2 %",
}
"""What is checked, by the word that a breach is named with."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Breach:
    """A rule that a board breaks.

    Parameters
    ----------
    rule : str
        One of `RULES`.
    what : str
        The copper or the two nets concerned.
    expected, got : str
    place_m : tuple of two floats
        Where. [m]
    """

    rule: str
    what: str
    expected: str
    got: str
    place_m: tuple[float, float]

    def __str__(self) -> str:
        x, y = self.place_m
        at = f"at ({x * 1e3 + 0.0:.2f}, {y * 1e3 + 0.0:.2f}) mm"
        return f"{self.rule}: {self.what}: expected {self.expected}, got {self.got} {at}"


def broken_rules(board: Board, settings: BoardSettings) -> tuple[Breach, ...]:
    """Check a board.

    Parameters
    ----------
    board : Board
    settings : BoardSettings

    Returns
    -------
    tuple of Breach
        Empty if it may be made. Shapes that bound no area are told alone, since nothing else can be
        said of them.
    """
    broken = tuple(_not_closed(board))
    if broken:
        return broken
    return (
        *_near_the_edge(board, settings),
        *_narrow_copper(board, settings),
        *_near_copper(board, settings),
        *_apart(board),
        *_thin_rings(board),
        *_near_screws(board, settings),
        *_near_vents(board, settings),
        *_masked_faces(board),
        *_wrong_areas(board),
    )


def voltage_between_v(first: Net, second: Net) -> float:
    """Largest voltage between two nets: either may be off while the other is on. [V]"""
    if first.owner == second.owner:
        return 0.0
    high, low = (net.voltage_v for net in (first, second))
    return max(abs(high), abs(low), abs(high - low))


def _mm(length_m: float) -> str:
    return f"{length_m * 1e3:.3f} mm"


def _middle(shape: BaseGeometry) -> tuple[float, float]:
    place = shape.representative_point()
    return (0.0, 0.0) if place.is_empty else (place.x, place.y)


def _between(first: BaseGeometry, second: BaseGeometry) -> tuple[float, float]:
    a, b = nearest_points(first, second)
    return (a.x + b.x) / 2, (a.y + b.y) / 2


def _name(copper: Copper) -> str:
    return f"{copper.net.name} ({copper.role}, {copper.side})"


def _not_closed(board: Board) -> Iterator[Breach]:
    shapes = [("edge of the board", board.outline)]
    shapes += [(_name(copper), copper.area) for copper in board.copper]
    for what, area in shapes:
        if not area.is_valid or area.area <= 0:
            got = is_valid_reason(area) if not area.is_valid else "nothing"
            places = area.exterior.coords
            place = (places[0][0], places[0][1]) if places else (0.0, 0.0)
            expected = "a curve that bounds one area"
            yield Breach(rule="closed", what=what, expected=expected, got=got, place_m=place)


def _near_the_edge(board: Board, settings: BoardSettings) -> Iterator[Breach]:
    edge = board.outline.boundary
    for copper in board.copper:
        outside = copper.area.difference(board.outline)
        away = 0.0 if outside.area > 0 else copper.area.distance(edge)
        if away < settings.edge_distance_m - _CHORD_M:
            yield Breach(
                rule="inside",
                what=_name(copper),
                expected=f"{_mm(settings.edge_distance_m)} from the edge of the board",
                got="copper outside it" if outside.area > 0 else _mm(away),
                place_m=_middle(outside) if outside.area > 0 else _between(copper.area, edge),
            )
    for hole in board.holes:
        area = _drilled(hole)
        if not board.outline.contains(area):
            yield Breach(
                rule="inside",
                what=f"hole for a {hole.kind}",
                expected="it inside the board",
                got="part of it outside",
                place_m=hole.disc.centre_m,
            )


def _drilled(hole: Hole) -> Polygon:
    return Point(hole.disc.centre_m).buffer(hole.disc.diameter_m / 2, 32)


def _narrow_copper(board: Board, settings: BoardSettings) -> Iterator[Breach]:
    least = settings.smallest_track_m
    for copper in board.copper:
        half = least / 2 - _CHORD_M
        opened = copper.area.buffer(-half).buffer(half * 1.01, join_style="mitre")
        lost = copper.area.difference(opened)
        for part in getattr(lost, "geoms", [lost]):
            if part.area > _NARROW_SQUARES * least**2:
                yield Breach(
                    rule="track",
                    what=_name(copper),
                    expected=f"{_mm(least)} or more",
                    got=f"{part.area * 1e6:.3g} mm² of narrower copper",
                    place_m=_middle(part),
                )


def _near_copper(board: Board, settings: BoardSettings) -> Iterator[Breach]:
    for side in SIDES:
        for a, b in combinations(board.on(side), 2):
            if a.net.name == b.net.name:
                continue
            volts = voltage_between_v(a.net, b.net)
            away = a.area.distance(b.area)
            for rule, least, why in (
                ("space", settings.smallest_space_m, ""),
                ("clearance", clearance_m(volts, settings.altitude), f" for {volts:g} V"),
            ):
                # Within one owner nothing but the board house sets the space.
                if (rule == "clearance" and volts == 0) or away >= least - _CHORD_M:
                    continue
                yield Breach(
                    rule=rule,
                    what=f"{_name(a)} and {_name(b)}",
                    expected=f"{_mm(least)} apart{why}",
                    got=_mm(away),
                    place_m=_between(a.area, b.area),
                )
                break


def _apart(board: Board) -> Iterator[Breach]:
    names = sorted({copper.net.name for copper in board.copper})
    for name in names:
        pieces: list[BaseGeometry] = []
        for side in SIDES:
            faces = unary_union([c.area for c in board.on(side) if c.net.name == name])
            pieces += [part for part in getattr(faces, "geoms", [faces]) if not part.is_empty]
        lined = [_drilled(h) for h in board.holes if h.net is not None and h.net.name == name]
        count = len(_clusters(pieces, lined))
        if count > 1:
            yield Breach(
                rule="joined",
                what=name,
                expected="one piece of copper",
                got=f"{count} pieces",
                place_m=_middle(pieces[-1]),
            )


def _clusters(pieces: list[BaseGeometry], lined: list[Polygon]) -> list[set[int]]:
    """Pieces that lined holes join."""
    groups = [{number} for number in range(len(pieces))]
    for hole in lined:
        met = {i for i, piece in enumerate(pieces) if piece.intersects(hole)}
        touched = [group for group in groups if group & met]
        merged = met.union(*touched) if touched else met
        groups = [group for group in groups if not group & met] + ([merged] if merged else [])
    return groups


def _thin_rings(board: Board) -> Iterator[Breach]:
    for hole in board.holes:
        if hole.net is None:
            continue
        wanted = Point(hole.disc.centre_m).buffer(hole.disc.diameter_m / 2 + _ANNULAR_RING_M, 32)
        wanted = wanted.buffer(-_CHORD_M)
        for side in SIDES:
            copper = unary_union([c.area for c in board.on(side) if c.net.name == hole.net.name])
            if not copper.contains(wanted):
                yield Breach(
                    rule="ring",
                    what=f"{hole.kind} of {hole.net.name}, {side}",
                    expected=f"{_mm(_ANNULAR_RING_M)} of copper all round",
                    got="less",
                    place_m=hole.disc.centre_m,
                )


def _near_screws(board: Board, settings: BoardSettings) -> Iterator[Breach]:
    radius = settings.screw_head_m / 2
    for hole in board.holes:
        if hole.kind != "screw":
            continue
        head = Point(hole.disc.centre_m).buffer(radius, 32)
        for copper in board.copper:
            volts = abs(copper.net.voltage_v)
            least = max(clearance_m(volts, settings.altitude), settings.smallest_space_m)
            away = copper.area.distance(head)
            if away < least - _CHORD_M:
                yield Breach(
                    rule="screw",
                    what=_name(copper),
                    expected=f"{_mm(least)} from the screw's head for {volts:g} V",
                    got=_mm(away),
                    place_m=hole.disc.centre_m,
                )


def _near_vents(board: Board, settings: BoardSettings) -> Iterator[Breach]:
    for hole in board.holes:
        if hole.kind != "vent":
            continue
        drilled = _drilled(hole)
        for copper in board.copper:
            least = 0.0 if copper.role == "plate" else settings.smallest_space_m
            away = copper.area.distance(drilled)
            if copper.area.intersection(drilled).area > _CHORD_M * drilled.length or (
                away < least - _CHORD_M
            ):
                yield Breach(
                    rule="vent",
                    what=_name(copper),
                    expected=f"{_mm(least)} from a hole through a plate",
                    got=_mm(away),
                    place_m=hole.disc.centre_m,
                )


def _masked_faces(board: Board) -> Iterator[Breach]:
    opened = unary_union(board.openings.get("top", ()))
    for plate in board.plates:
        ring = plate.ring
        face = loop_polygon(plate.loop) if ring is None else Polygon(ring.exterior)
        covered = face.difference(opened)
        if covered.area > _EXACT_M * face.length:
            yield Breach(
                rule="face",
                what=plate.name,
                expected="a bare face, since solder mask keeps charge",
                got=f"{covered.area * 1e6:.3g} mm² under the mask",
                place_m=_middle(covered),
            )


def _wrong_areas(board: Board) -> Iterator[Breach]:
    for plate in board.plates:
        name = f"{plate.name} plate"
        found = [c.area for c in board.on("top") if c.role == "plate" and c.net.name == name]
        area = unary_union(found).area
        if abs(area - plate.area_m2) > AREA_SHARE * plate.area_m2:
            yield Breach(
                rule="area",
                what=name,
                expected=f"{plate.area_m2 * 1e6:.4f} mm² within {AREA_SHARE * 100:g} %",
                got=f"{area * 1e6:.4f} mm²",
                place_m=_middle(found[0]) if found else (0.0, 0.0),
            )
