"""Energy that leaves through the hold."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from modewright.losses.mechanism import Mechanism

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from modewright.losses.mechanism import LossBody
    from modewright.losses.surface import SurfaceMotion
    from modewright.materials.solid import IsotropicSolid

__all__ = ["MECHANISM", "block_loss_factor", "entered_loss_factor"]


def block_loss_factor(
    freq_hz: NDArray[np.float64],
    surface: SurfaceMotion,
    solid: IsotropicSolid,
    held_width_m: float,
) -> NDArray[np.float64]:
    """Loss factor of each mode of a sheet that grows out of a huge block of the same metal.

    Parameters
    ----------
    freq_hz : float array, shape (modes,)
        [Hz]
    surface : SurfaceMotion
    solid : IsotropicSolid
        Metal of sheet and block.
    held_width_m : float
        Length of the line along which they meet; 0 for a free body, which loses nothing. [m]

    Returns
    -------
    float array, shape (modes,)
        η = ω² ((1 - ν²) P_z² + (1 + ν) (P_x² + P_y²))/(E w). P = Σ m φ is the momentum of the
        mode, hence ω² times it is the force on the hold: a mode that balances itself, such as the
        prongs of a fork, loses nothing.

    Notes
    -----
    The constants are those of a slab as wide as the sheet: across the sheet and straight out of the
    hold the half-space gives way by 1 - ν², along the held line by 1 + ν, which is taken for every
    motion in the plane (a quarter to a half too much for one straight out). For a clamped strip it
    is (L/h)³ times 1.7, 0.14, 0.05 for the first three modes. It is a lower bound of the loss: the
    moment at the hold is neglected, and a real hold adds friction, bolts and a base with modes of
    its own, which make a Q of 300 to 2000 out of the 10⁵ found here (common practice). Enter
    measured figures where there are any.

    References
    ----------
    Z. Hao, A. Erbil and F. Ayazi, Sensors and Actuators A 109 (2003) 156, whose approach this is;
    their constants (2.081, 0.173, 0.064 for ν = 0.28, from memory) are a fifth larger because the
    surface wave is left out there. Power into a half-space by a tangential line force: H. Lamb,
    Phil. Trans. R. Soc. A 203 (1904) 1; its integral equals (1 - ν²) ω F²/(2 E) per length, and so
    does that of a normal line force. Force along the line: shear waves alone, ω F²/(4 G).
    """
    if held_width_m == 0:
        return np.zeros(len(freq_hz))
    omega = 2 * np.pi * freq_hz
    along_x, along_y, across = surface.momentum**2
    nu = solid.poisson_ratio
    yielding = (1 - nu**2) * across + (1 + nu) * (along_x + along_y)
    return omega**2 * yielding / (solid.youngs_modulus_pa * held_width_m)


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
    else:
        eta = block_loss_factor(
            body.modes.freq_hz, body.surface, body.material.solid, body.held_width_m
        )
    return eta.astype(np.complex128)


MECHANISM = Mechanism(
    name="support", is_on=lambda settings: settings.support != "none", reaction=_of_body
)
