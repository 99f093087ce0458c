"""Plan view of the modes: how far each place moves, and the node lines."""

# pyright: reportUnknownMemberType=false, reportUnknownArgumentType=false
# pyright: reportUnknownVariableType=false

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
from matplotlib.collections import LineCollection
from matplotlib.tri import Triangulation

from modewright.report.plots.style import figure_png

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure
    from numpy.typing import NDArray

    from modewright.modes.surface_picture import SurfacePicture

__all__ = ["mode_plan_png"]

_COLUMNS = 2
_STILL_SHARE = 0.004
_RIM_ROOM = 0.01


def mode_plan_png(
    picture: SurfacePicture,
    captions: tuple[str, ...],
    plates_m: tuple[NDArray[np.float64], ...] = (),
    places_m: tuple[tuple[str, tuple[float, float]], ...] = (),
) -> bytes:
    """Draw every mode in plan.

    Parameters
    ----------
    picture : SurfacePicture
        Points, triangles and displacements of the sheet.
    captions : tuple of str, length modes
        Text above each.
    plates_m : tuple of float arrays, shape (corners, 2)
        Outlines of pickup plates to show. [m]
    places_m : tuple of (str, point)
        Named places to mark, such as the driver. [m]

    Returns
    -------
    bytes
        PNG.
    """
    count = len(captions)
    rows = math.ceil(count / _COLUMNS)
    span = np.ptp(picture.points_m, axis=0)
    is_tall = span[1] > span[0]
    aspect = min(span) / max(span)

    def draw(figure: Figure) -> None:
        axes = figure.subplots(rows, _COLUMNS, squeeze=False)
        for ax in axes.ravel()[count:]:
            ax.set_axis_off()
        has_flat = False
        for mode, (ax, caption) in enumerate(zip(axes.ravel(), captions, strict=False)):
            has_flat |= _draw_mode(ax, picture, mode, is_tall)
            ax.set_title(caption, fontsize=9, loc="left")
            low, high = picture.points_m.min(axis=0) * 1e3, picture.points_m.max(axis=0) * 1e3
            order = [1, 0] if is_tall else [0, 1]
            room = _RIM_ROOM * max(high - low)
            ax.set_xlim(low[order[0]] - room, high[order[0]] + room)
            ax.set_ylim(low[order[1]] - room, high[order[1]] + room)
            for plate in plates_m:
                closed = np.vstack([plate, plate[:1]])[:, :: -1 if is_tall else 1] * 1e3
                ax.plot(*closed.T, color="#444444", lw=0.9, ls=(0, (4, 2)))
            for name, place in places_m:
                x, y = np.array(place[:: -1 if is_tall else 1]) * 1e3
                ax.plot([x], [y], marker="x", color="#444444", ms=5)
                ax.annotate(name, (x, y), textcoords="offset points", xytext=(4, 3), fontsize=7)
        figure.supxlabel(
            "mm   (colour: motion normal to the sheet, violet against orange; black: node lines; "
            "white: nothing moves; each mode to its own scale"
            + ("; grey: motion in its plane" if has_flat else "")
            + ")",
            fontsize=7.5 if has_flat else 8,
        )

    height = 0.6 + rows * (0.62 + 3.6 * max(aspect, 0.12))
    return figure_png(draw, width_in=8.2, height_in=height)


def _outline(triangles: NDArray[np.int64]) -> NDArray[np.int64]:
    """Pairs of points on the rim, holes included: sides that belong to one triangle only."""
    sides = np.sort(
        np.concatenate([triangles[:, [0, 1]], triangles[:, [1, 2]], triangles[:, [2, 0]]])
    )
    found, count = np.unique(sides, axis=0, return_counts=True)
    return found[count == 1]


def _draw_mode(ax: Axes, picture: SurfacePicture, mode: int, is_tall: bool) -> bool:
    """Colour one mode and draw its node lines; True if it moves in the sheet's plane."""
    x, y = picture.points_m.T * 1e3
    if is_tall:
        x, y = y, x
    mesh = Triangulation(x, y, picture.triangles)
    normal = picture.displacement[:, 2, mode]
    in_plane = np.linalg.norm(picture.displacement[:, :2, mode], axis=1)
    is_flat = float(np.abs(normal).max()) < 0.2 * float(in_plane.max())
    shown = in_plane / in_plane.max() if is_flat else normal / np.abs(normal).max()
    colours, least = ("Greys", 0) if is_flat else ("PuOr", -1)
    ax.tripcolor(mesh, shown, cmap=colours, vmin=least, vmax=1, shading="gouraud", rasterized=True)
    edges = _outline(picture.triangles)
    ax.add_collection(
        LineCollection([*np.stack([x[edges], y[edges]], axis=-1)], colors="#777777", linewidths=0.6)
    )
    if not is_flat:
        # Next to a held edge nothing moves, and the sign of nothing makes no node line.
        still = np.abs(shown)[picture.triangles].max(axis=1) < _STILL_SHARE
        mesh.set_mask(still)
        ax.tricontour(mesh, shown, levels=[0.0], colors="black", linewidths=0.9)
    ax.set_aspect("equal")
    ax.tick_params(labelsize=7)
    ax.grid(visible=False)
    return is_flat
