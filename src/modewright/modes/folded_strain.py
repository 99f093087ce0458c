"""Bending strain of bent sheet."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from modewright.modes.basis import BendingStrain
from modewright.modes.folded import solid_points

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.modes.elasticity import ElasticSystem
    from modewright.modes.fold_map import FoldedPlaces

__all__ = ["folded_bending_strain"]

_CHUNK = 32


def folded_bending_strain(
    system: ElasticSystem,
    places: FoldedPlaces,
    shapes: NDArray[np.float64],
    omega2_rad2_s2: NDArray[np.float64],
) -> BendingStrain:
    """Dilatation that is linear through the thickness; see `modewright.modes.sampling`.

    Parameters
    ----------
    system : ElasticSystem
    places : FoldedPlaces
        Of that system.
    shapes : float array, shape (nodes, 3, functions, modes)
        Mass-normalised. [1/sqrt(kg)]
    omega2_rad2_s2 : float array, shape (modes,)
        Twice the strain energy of each mass-normalised mode. [rad²/s²]

    Returns
    -------
    BendingStrain
        For the one thickness of the sheet.
    """
    space, column = system.space, system.column
    levels = column.levels_m
    thickness_m = float(levels[-1] - levels[0])
    weights, _, _, heights = column.samples(range(len(levels) - 1))
    lever = weights * (heights - (levels[0] + levels[-1]) / 2)
    total = np.zeros(shapes.shape[-1])
    for start in range(0, len(space.corners_m), _CHUNK):
        some = np.arange(start, min(start + _CHUNK, len(space.corners_m)))
        points = solid_points(space, column, places, some)
        moved = shapes[space.element_nodes[some]]
        dilatation = np.einsum("tpzcnf,tncfm->tpzm", points.slopes, moved, optimize=True)
        moment = np.einsum("z,tpzm->tpm", lever, dilatation)
        area = points.volume.sum(axis=2) / thickness_m
        total += np.einsum("tp,tpm->m", area, moment**2)
    squares = 12 * total / thickness_m**3
    return BendingStrain(
        thickness_m=np.array([thickness_m]), dilatation_per_pa=(squares / omega2_rad2_s2)[None]
    )
