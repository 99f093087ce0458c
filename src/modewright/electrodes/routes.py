"""The shortest way of a track over a board.

References
----------
Dijkstra, Numer. Math. 1 (1959) 269, on a square lattice with eight neighbours; C. Y. Lee, IRE
Trans. Electron. Comput. EC-10 (1961) 346 (routing on a lattice); both from memory.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import shapely
from scipy.sparse import coo_array
from scipy.sparse.csgraph import dijkstra
from shapely import LineString
from shapely.ops import nearest_points

if TYPE_CHECKING:
    from numpy.typing import NDArray
    from shapely.geometry.base import BaseGeometry

__all__ = ["shortest_route"]

_NEIGHBOURS = ((1, 0), (0, 1), (1, 1), (1, -1))
_MOST_POINTS = 150_000
_NEAR = 1.02


def shortest_route(
    start: BaseGeometry, end: BaseGeometry, room: BaseGeometry, step_m: float
) -> LineString | None:
    """Shortest way from one area to another.

    Parameters
    ----------
    start, end : Polygon or MultiPolygon
        [m]
    room : Polygon or MultiPolygon
        Where the middle of the track may be. [m]
    step_m : float
        Distance of the lattice; it is widened for large boards. [m]

    Returns
    -------
    LineString or None
        From edge to edge; straight if nothing lies in between; None if there is no way.
    """
    straight = _across(start, end)
    if room.covers(straight):
        return straight
    low_x, low_y, high_x, high_y = room.bounds
    step = max(step_m, float(np.sqrt((high_x - low_x) * (high_y - low_y) / _MOST_POINTS)))
    x, y = np.arange(low_x, high_x, step), np.arange(low_y, high_y, step)
    places = np.stack(np.meshgrid(x, y, indexing="ij"), axis=-1).reshape(-1, 2)
    is_free = np.array(shapely.contains_xy(room, places[:, 0], places[:, 1]))
    nodes = np.arange(len(places)).reshape(len(x), len(y))
    first, last = (
        np.nonzero(is_free & np.array(shapely.contains_xy(area, places[:, 0], places[:, 1])))[0]
        for area in (start, end)
    )
    if len(first) == 0 or len(last) == 0:
        return None
    path = _path(_graph(nodes, is_free), first, last)
    if path is None:
        return None
    inside = LineString(places[path])
    # What lies within both areas needs no track.
    outside = inside.difference(shapely.union_all([start, end]))
    pieces = [p for p in shapely.get_parts(outside) if isinstance(p, LineString)]
    if not pieces:
        return None
    longest = max(pieces, key=lambda piece: piece.length)
    return LineString(shapely.get_coordinates(longest.simplify(step / 2)))


def _across(start: BaseGeometry, end: BaseGeometry) -> LineString:
    """A shortest line between two areas: of parallel edges from the middle of one."""
    distance = start.distance(end)
    facing = start.boundary.intersection(end.buffer(_NEAR * distance))
    stretches = [p for p in shapely.get_parts(facing) if isinstance(p, LineString)]
    if not stretches:
        return LineString(nearest_points(start, end))
    middle = max(stretches, key=lambda piece: piece.length).interpolate(0.5, normalized=True)
    return LineString(nearest_points(middle, end))


def _graph(nodes: NDArray[np.int64], is_free: NDArray[np.bool_]) -> Any:  # noqa: ANN401
    count = nodes.size
    rows: list[NDArray[np.int64]] = []
    columns: list[NDArray[np.int64]] = []
    lengths: list[NDArray[np.float64]] = []
    for right, up in _NEIGHBOURS:
        here = nodes[: nodes.shape[0] - right, max(0, -up) : nodes.shape[1] - max(0, up)]
        there = nodes[right:, max(0, up) : nodes.shape[1] - max(0, -up)]
        is_open = (is_free[here] & is_free[there]).ravel()
        rows.append(here.ravel()[is_open])
        columns.append(there.ravel()[is_open])
        lengths.append(np.full(np.count_nonzero(is_open), float(np.hypot(right, up))))
    entries = (np.concatenate(rows), np.concatenate(columns))
    return coo_array((np.concatenate(lengths), entries), shape=(count, count)).tocsr()


def _path(
    graph: Any,  # noqa: ANN401
    first: NDArray[np.int64],
    last: NDArray[np.int64],
) -> list[int] | None:
    """Nodes of the shortest way between two sets of them."""
    find: Any = dijkstra
    distance, before, _ = find(
        graph, directed=False, indices=first, return_predecessors=True, min_only=True
    )
    node = int(last[np.argmin(distance[last])])
    if not np.isfinite(distance[node]):
        return None
    path = [node]
    while before[path[-1]] >= 0:
        path.append(int(before[path[-1]]))
    return path[::-1]
