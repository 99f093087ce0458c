"""The modes of a body, whatever they were computed or measured from.

Nothing downstream of this module knows what kind of body it serves.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Protocol

import numpy as np

from modewright.checks import check_positive, check_shape, frozen_array
from modewright.decay import DECAY_60_DB

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["BendingStrain", "ModalBasis", "ModeShapes", "Modes", "modal_mass_kg"]


class ModeShapes(Protocol):
    """Mass-normalised mode shapes that can be read at any place of the body."""

    @property
    def mode_count(self) -> int:
        """Number of modes."""
        ...

    def displacement(self, points_m: NDArray[np.float64]) -> NDArray[np.float64]:
        """Displacement per modal coordinate at places on the listening (lower) face.

        Parameters
        ----------
        points_m : float array, shape (points, 2)
            Places in the plane of the sheet. [m]

        Returns
        -------
        float array, shape (points, 3, modes)
            Components x, y, z. [1/sqrt(kg)]

        Raises
        ------
        GeometryError
            If a place lies off the body; names its coordinates.
        """
        ...

    def slope(self, points_m: NDArray[np.float64]) -> NDArray[np.float64]:
        """Slopes of the displacement in the plane of the sheet.

        Parameters
        ----------
        points_m : float array, shape (points, 2)
            [m]

        Returns
        -------
        float array, shape (points, 3 components, 2 directions, modes)
            [1/(m sqrt(kg))]
        """
        ...

    @property
    def middle(self) -> ModeShapes:
        """Shapes of the middle plane, read at the same places.

        Its motion is the mean of both faces', which carries the momentum of the sheet: the lower
        face alone slides to and fro as the sheet bends, and swings sideways as it twists.
        """
        ...

    @property
    def peak(self) -> NDArray[np.float64]:
        """Largest displacement of each mode anywhere, shape (modes,). [1/sqrt(kg)]"""
        ...

    def recombined(self, mixing: NDArray[np.float64]) -> ModeShapes:
        """Shapes of new modes, column j being the sum of old ones weighted by ``mixing[:, j]``."""
        ...


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class BendingStrain:
    """What thermoelastic and material damping need to know of the strain of each mode.

    Parameters
    ----------
    thickness_m : float array, shape (thicknesses,)
        Each sheet thickness that occurs in the body. [m]
    dilatation_per_pa : float array, shape (thicknesses, modes)
        Integral over the parts of that thickness of the squared volumetric strain that is odd
        through the thickness, divided by twice the strain energy of the whole mode. [1/Pa]
    """

    thickness_m: NDArray[np.float64]
    dilatation_per_pa: NDArray[np.float64]

    def __post_init__(self) -> None:
        object.__setattr__(self, "thickness_m", frozen_array(self.thickness_m))
        object.__setattr__(self, "dilatation_per_pa", frozen_array(self.dilatation_per_pa))
        check_shape(self.dilatation_per_pa, "dilatation_per_pa", (len(self.thickness_m), None))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Modes:
    """Undamped modes in rising order of frequency.

    Parameters
    ----------
    freq_hz : float array, shape (modes,)
        Natural frequencies, > 0; rigid-body motions are left out. [Hz]
    error_cents : float array, shape (modes,)
        Estimate of the discretisation error of each frequency, >= 0. [cents]
    labels : tuple of str, length modes
        Such as ``bending 1``.
    shapes : ModeShapes
        Mass-normalised.
    bending : BendingStrain
        Strain measures of each mode.
    body_mass_kg : float
        Mass of the body with what is attached to it. [kg]
    source : str
        How they were found, such as ``solid elements, normal``.
    """

    freq_hz: NDArray[np.float64]
    error_cents: NDArray[np.float64]
    labels: tuple[str, ...]
    shapes: ModeShapes
    bending: BendingStrain
    body_mass_kg: float
    source: str

    def __post_init__(self) -> None:
        object.__setattr__(self, "freq_hz", frozen_array(self.freq_hz))
        object.__setattr__(self, "error_cents", frozen_array(self.error_cents))
        check_positive(self.freq_hz, "freq_hz")
        check_shape(self.error_cents, "error_cents", (len(self.freq_hz),))

    def first(self, count: int) -> Modes:
        """The lowest `count` of these modes."""
        keep = np.eye(len(self.freq_hz))[:, :count]
        bending = BendingStrain(
            thickness_m=self.bending.thickness_m,
            dilatation_per_pa=self.bending.dilatation_per_pa[:, :count],
        )
        return replace(
            self,
            freq_hz=self.freq_hz[:count],
            error_cents=self.error_cents[:count],
            labels=self.labels[:count],
            shapes=self.shapes.recombined(keep),
            bending=bending,
        )

    def with_freq(self, freq_hz: NDArray[np.float64]) -> Modes:
        """The same modes at other frequencies. [Hz]"""
        return replace(self, freq_hz=freq_hz)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ModalBasis:
    """Modes with their damping: all that transducers, loops and sound need of a body.

    Each mode obeys ``q'' + 2 ζ ω q' + ω² q = f`` with the mass-normalised coordinate q [m sqrt(kg)]
    and the modal force f = φ·F [N/sqrt(kg)]; the displacement of a place is ``Σ φ q``.

    Parameters
    ----------
    freq_hz : float array, shape (modes,)
        Undamped natural frequencies ω/2π, rising. [Hz]
    damping_ratio : float array, shape (modes,)
        ζ of each mode, 0 < ζ < 1; 1/Q = 2 ζ.
    shapes : ModeShapes
        Mass-normalised, mode by mode.
    labels : tuple of str, length modes
        Names of the modes.
    """

    freq_hz: NDArray[np.float64]
    damping_ratio: NDArray[np.float64]
    shapes: ModeShapes
    labels: tuple[str, ...]

    def __post_init__(self) -> None:
        object.__setattr__(self, "freq_hz", frozen_array(self.freq_hz))
        object.__setattr__(self, "damping_ratio", frozen_array(self.damping_ratio))
        check_positive(self.freq_hz, "freq_hz")
        check_positive(self.damping_ratio, "damping_ratio")
        check_shape(self.damping_ratio, "damping_ratio", (len(self.freq_hz),))

    @property
    def omega_rad_s(self) -> NDArray[np.float64]:
        """Undamped angular frequencies. [rad/s]"""
        return 2 * np.pi * self.freq_hz

    @property
    def q(self) -> NDArray[np.float64]:
        """Quality factor of each mode."""
        return 1 / (2 * self.damping_ratio)

    @property
    def t60_s(self) -> NDArray[np.float64]:
        """Time in which each mode decays by 60 dB. [s]

        T60 = 3 ln 10 / (ζ ω), Cremer & Heckl, Structure-Borne Sound, ch. III.
        """
        return DECAY_60_DB / (self.damping_ratio * self.omega_rad_s)


def modal_mass_kg(shapes: ModeShapes, point_m: tuple[float, float]) -> NDArray[np.float64]:
    """Mass that, moving like this point, holds the kinetic energy of each mode. [kg]

    The square of the largest displacement component at the point is not used: motion is referred
    to the direction normal to the sheet, in which pickups listen.

    Parameters
    ----------
    shapes : ModeShapes
        Mass-normalised shapes.
    point_m : tuple of two floats
        Reference point on the sheet. [m]

    Returns
    -------
    float array, shape (modes,)
        ``1/φ_z²``; infinite for a mode that has a node there. [kg]
    """
    normal = shapes.displacement(np.array([point_m]))[0, 2]
    with np.errstate(divide="ignore"):
        return 1 / normal**2
