"""How the field far outside a gap depends on the outline of what faces each other.

Seen from afar two thin plates at a voltage V are a dipole layer of that strength, and the energy
of its field is that of a current V around its rim: the capacitance beyond A/g is the inductance of
the rim, taken as a wire as thick as the gap makes it. The outline enters through one length, the
width of a strip whose two rims have as much inductance per length.

References
----------
F. W. Grover, Inductance Calculations, 1946, ch. 7 (polygons from straight filaments); the disc is
Kirchhoff's (G. Kirchhoff, Monatsber. Akad. Wiss. Berlin, 1877, 144; both from memory).
"""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
import shapely

if TYPE_CHECKING:
    from numpy.typing import NDArray
    from shapely import Polygon

__all__ = ["equivalent_strip_m"]

_GAUSS = 8
_PIECES = 40


def equivalent_strip_m(area: Polygon | shapely.MultiPolygon) -> float:
    """Width of a strip with the same inductance of its rims per length.

    Parameters
    ----------
    area : Polygon or MultiPolygon
        Where plate and sheet face each other. [m]

    Returns
    -------
    float
        For a long strip its own width, for a disc 8 R/e², for a square 0.461 of its side. [m]
    """
    start, end = _pieces(area)
    along = end - start
    length = np.linalg.norm(along, axis=1)
    along = along / length[:, None]
    node, weight = np.polynomial.legendre.leggauss(_GAUSS)
    place = start[:, None] + ((node + 1) / 2 * length[:, None])[..., None] * along[:, None]
    near = np.linalg.norm(place[:, :, None] - start, axis=-1)
    far = np.linalg.norm(place[:, :, None] - end, axis=-1)
    # ∫ dl/r over a straight piece.
    with np.errstate(divide="ignore"):
        inner = np.log((near + far + length) / np.maximum(near + far - length, 0.0))
    own = np.arange(len(length))
    inner[own, :, own] = 0.0
    mutual = np.einsum("ijk,j->ik", inner, weight) / 2 * length[:, None] * (along @ along.T)
    self_part = 2 * length * (np.log(2 * length) - 1)
    total = length.sum()
    return float(np.exp((mutual.sum() + self_part.sum()) / 2 / total))


def _pieces(
    area: Polygon | shapely.MultiPolygon,
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Starts and ends of short straight pieces round the area, its holes the other way round."""
    oriented = shapely.normalize(area)
    longest_m = area.length / _PIECES
    rings = [shapely.get_coordinates(ring) for ring in _rings(oriented)]
    starts: list[NDArray[np.float64]] = []
    ends: list[NDArray[np.float64]] = []
    for ring in rings:
        for one, other in pairwise(ring):
            count = max(1, int(np.ceil(np.linalg.norm(other - one) / longest_m)))
            steps = one + np.linspace(0.0, 1.0, count + 1)[:, None] * (other - one)
            starts.append(steps[:-1])
            ends.append(steps[1:])
    return np.concatenate(starts), np.concatenate(ends)


def _rings(area: Polygon | shapely.MultiPolygon) -> list[shapely.LinearRing]:
    found: list[shapely.LinearRing] = []
    for part in shapely.get_parts(area):
        found += [part.exterior, *part.interiors]
    return found
