"""Where a body is held and how, as losses at the hold need to know it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import LineString, Polygon

from modewright.geometry.flatten import flatten
from modewright.geometry.measures import centroid_m
from modewright.losses.surface import SAGITTA_M, cell_centres
from modewright.modes.regions import sheet_polygon

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.geometry.blank import Blank
    from modewright.modes.basis import Modes

__all__ = ["HeldLine", "Pads", "held_line", "pads_under"]

_PAD_CELLS = 150


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class HeldLine:
    """The line along which a body grows out of what holds it.

    Parameters
    ----------
    width_m : float
        Its length; 0 if it is not known, for solids. [m]
    centre_m : float array, shape (2,), or None
        Its middle in plan; None if that is not known, for solids held by named faces. [m]
    """

    width_m: float
    centre_m: NDArray[np.float64] | None


def held_line(blank: Blank) -> HeldLine | None:
    """Line along which a body is held.

    Parameters
    ----------
    blank : Blank

    Returns
    -------
    HeldLine or None
        Held edges, and the edges of held areas where they cross the sheet; None for a free body.
    """
    hold = blank.hold
    if hold is None:
        return None
    if hold.faces is not None:
        low_m, high_m = hold.faces.low_m, hold.faces.high_m
        if low_m is None or high_m is None:
            return HeldLine(width_m=0.0, centre_m=None)
        return HeldLine(width_m=0.0, centre_m=(np.array(low_m[:2]) + np.array(high_m[:2])) / 2)
    lengths = np.array([LineString(curve).length for curve in hold.edge_curves_m], dtype=float)
    inside = sheet_polygon(blank, SAGITTA_M).buffer(-SAGITTA_M)
    for area in hold.areas:
        crossed = Polygon(flatten(area, SAGITTA_M)).exterior.intersection(inside)
        lengths = np.append(lengths, crossed.length)
    middles = [*hold.edges_m.mean(axis=1), *(centroid_m(area) for area in hold.areas)]
    return HeldLine(width_m=float(lengths.sum()), centre_m=np.mean(middles, axis=0))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Pads:
    """Soft pads that a body lies on.

    Parameters
    ----------
    loss_factor : float
        Of the pads.
    energy_share : float array, shape (modes,)
        Share of the potential energy of each mode that they hold.
    """

    loss_factor: float
    energy_share: NDArray[np.float64]


def pads_under(blank: Blank, modes: Modes) -> Pads | None:
    """Pads with a loss of their own, and what they hold of each mode.

    Parameters
    ----------
    blank : Blank
    modes : Modes
        Of that blank.

    Returns
    -------
    Pads or None
        ∫ k_n φ_z² + k_t (φ_x² + φ_y²) over both faces of the held areas, over ω². None if the body
        is free or held by metal.
    """
    hold = blank.hold
    if hold is None or hold.stiffness_n_per_m3 is None or hold.loss_factor is None:
        return None
    sheet = sheet_polygon(blank, SAGITTA_M)
    stiffness = hold.stiffness_n_per_m3 * np.array([hold.shear_ratio, hold.shear_ratio, 1.0])
    total = np.zeros(len(modes.freq_hz))
    for area in hold.areas:
        for part in shapely.get_parts(Polygon(flatten(area, SAGITTA_M)).intersection(sheet)):
            places_m = cell_centres(part, _PAD_CELLS)
            lower = modes.shapes.displacement(places_m)
            upper = 2 * modes.shapes.middle.displacement(places_m) - lower
            total += stiffness @ (lower**2 + upper**2).mean(axis=0) * part.area
    return Pads(loss_factor=hold.loss_factor, energy_share=total / (2 * np.pi * modes.freq_hz) ** 2)
