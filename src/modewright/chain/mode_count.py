"""How many modes a sheet has up to a frequency, before any is solved for."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from modewright.geometry.measures import signed_area_m2

if TYPE_CHECKING:
    from modewright.geometry.blank import Blank
    from modewright.materials.solid import IsotropicSolid

__all__ = ["bending_mode_count"]


def bending_mode_count(blank: Blank, solid: IsotropicSolid, up_to_hz: float) -> float:
    """Estimate the number of bending modes of a thin sheet, wherever it is held.

    Parameters
    ----------
    blank : Blank
    solid : IsotropicSolid
    up_to_hz : float
        [Hz]

    Returns
    -------
    float
        Zero for a body that is no sheet. The edges, left out here, add or take a part that grows
        with the root of the frequency only.

    References
    ----------
    Weyl's law for plates, N = A k²/(4π) with k⁴ = ω² ρ h/D (Courant & Hilbert, Methods of
    Mathematical Physics, vol. 1, ch. VI.4, from memory).
    """
    if blank.solid is not None:
        return 0.0
    outline, thickness_m = blank.outline, blank.thickness_m
    area_m2 = abs(signed_area_m2(outline.outer))
    area_m2 -= sum(abs(signed_area_m2(hole)) for hole in outline.holes)
    plane_pa = solid.youngs_modulus_pa / (1 - solid.poisson_ratio**2)
    slowness = math.sqrt(12 * solid.density_kg_per_m3 / plane_pa) / thickness_m
    return area_m2 * 2 * math.pi * up_to_hz * slowness / (4 * math.pi)
