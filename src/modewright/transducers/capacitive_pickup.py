"""A DC-biased plate under the sheet that hears its motion.

The plate faces the lower face of the sheet, so that a sheet moving up (+z) widens the gap. The
polarity of the bias is chosen so that an upward motion gives a positive voltage.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, ClassVar

import numpy as np

from modewright.errors import TransducerError
from modewright.parameters import Fault, quantity, section, text
from modewright.transducers.coverage import covered_points
from modewright.transducers.gap import (
    EPSILON_0,
    BiasedGap,
    Gap,
    normal_displacement,
    tilted_gap_m,
)
from modewright.transducers.guard import Guard
from modewright.transducers.plate import (
    DiscPlate,
    DrawnPlate,
    Plate,
    PolygonPlate,
    RectanglePlate,
)
from modewright.transducers.preamp import ChargeAmplifier, Follower, Preamp

if TYPE_CHECKING:
    from collections.abc import Iterable

    from modewright.geometry.blank import NamedPoint
    from modewright.geometry.sketch import NamedArea
    from modewright.modes.basis import ModeShapes
    from modewright.transducers.underside import Underside

__all__ = ["CapacitivePickup", "fringe_factor", "pickup_gap", "placed_pickup"]

_THIN_GAP_RATIO = 0.5


@dataclass(frozen=True, slots=True, kw_only=True)
class CapacitivePickup:
    """Capacitive pickup: a plate, its gap, its bias and its preamplifier."""

    kind: ClassVar[str] = "capacitive"

    name: str = text("Name of the pickup.", default="pickup")
    plate: Plate | DrawnPlate = section(
        "The plate under the sheet; it may reach across slots.",
        RectanglePlate,
        PolygonPlate,
        DiscPlate,
        DrawnPlate,
    )
    gap_m: float = quantity(
        "m",
        "Air gap between body and plate at the centroid of the plate.",
        default=0.5e-3,
        show="mm",
        above=0.0,
        plausible=(1e-5, 5e-3),
    )
    tilt_x: float = quantity(
        "1", "Growth of the gap per length along x.", default=0.0, plausible=(-0.1, 0.1)
    )
    tilt_y: float = quantity(
        "1", "Growth of the gap per length along y.", default=0.0, plausible=(-0.1, 0.1)
    )
    bias_v: float = quantity(
        "V", "Bias voltage across the gap.", default=100.0, above=0.0, plausible=(1.0, 500.0)
    )
    bias_resistance_ohm: float = quantity(
        "ohm",
        "Resistor through which the bias reaches the plate.",
        default=1e10,
        show="Gohm",
        above=0.0,
        plausible=(1e6, 1e13),
    )
    stray_capacitance_f: float = quantity(
        "F",
        "Capacitance of plate, lead and input to everything but the sheet.",
        default=10e-12,
        show="pF",
        at_least=0.0,
        plausible=(0.0, 1e-9),
    )
    guard: Guard | None = section(
        "Copper around the plate at the plate's potential; none if left out.", Guard, default=None
    )
    preamp: Preamp = section("The preamplifier.", Follower, ChargeAmplifier, default=Follower())

    @property
    def placed_plate(self) -> Plate:
        """The plate with its place; see `placed_pickup`.

        Raises
        ------
        TransducerError
            If it still waits for its drawing.
        """
        if isinstance(self.plate, DrawnPlate):
            raise TransducerError(
                f"{self.name}: expected a plate with a place, got one that only a drawing has.",
                hint="Give the plate as a rectangle, disc or polygon.",
            )
        return self.plate

    def problems(self) -> Iterable[Fault]:
        """Return what is wrong between the fields."""
        plate = self.plate
        if isinstance(plate, DrawnPlate):
            return  # nobody knows its size before the drawing is read
        if isinstance(plate, PolygonPlate) and list(plate.problems()):
            return  # the plate has said itself what is wrong with it
        area = plate.area_points()
        edge = plate.loop.vertices_m - area.centroid_m
        reach = np.linalg.norm(edge, axis=1).max() if isinstance(plate, DiscPlate) else None
        tilt = np.array([self.tilt_x, self.tilt_y])
        fall = reach * np.linalg.norm(tilt) if reach is not None else -(edge @ tilt).min()
        if fall >= self.gap_m:
            yield Fault(
                key="gap",
                expected=f"more than {fall * 1e3:.3g} mm, which the tilt takes at one edge",
                got=f"{self.gap_m * 1e3:.3g} mm",
                hint="Widen the gap or set the plate straight.",
            )


def placed_pickup(
    pickup: CapacitivePickup, areas: tuple[NamedArea, ...], points: tuple[NamedPoint, ...] = ()
) -> CapacitivePickup:
    """The pickup with its plate where the drawing, or the place that it counts from, puts it.

    Parameters
    ----------
    pickup : CapacitivePickup
    areas : tuple of NamedArea
        Pickup plates of the drawing.
    points : tuple of NamedPoint
        Named places of the resonator.

    Returns
    -------
    CapacitivePickup
        The same one if its plate has dimensions and a place of its own.

    Raises
    ------
    TransducerError
        If the drawing has no such plate, the resonator no such place, or the tilt closes the gap
        over it.
    """
    if isinstance(pickup.plate, RectanglePlate | DiscPlate):
        return replace(pickup, plate=pickup.plate.standing(points)) if pickup.plate.at else pickup
    if not isinstance(pickup.plate, DrawnPlate):
        return pickup
    placed = replace(pickup, plate=pickup.plate.placed(areas))
    for fault in placed.problems():
        raise TransducerError(
            f"{pickup.name}: {fault.key}: expected {fault.expected}, got {fault.got}.",
            hint=fault.hint,
        )
    return placed


def pickup_gap(
    pickup: CapacitivePickup, shapes: ModeShapes, underside: Underside | None = None
) -> BiasedGap:
    """Gap of a pickup in the modes of a body, unbent.

    Parameters
    ----------
    pickup : CapacitivePickup
    shapes : ModeShapes
        Mass-normalised.
    underside : Underside, optional
        Lower face of the body. Where it does not cover the plate there is no gap; where it lies
        higher than over the plate's centroid, as in an arch, the gap is wider. Without it the face
        is level and the plate must be covered wholly.

    Returns
    -------
    BiasedGap
        Its permeance is the capacitance.

    Raises
    ------
    TransducerError
        If the sheet covers nothing of the plate or, with no sheet given, not all of it.
    """
    plate = pickup.placed_plate
    area = covered_points(pickup.name, plate, None if underside is None else underside.plan)
    tilt = (pickup.tilt_x, pickup.tilt_y)
    centroid = plate.area_points().centroid_m
    width_m = tilted_gap_m(area, pickup.gap_m, tilt, centroid)
    if underside is not None:
        width_m = width_m + underside.height_m(area.points_m) - underside.height_m(centroid[None])
        _check_clear(pickup, float(width_m.min()))
    gap = Gap(
        weight_m2=area.weight_m2,
        gap_m=width_m,
        opening=normal_displacement(pickup.name, shapes, area),
        per_m=EPSILON_0,
    )
    return BiasedGap(name=pickup.name, gap=gap, bias=pickup.bias_v, key="bias")


def _check_clear(pickup: CapacitivePickup, least_m: float) -> None:
    """A level plate under an arch may meet the metal beside its middle."""
    if least_m <= 0:
        raise TransducerError(
            f"{pickup.name}: expected a plate clear of the body, got one that would stand "
            f"{-least_m * 1e3:.3f} mm inside it.",
            hint="Widen the gap, make the plate smaller, or cut the arch into the other face.",
            key="gap",
        )


def fringe_factor(length_m: float, width_m: float, gap_m: float) -> float:
    """How much larger a rectangular capacitor is than the field between its faces alone.

    Parameters
    ----------
    length_m, width_m : float
        Sides of the smaller face. [m]
    gap_m : float
        < half of the shorter side. [m]

    Returns
    -------
    float
        For information: the other results leave fringing out.

    Raises
    ------
    ValueError
        If the gap is too wide for the formula.

    References
    ----------
    H. B. Palmer, The capacitance of a parallel-plate capacitor by the Schwarz–Christoffel
    transformation, Trans. AIEE 56 (1937) 363 (from memory).
    """
    if gap_m > _THIN_GAP_RATIO * min(length_m, width_m):
        raise ValueError(f"gap_m: expected at most half of the shorter side, got {gap_m}")

    def side(length: float) -> float:
        ratio = gap_m / (np.pi * length)
        return float(1 + ratio * (1 + np.log(2 / ratio)))

    return side(length_m) * side(width_m)
