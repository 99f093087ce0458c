"""All losses of a body together, each with its share."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from modewright.checks import check_finite, check_shape, frozen_array
from modewright.errors import LossError
from modewright.losses import (
    air_drag,
    material,
    radiation,
    squeeze_film,
    support,
    thermoelastic,
)
from modewright.losses.held import held_line, pads_under
from modewright.losses.mechanism import LossBody, Mechanism
from modewright.losses.surface import surface_motion
from modewright.materials.air import air_at

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.geometry.blank import Blank
    from modewright.losses.films import FilmCells
    from modewright.losses.settings import LossSettings
    from modewright.materials.model import Material
    from modewright.modes.basis import Modes

__all__ = ["MECHANISMS", "LossShares", "loss_body", "loss_shares"]

MECHANISMS: tuple[Mechanism, ...] = (
    thermoelastic.MECHANISM,
    material.MECHANISM,
    air_drag.MECHANISM,
    radiation.MECHANISM,
    support.MECHANISM,
    squeeze_film.MECHANISM,
)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LossShares:
    """What each mechanism takes from each mode.

    Parameters
    ----------
    mechanisms : tuple of str
        Names.
    loss_factor : float array, shape (mechanisms, modes)
        1/Q of each mode by each mechanism alone, >= 0; their sum is above 0 for every mode.
    air_mass : float array, shape (modes,)
        Mass of the air that swings along with each mode, as a share of its modal mass; below 0 if
        the air acts as a spring instead, as in a wide and thin film.
    """

    mechanisms: tuple[str, ...]
    loss_factor: NDArray[np.float64]
    air_mass: NDArray[np.float64]

    def __post_init__(self) -> None:
        object.__setattr__(self, "loss_factor", frozen_array(self.loss_factor))
        object.__setattr__(self, "air_mass", frozen_array(self.air_mass))
        check_shape(self.loss_factor, "loss_factor", (len(self.mechanisms), len(self.air_mass)))
        check_finite(self.air_mass, "air_mass")
        check_finite(self.loss_factor, "loss_factor")
        if np.any(self.loss_factor < 0):
            raise ValueError(f"loss_factor: expected 0 or above, got {self.loss_factor.min()}")

    @property
    def damping_ratio(self) -> NDArray[np.float64]:
        """ζ of each mode, half the sum of the loss factors; shape (modes,)."""
        return self.loss_factor.sum(axis=0) / 2

    @property
    def air_cents(self) -> NDArray[np.float64]:
        """Shift of each mode from vacuum to air, mostly below 0; shape (modes,). [cents]

        Modes are shifted one by one; that the air couples neighbours is left out.
        """
        return -np.sign(self.air_mass) * 600 * np.log2(1 + np.abs(self.air_mass))

    @property
    def mass_factor(self) -> NDArray[np.float64]:
        """Modal mass in air over that in vacuum; shape (modes,)."""
        return 1 + np.maximum(self.air_mass, 0.0)

    @property
    def share(self) -> NDArray[np.float64]:
        """Share of each mechanism in the loss of each mode; shape (mechanisms, modes)."""
        return self.loss_factor / self.loss_factor.sum(axis=0)


def loss_body(
    blank: Blank,
    modes: Modes,
    metal: Material,
    settings: LossSettings,
    films: tuple[FilmCells, ...] = (),
) -> LossBody:
    """Gather what the mechanisms read.

    Parameters
    ----------
    blank : Blank
        Shape and hold.
    modes : Modes
        Of that blank, mass-normalised.
    metal : Material
        At the temperature of body and air.
    settings : LossSettings
    films : tuple of FilmCells
        Air gaps at the blank, such as those over its pickups.

    Returns
    -------
    LossBody
    """
    return LossBody(
        modes=modes,
        material=metal,
        air=air_at(metal.temperature_k),
        surface=surface_motion(blank, modes.shapes, metal.density_kg_per_m3.value),
        held=held_line(blank),
        pads=pads_under(blank, modes),
        films=films,
        settings=settings,
    )


def loss_shares(body: LossBody) -> LossShares:
    """Loss factor of every mode by every mechanism that the design counts.

    Parameters
    ----------
    body : LossBody

    Returns
    -------
    LossShares
        Loss factors add, as each is small.

    Raises
    ------
    LossError
        If a mode loses nothing at all, or so much that it would not ring.
    """
    active = [mechanism for mechanism in MECHANISMS if mechanism.is_on(body.settings)]
    each = [mechanism.reaction(body) for mechanism in active]
    table = np.array(each, dtype=np.complex128).reshape(len(active), len(body.modes.freq_hz))
    names = tuple(mechanism.name for mechanism in active)
    _check_ringing(body.modes.labels, names, table.real)
    return LossShares(
        mechanisms=names,
        loss_factor=table.real,
        air_mass=table.imag.sum(axis=0),
    )


def _check_ringing(
    labels: tuple[str, ...], names: tuple[str, ...], loss_factor: NDArray[np.float64]
) -> None:
    """Refuse modes without loss, and with too much; rows of the factors are mechanisms."""
    for label, each in zip(labels, loss_factor.T, strict=True):
        eta = float(each.sum())
        if eta <= 0:
            raise LossError(
                f"losses: expected some loss in every mode, got none in {label}.",
                hint="Switch on more mechanisms in [losses].",
            )
        if eta >= 1:
            most = int(np.argmax(each))
            raise LossError(
                f"losses: expected modes that ring, got a loss factor of {eta:.3g} in {label}, "
                f"{each[most]:.3g} of it by {names[most]}.",
                hint="Widen the gaps, or make plates and poles smaller.",
            )
