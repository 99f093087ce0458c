"""Where along the outline and along steps of thickness layers of thin triangles lie.

Shear changes within about one thickness of a free edge, which a layer of triangles of that width
follows cheaply. At a step of thickness and at the edge of jaws stress is singular: thin triangles
on both sides confine what polynomials cannot follow. Next to short pieces of the outline (small
roundings, ends of slots) all triangles are that small anyhow: a layer there would cost much and
bring nothing.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal, TypeAlias

import numpy as np

from modewright.modes.regions import held_ends

if TYPE_CHECKING:
    from collections.abc import Collection

    from numpy.typing import NDArray

    from modewright.modes.regions import PlaneEdge, PlaneRegions

__all__ = ["Bearer", "EdgePiece", "interior_angles", "layer_corners", "layered_pieces"]

Bearer: TypeAlias = Literal["outline", "steps"]
"""What may have a layer: the edge of the sheet, or where its thickness or hold changes within."""

_CORNER_RAD = np.radians(60)
# Pieces of the outline shorter than one thickness are small; the layer ends two from them.
_SMALL = 1.0
_CLEARANCE = 2.0
# Less than this share of an edge is not worth a layer.
_LEAST_SHARE = 0.4


@dataclass(frozen=True, slots=True, kw_only=True)
class EdgePiece:
    """A stretch of an edge of the regions.

    Parameters
    ----------
    start, end : int
        Nodes.
    edge : int
        Number of the edge.
    is_layered : bool
    """

    start: int
    end: int
    edge: int
    is_layered: bool


def layered_pieces(
    regions: PlaneRegions, layer_m: float, bearers: Collection[Bearer]
) -> tuple[NDArray[np.float64], list[EdgePiece]]:
    """Cut the edges where a layer has to begin or end.

    Parameters
    ----------
    regions : PlaneRegions
    layer_m : float
        Width of the layer. [m]
    bearers : collection of {"outline", "steps"}
        What has a layer.

    Returns
    -------
    nodes_m : float array, shape (nodes, 2)
        Those of the regions, and new ones. [m]
    pieces : list of EdgePiece
        All edges, in their order.
    """
    ends = np.array([[edge.start, edge.end] for edge in regions.edges])
    runs = regions.nodes_m[ends[:, 1]] - regions.nodes_m[ends[:, 0]]
    length = np.linalg.norm(runs, axis=1)
    bears = np.array([_kind(regions, edge) in bearers for edge in regions.edges])
    small = bears & (length < _SMALL * layer_m)
    clear = _CLEARANCE * layer_m * np.isin(ends, ends[small])
    wanted = bears & ~small & (length - clear.sum(axis=1) > _LEAST_SHARE * length)
    nodes = list(regions.nodes_m)
    pieces: list[EdgePiece] = []
    for edge, (first, last) in enumerate(ends.tolist()):
        before_m, after_m = clear[edge]
        stops, layered = [first], [bool(wanted[edge])]
        if wanted[edge] and before_m > 0:
            stops.append(len(nodes))
            layered.insert(0, False)
            nodes.append(regions.nodes_m[first] + runs[edge] * before_m / length[edge])
        if wanted[edge] and after_m > 0:
            stops.append(len(nodes))
            layered.append(False)
            nodes.append(regions.nodes_m[last] - runs[edge] * after_m / length[edge])
        stops.append(last)
        pieces += [
            EdgePiece(start=a, end=b, edge=edge, is_layered=is_layered)
            for (a, b), is_layered in zip(itertools.pairwise(stops), layered, strict=True)
        ]
    return np.array(nodes), pieces


def _kind(regions: PlaneRegions, edge: PlaneEdge) -> Bearer | None:
    if edge.right == -1:
        return "outline"
    return "steps" if regions.is_step(edge) else None


def layer_corners(regions: PlaneRegions, pieces: list[EdgePiece]) -> set[int]:
    """Nodes at which stretches that carry a layer meet at an angle, or reach the end of a hold."""
    layered = [piece for piece in pieces if piece.is_layered]
    reached = {node for piece in layered for node in (piece.start, piece.end)}
    angles = interior_angles(regions)
    turning = {n for n, angle in angles.items() if abs(angle - np.pi) > _CORNER_RAD}
    steps = [piece for piece in layered if regions.edges[piece.edge].right != -1]
    stepped = {node for piece in steps for node in (piece.start, piece.end)}
    return reached & (turning | stepped | set(held_ends(regions).tolist()))


def interior_angles(regions: PlaneRegions) -> dict[int, float]:
    """Interior angle at every node of the body's edge. [rad]"""
    into: dict[int, int] = {}
    outof: dict[int, int] = {}
    for edge in regions.edges:
        if edge.right == -1:
            into[edge.end] = edge.start
            outof[edge.start] = edge.end
    found: dict[int, float] = {}
    for node, before in into.items():
        here = regions.nodes_m[node]
        back, ahead = regions.nodes_m[before] - here, regions.nodes_m[outof[node]] - here
        # On the left of the direction of travel.
        angle = np.arctan2(back[1], back[0]) - np.arctan2(ahead[1], ahead[0])
        found[node] = float(angle % (2 * np.pi))
    return found
