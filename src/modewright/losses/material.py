"""Loss inside the metal that is not thermoelastic: dislocations, grain boundaries, inclusions."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from modewright.losses.mechanism import Mechanism

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.losses.mechanism import LossBody

__all__ = ["MECHANISM"]


def _of_body(body: LossBody) -> NDArray[np.complex128]:
    """Loss factor of the metal, alike for every mode.

    Notes
    -----
    Constant over frequency, as usual for metals at small strain and room temperature: L. Cremer
    and M. Heckl, Structure-Borne Sound, ch. III. Trust it within a factor of two.
    """
    return np.full(len(body.modes.freq_hz), complex(body.material.loss_factor.value))


MECHANISM = Mechanism(
    name="material",
    is_on=lambda settings: settings.material,
    reaction=_of_body,
)
