"""The gap between a plate or pole and the vibrating sheet, and its energy.

A biased pickup plate and a biased pole piece are the same thing: two faces that attract each other
across a gap. With the bias X (voltage, or magnetomotive force) and the permeance
``P(q) = κ ∫ dA/(g + ψ·q)`` (capacitance, κ = ε0; or magnetic permeance, κ = µ0) the co-energy is
``½ X² P(q)``, and every force, stiffness and signal follows from its derivatives with respect to
the modal coordinates q: nothing is counted twice. The field at a rim is a row of further points
whose gap is partly filled, see `modewright.transducers.fringe`.

References
----------
Woodson & Melcher, Electromechanical Dynamics, 1968, ch. 3 (forces from co-energy); Senturia,
Microsystem Design, 2001, ch. 6.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
from scipy.constants import epsilon_0, mu_0

from modewright.checks import check_positive, check_shape, frozen_array
from modewright.errors import GeometryError, TransducerError

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.modes.basis import ModeShapes
    from modewright.transducers.plate import AreaPoints

__all__ = ["EPSILON_0", "MU_0", "BiasedGap", "Gap", "normal_displacement", "tilted_gap_m"]

EPSILON_0 = float(epsilon_0)
MU_0 = float(mu_0)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Gap:
    """Two facing areas, one of which moves with the modes.

    Parameters
    ----------
    weight_m2 : float array, shape (points,)
        Area that each integration point stands for. [m²]
    gap_m : float array, shape (points,)
        Width of the gap at rest, > 0, with what fills part of it for good. [m]
    opening : float array, shape (points, modes)
        How much each modal coordinate widens the gap. [1/sqrt(kg)]
    per_m : float
        κ: vacuum permittivity or permeability. [F/m or H/m]
    filled_m : float or float array, shape (points,)
        Part of `gap_m` that is no air, such as the way through iron as a length of air: the faces
        touch when no more than that is left. [m]
    rim_points : int
        How many of the points, the last ones, stand for the field at the rim; their weight is no
        area.
    rim_method : str
        Where they come from.
    """

    weight_m2: NDArray[np.float64]
    gap_m: NDArray[np.float64]
    opening: NDArray[np.float64]
    per_m: float
    filled_m: float | NDArray[np.float64] = 0.0
    rim_points: int = 0
    rim_method: str = "none"

    def __post_init__(self) -> None:
        for name in ("weight_m2", "gap_m", "opening", "filled_m"):
            object.__setattr__(self, name, frozen_array(getattr(self, name)))
        check_positive(self.gap_m, "gap_m")
        check_shape(self.opening, "opening", (len(self.gap_m), None))

    @property
    def touch_coordinate(self) -> NDArray[np.float64]:
        """Amplitude of each mode alone at which the sheet touches, shape (modes,). [m sqrt(kg)]"""
        with np.errstate(divide="ignore"):
            return (self.air_m[:, None] / np.abs(self.opening)).min(axis=0)

    @property
    def air_m(self) -> NDArray[np.float64]:
        """Way that each point can go before the faces touch, shape (points,). [m]"""
        return self.gap_m - self.filled_m

    @property
    def permeance(self) -> float:
        """P = κ ∫ dA/g: capacitance [F] or magnetic permeance [H]."""
        return self.per_m * float(np.sum(self.weight_m2 / self.gap_m))

    @property
    def facing(self) -> Gap:
        """The gap without the field at its rim."""
        count = len(self.gap_m) - self.rim_points
        return replace(
            self,
            weight_m2=self.weight_m2[:count],
            gap_m=self.gap_m[:count],
            opening=self.opening[:count],
            filled_m=np.broadcast_to(self.filled_m, len(self.gap_m))[:count],
            rim_points=0,
            rim_method="none",
        )

    @property
    def slope(self) -> NDArray[np.float64]:
        """dP/dq, shape (modes,). [F or H per m sqrt(kg)]"""
        return -self.per_m * (self.weight_m2 / self.gap_m**2) @ self.opening

    @property
    def curvature(self) -> NDArray[np.float64]:
        """d²P/dq dq, shape (modes, modes). [F or H per m² kg]"""
        weighted = self.opening * (self.weight_m2 / self.gap_m**3)[:, None]
        return 2 * self.per_m * weighted.T @ self.opening

    @property
    def even_lift(self) -> tuple[float, float, float]:
        """First three derivatives of P for an even widening of the gap. [1/m, 1/m², 1/m³]"""
        w, g = self.weight_m2, self.gap_m
        first, second, third = (float(np.sum(w / g**n)) for n in (2, 3, 4))
        return -self.per_m * first, 2 * self.per_m * second, -6 * self.per_m * third

    @property
    def mean_opening(self) -> NDArray[np.float64]:
        """Mean of `opening` over the area, shape (modes,). [1/sqrt(kg)]"""
        facing = self.facing
        return facing.weight_m2 @ facing.opening / facing.weight_m2.sum()

    def moved(self, coordinate: NDArray[np.float64]) -> Gap:
        """Gap with the sheet held at these modal coordinates.

        Raises
        ------
        ValueError
            If the faces would touch.
        """
        return replace(self, gap_m=self.gap_m + self.opening @ coordinate)

    def recombined(self, mixing: NDArray[np.float64]) -> Gap:
        """Gap expressed in the coordinates of recombined modes; see `ModeShapes.recombined`."""
        return replace(self, opening=self.opening @ mixing)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class BiasedGap:
    """A gap with the bias that stands across it.

    Parameters
    ----------
    name : str
        Name of the transducer.
    gap : Gap
    bias : float
        Voltage [V] or magnetomotive force [A].
    key : str
        Key of the design file that sets the bias.
    """

    name: str
    gap: Gap
    bias: float
    key: str = ""

    @property
    def force(self) -> NDArray[np.float64]:
        """Static modal force ½ X² dP/dq at constant bias, shape (modes,). [N/sqrt(kg)]"""
        return self.bias**2 / 2 * self.gap.slope

    @property
    def stiffness(self) -> NDArray[np.float64]:
        """Modal stiffness -½ X² d²P/dq² at constant bias, never positive. [1/s²]"""
        return -(self.bias**2) / 2 * self.gap.curvature

    @property
    def pull_n(self) -> float:
        """Force that closes the gap, > 0. [N]"""
        return -(self.bias**2) / 2 * self.gap.even_lift[0]

    def moved(self, coordinate: NDArray[np.float64]) -> BiasedGap:
        """As `Gap.moved`."""
        return replace(self, gap=self.gap.moved(coordinate))

    def recombined(self, mixing: NDArray[np.float64]) -> BiasedGap:
        """As `Gap.recombined`."""
        return replace(self, gap=self.gap.recombined(mixing))

    def with_bias(self, bias: float) -> BiasedGap:
        """Same gap under another bias."""
        return replace(self, bias=bias)


def tilted_gap_m(
    area: AreaPoints,
    gap_m: float,
    tilt: tuple[float, float],
    pivot_m: NDArray[np.float64],
) -> NDArray[np.float64]:
    """Width of a tilted gap at the integration points.

    Parameters
    ----------
    area : AreaPoints
    gap_m : float
        At the pivot. [m]
    tilt : tuple of two floats
        Growth of the gap per length along x and y.
    pivot_m : float array, shape (2,)
        Centroid of the whole plate or pole, covered or not. [m]

    Returns
    -------
    float array, shape (points,)
        [m]
    """
    return gap_m + (area.points_m - pivot_m) @ np.asarray(tilt)


def normal_displacement(name: str, shapes: ModeShapes, area: AreaPoints) -> NDArray[np.float64]:
    """Displacement of the sheet along z over an area, per modal coordinate.

    Parameters
    ----------
    name : str
        Transducer named in the error.
    shapes : ModeShapes
    area : AreaPoints

    Returns
    -------
    float array, shape (points, modes)
        [1/sqrt(kg)]

    Raises
    ------
    TransducerError
        If part of the area does not face the sheet.
    """
    try:
        return shapes.displacement(area.points_m)[:, 2, :]
    except GeometryError as error:
        raise TransducerError(
            f"{name}: expected an area that faces the sheet everywhere. {error.message}",
            hint="Move it or make it smaller.",
        ) from error
