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
from modewright.transducers.guard import Guard
from modewright.transducers.perforation import Perforation
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

__all__ = ["CapacitivePickup", "placed_pickup"]


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
    leakage_resistance_ohm: float | None = quantity(
        "ohm",
        "Resistance of a damp or dirty board from the plate to earth; none if left out.",
        default=None,
        show="Gohm",
        above=0.0,
        plausible=(1e6, 1e15),
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
    holes: Perforation | None = section(
        "Holes through the plate that let the air of the gap out; none if left out.",
        Perforation,
        default=None,
    )
    preamp: Preamp = section("The preamplifier.", Follower, ChargeAmplifier, default=Follower())

    @property
    def node_resistance_ohm(self) -> float:
        """Bias resistor and leakage side by side. [ohm]"""
        leak = self.leakage_resistance_ohm
        if leak is None:
            return self.bias_resistance_ohm
        return 1 / (1 / self.bias_resistance_ohm + 1 / leak)

    @property
    def held_bias_v(self) -> float:
        """What the leakage leaves of the bias on the plate. [V]"""
        leak = self.leakage_resistance_ohm
        return (
            self.bias_v
            if leak is None
            else self.bias_v * self.node_resistance_ohm / (self.bias_resistance_ohm)
        )

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
