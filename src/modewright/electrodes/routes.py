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

if TYPE_CHECKING:
    from numpy.typing import NDArray
    from shapely import Point
    from shapely.geometry.base import BaseGeometry

__all__ = ["shortest_route"]

_NEIGHBOURS = ((1, 0), (0, 1), (1, 1), (1, -1))
_MOST_POINTS = 150_000
_ROUND_OFF_M = 1e-6


def shortest_route(
    start: Point, end: Point, room: BaseGeometry, step_m: float
) -> LineString | None:
    """Shortest way from one place to another.

    Parameters
    ----------
    start, end : Point
        In the room. [m]
    room : Polygon or MultiPolygon
        Where the middle of the track may be. [m]
    step_m : float
        Distance of the lattice; it is widened for large boards. [m]

    Returns
    -------
    LineString or None
        Straight if nothing lies in between; None if there is no way.
    """
    straight = LineString([start, end])
    if room.covers(straight):
        return straight
    low_x, low_y, high_x, high_y = room.bounds
    step = max(step_m, float(np.sqrt((high_x - low_x) * (high_y - low_y) / _MOST_POINTS)))
    x, y = np.arange(low_x, high_x, step), np.arange(low_y, high_y, step)
    places = np.stack(np.meshgrid(x, y, indexing="ij"), axis=-1).reshape(-1, 2)
    is_free = np.array(shapely.contains_xy(room, places[:, 0], places[:, 1]))
    free = np.nonzero(is_free)[0]
    if len(free) == 0:
        return None
    nodes = np.arange(len(places)).reshape(len(x), len(y))
    first, last = (
        int(free[np.argmin(np.hypot(*(places[free] - [place.x, place.y]).T))])
        for place in (start, end)
    )
    path = _path(_graph(nodes, is_free), first, last)
    if path is None:
        return None
    way = LineString([start, *places[path], end])
    # Straighter, but not across a corner of the room.
    for tolerance in (step / 2, step / 8, step / 40):
        straighter = LineString(shapely.get_coordinates(way.simplify(tolerance)))
        if room.buffer(_ROUND_OFF_M).covers(straighter):
            return straighter
    return way


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


def _path(graph: Any, first: int, last: int) -> list[int] | None:  # noqa: ANN401
    """Nodes of the shortest way between two of them."""
    find: Any = dijkstra
    distance, before = find(graph, directed=False, indices=first, return_predecessors=True)
    if not np.isfinite(distance[last]):
        return None
    path = [last]
    while path[-1] != first:
        path.append(int(before[path[-1]]))
    return path[::-1]
