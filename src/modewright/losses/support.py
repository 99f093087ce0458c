"""Energy that leaves through the hold."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from modewright.losses.mechanism import Mechanism

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from modewright.losses.held import HeldLine
    from modewright.losses.mechanism import LossBody
    from modewright.losses.surface import SurfaceMotion
    from modewright.materials.solid import IsotropicSolid

__all__ = ["MECHANISM", "block_loss_factor", "entered_loss_factor"]

# What a half-space takes by force and by moment, for a Poisson's ratio of 0, and how that falls.
_FORCE, _FORCE_FALLS = 0.214, 1.25
_MOMENT, _MOMENT_FALLS = 0.118, 1.7


def block_loss_factor(
    freq_hz: NDArray[np.float64],
    surface: SurfaceMotion,
    solid: IsotropicSolid,
    held: HeldLine | None,
) -> NDArray[np.float64]:
    """Loss factor of each mode of a body that grows out of a huge block of the same metal.

    Parameters
    ----------
    freq_hz : float array, shape (modes,)
        [Hz]
    surface : SurfaceMotion
    solid : IsotropicSolid
        Metal of body and block.
    held : HeldLine or None
        Where they meet; None for a free body, which loses nothing.

    Returns
    -------
    float array, shape (modes,)
        η = ω³ (Y |P|² + ω² Z |L|²) with P = Σ m φ, the momentum of the mode, L = Σ r × m φ, its
        angular momentum about the middle of the hold, and what a half-space takes from a force and
        from a moment, each over ω² and ω⁴: Y = 0.214 (1 - ν)^1.25/(G c) and Z = 0.118 (1 -
        ν)^1.7/(G c³), c being the speed of shear waves. A mode that balances itself, such as the
        prongs of a fork, loses nothing.

    Notes
    -----
    The wavelength in the block is taken as long against the hold, ω w/c < 1, and the body as short
    against it: force and moment then add. Constants are those of a force normal to the face and of
    a moment that rocks it; within the face a force loses 0.8 to 1 of that for ν of 0.2 and above, a
    torque about its normal a third. Where ω w/c is larger the force is at most that on a slab as
    wide as the hold: η = ω² ((1 - ν²) P_z² + (1 + ν) (P_x² + P_y²))/(E w).

    This is what the most perfect hold takes. A real one adds friction, bolts and a base with modes
    of its own, which make a Q of 300 to 2000 out of the 10⁵ and more found here (common practice);
    blocks smaller than a wavelength, 3 m at 1 kHz in steel, throw sound back. Enter measured
    figures where there are any.

    References
    ----------
    Power into a half-space: H. Lamb, Phil. Trans. R. Soc. A 203 (1904) 1; G. F. Miller and H.
    Pursey, Proc. R. Soc. A 233 (1955) 55; the fits hold its integrals within 4 %. J. Lysmer's disc
    (F. E. Richart, J. R. Hall and R. D. Woods, Vibrations of Soils and Foundations, 1970, from
    memory) gives 8 % more. The slab: Lamb's integral of a line force normal to the face or across
    the line; along the line shear waves alone, ω F²/(4 G); approach of Z. Hao, A. Erbil and F.
    Ayazi, Sensors and Actuators A 109 (2003) 156, whose constants (2.081, 0.173, 0.064 for ν =
    0.28, from memory) leave the surface wave out.
    """
    if held is None:
        return np.zeros(len(freq_hz))
    omega = 2 * np.pi * freq_hz
    nu, shear_pa = solid.poisson_ratio, solid.shear_modulus_pa
    speed = np.sqrt(shear_pa / solid.density_kg_per_m3)
    squares = surface.momentum**2
    force = _FORCE * (1 - nu) ** _FORCE_FALLS * omega**3 / (shear_pa * speed) * squares.sum(axis=0)
    if held.width_m > 0:
        yielding = (1 - nu**2) * squares[2] + (1 + nu) * (squares[0] + squares[1])
        force = np.minimum(force, omega**2 * yielding / (solid.youngs_modulus_pa * held.width_m))
    if held.centre_m is None:
        return force
    turning = (surface.turning(held.centre_m) ** 2).sum(axis=0)
    moment = _MOMENT * (1 - nu) ** _MOMENT_FALLS * omega**5 / (shear_pa * speed**3) * turning
    return force + moment


def entered_loss_factor(support_q: Sequence[float], mode_count: int) -> NDArray[np.float64]:
    """Loss factor of each mode from measured figures of the hold.

    Parameters
    ----------
    support_q : sequence of float
        Q of the hold, mode by mode; the last one holds for all further modes. At least one.
    mode_count : int
        Number of modes wanted.

    Returns
    -------
    float array, shape (mode_count,)
    """
    given = np.asarray(support_q, dtype=float)
    return 1 / given[np.minimum(np.arange(mode_count), len(given) - 1)]


def _of_body(body: LossBody) -> NDArray[np.complex128]:
    if body.settings.support == "entered":
        eta = entered_loss_factor(body.settings.support_q, len(body.modes.freq_hz))
    elif body.pads is not None:
        eta = body.pads.loss_factor * body.pads.energy_share
    else:
        eta = block_loss_factor(body.modes.freq_hz, body.surface, body.material.solid, body.held)
    return eta.astype(np.complex128)


MECHANISM = Mechanism(
    name="support", is_on=lambda settings: settings.support != "none", reaction=_of_body
)
