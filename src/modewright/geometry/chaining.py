"""Loose lines and arcs of a drawing joined into closed loops."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components
from scipy.spatial import KDTree

from modewright.checks import frozen_array
from modewright.geometry.loop import Loop
from modewright.geometry.places import place_mm

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

__all__ = ["CLOSE_M", "Chains", "Trace", "chain"]

# Ends nearer than this are one point. Drawings are often written in whole micrometres: the ends of
# an arc, which follow from its centre, radius and angles, then miss those of a line by one or two.
CLOSE_M = 2e-6


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Trace:
    """One entity of a drawing: a run of lines and arcs, closed or not.

    Parameters
    ----------
    vertices_m : float array, shape (vertices, 2)
        [m]
    bulge : float array, shape (vertices,) if closed, else (vertices - 1,)
    is_closed : bool
        Whether the last vertex is joined to the first.
    """

    vertices_m: NDArray[np.float64]
    bulge: NDArray[np.float64]
    is_closed: bool

    def __post_init__(self) -> None:
        object.__setattr__(self, "vertices_m", frozen_array(self.vertices_m))
        object.__setattr__(self, "bulge", frozen_array(self.bulge))


@dataclass(frozen=True, slots=True, kw_only=True)
class Chains:
    """What became of the traces.

    Parameters
    ----------
    loops : tuple of Loop
        Closed curves, in the order of their first trace.
    open_traces : tuple of Trace
        Traces of chains that do not close.
    faults : tuple of str
        One sentence for every place where a chain is open or forks.
    """

    loops: tuple[Loop, ...]
    open_traces: tuple[Trace, ...]
    faults: tuple[str, ...]


def chain(traces: Sequence[Trace]) -> Chains:
    """Join traces whose ends meet.

    Parameters
    ----------
    traces : sequence of Trace
        In any order and sense; those without any extent are left out.

    Returns
    -------
    Chains
    """
    loops: list[tuple[int, Loop]] = []
    loose: list[tuple[int, Trace]] = []
    for number, trace in enumerate(traces):
        if _run_m(trace) <= CLOSE_M:
            continue
        ends_meet = np.hypot(*(trace.vertices_m[-1] - trace.vertices_m[0])) <= CLOSE_M
        if trace.is_closed:
            loops.append((number, _loop(trace.vertices_m, trace.bulge)))
        elif not ends_meet:
            loose.append((number, trace))
        else:
            loops.append((number, _loop(trace.vertices_m[:-1], trace.bulge)))
    found, open_traces, faults = _join(loose)
    loops += found
    return Chains(
        loops=tuple(loop for _, loop in sorted(loops, key=lambda item: item[0])),
        open_traces=tuple(open_traces),
        faults=tuple(faults),
    )


def _run_m(trace: Trace) -> float:
    """Largest distance of a vertex from the first. [m]"""
    away = trace.vertices_m - trace.vertices_m[0]
    return float(np.hypot(away[:, 0], away[:, 1]).max())


def _loop(vertices_m: NDArray[np.float64], bulge: NDArray[np.float64]) -> Loop:
    """Loop without doubled vertices."""
    step = np.roll(vertices_m, -1, axis=0) - vertices_m
    keep = np.hypot(step[:, 0], step[:, 1]) > CLOSE_M
    return Loop(vertices_m=vertices_m[keep], bulge=bulge[keep])


def _join(
    loose: list[tuple[int, Trace]],
) -> tuple[list[tuple[int, Loop]], list[Trace], list[str]]:
    if not loose:
        return [], [], []
    ends = np.array([trace.vertices_m[[0, -1]] for _, trace in loose])
    nodes = _nodes(ends.reshape(-1, 2)).reshape(-1, 2)
    degree = np.bincount(nodes.ravel())
    faults = _node_faults(ends, nodes, degree)
    at_node: dict[int, list[int]] = {}
    for number, pair in enumerate(nodes.tolist()):
        for node in pair:
            at_node.setdefault(node, []).append(number)
    links = coo_array(
        (np.ones(len(nodes)), (nodes[:, 0], nodes[:, 1])), shape=(len(degree), len(degree))
    )
    group = connected_components(links, directed=False)[1][nodes[:, 0]]
    loops: list[tuple[int, Loop]] = []
    open_traces: list[Trace] = []
    for name in np.unique(group):
        members = np.nonzero(group == name)[0]
        if (degree[nodes[members]] == 2).all():
            first = int(members[0])
            loops.append((loose[first][0], _walk(first, loose, nodes, at_node)))
        else:
            open_traces += [loose[i][1] for i in members]
    return loops, open_traces, faults


def _nodes(points: NDArray[np.float64]) -> NDArray[np.int64]:
    """Number of the node at which each end lies."""
    pairs = KDTree(points).query_pairs(CLOSE_M, output_type="ndarray")
    count = len(points)
    links = coo_array((np.ones(len(pairs)), (pairs[:, 0], pairs[:, 1])), shape=(count, count))
    return np.asarray(connected_components(links, directed=False)[1], dtype=np.int64)


def _node_faults(
    ends: NDArray[np.float64], nodes: NDArray[np.int64], degree: NDArray[np.int64]
) -> list[str]:
    points, names = ends.reshape(-1, 2), nodes.ravel()
    places = np.array([points[np.argmax(names == name)] for name in range(len(degree))])
    faults: list[str] = []
    open_nodes = np.nonzero(degree == 1)[0]
    for node in open_nodes:
        gaps = np.hypot(*(places[open_nodes] - places[node]).T)
        others = gaps[open_nodes != node]
        near = f"; the nearest other open end is {others.min() * 1e3:.4f} mm away"
        faults.append(
            f"a curve ends at {place_mm(places[node])} without meeting another"
            f"{near if len(others) else ''}"
        )
    faults += [
        f"{degree[node]} curves meet at {place_mm(places[node])} where 2 should (one may be drawn "
        f"twice)"
        for node in np.nonzero(degree > 2)[0]
    ]
    return faults


def _walk(
    first: int,
    loose: list[tuple[int, Trace]],
    nodes: NDArray[np.int64],
    at_node: dict[int, list[int]],
) -> Loop:
    vertices: list[NDArray[np.float64]] = []
    bulge: list[NDArray[np.float64]] = []
    current, entry = first, int(nodes[first, 0])
    while True:
        trace = loose[current][1]
        forwards = int(nodes[current, 0]) == entry
        vertices.append(trace.vertices_m[:-1] if forwards else trace.vertices_m[:0:-1])
        bulge.append(trace.bulge if forwards else -trace.bulge[::-1])
        entry = int(nodes[current, 1] if forwards else nodes[current, 0])
        following = [number for number in at_node[entry] if number != current]
        current = following[0]
        if current == first:
            return _loop(np.concatenate(vertices), np.concatenate(bulge))
