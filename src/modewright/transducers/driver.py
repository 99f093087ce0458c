"""What every driver answers."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Protocol, Self, runtime_checkable

import numpy as np

from modewright.errors import TransducerError
from modewright.geometry.measures import centroid_m, signed_area_m2
from modewright.parameters import Fault

if TYPE_CHECKING:
    from collections.abc import Iterable

    from modewright.geometry.blank import AttachedMass, NamedPoint
    from modewright.geometry.loop import Loop
    from modewright.geometry.sketch import NamedArea
    from modewright.materials.model import Magnetism
    from modewright.materials.solid import IsotropicSolid
    from modewright.modes.basis import ModeShapes
    from modewright.transducers.driver_action import DriverAction
    from modewright.transducers.gap import BiasedGap

__all__ = [
    "AT_DOC",
    "OFFSET_DOC",
    "Choosy",
    "Driver",
    "DriverSpot",
    "PoleFace",
    "SheetSpot",
    "attached_masses",
    "known_position_m",
    "named_spot",
    "position_faults",
]

AT_DOC = (
    "In place of a position: a named place of the resonator, or a point or closed area on a DRIVER "
    "layer of its drawing."
)
OFFSET_DOC = "How far from the place named under `at` it stands."


@dataclass(frozen=True, slots=True, kw_only=True)
class DriverSpot:
    """Where a named place puts a driver.

    Parameters
    ----------
    centre_m : tuple of two floats
        [m]
    diameter_m : float or None
        Of the disc as large as the area; None for a point. [m]
    """

    centre_m: tuple[float, float]
    diameter_m: float | None

    def moved(self, by_m: tuple[float, float]) -> DriverSpot:
        """The place so far from this one. [m]"""
        x, y = self.centre_m
        return replace(self, centre_m=(x + by_m[0], y + by_m[1]))


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetSpot:
    """The sheet where a driver acts.

    Parameters
    ----------
    thickness_m : float
        [m]
    saturation_t : float
        Flux density at which it saturates. [T]
    solid : IsotropicSolid or None
        What it is made of; None if only magnetism counts.
    """

    thickness_m: float
    saturation_t: float
    solid: IsotropicSolid | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class PoleFace:
    """Flat face of a driver close to the sheet, with air between.

    Parameters
    ----------
    centre_m : tuple of two floats
        [m]
    diameter_m : float
        Of the disc where it and what it faces overlap. [m]
    pole_diameter_m : float
        Of the face itself. [m]
    gap_m : float
        Air, with the body at rest as drawn. [m]
    is_above : bool
        On which side of the sheet it stands.
    faces_armature : bool
        Whether it faces a disc on the sheet in place of the sheet.
    """

    centre_m: tuple[float, float]
    diameter_m: float
    pole_diameter_m: float
    gap_m: float
    is_above: bool
    faces_armature: bool


class Driver(Protocol):
    """Section of the design file that describes one driver."""

    @property
    def name(self) -> str:
        """Name from the design."""
        ...

    @property
    def at(self) -> str:
        """Named place that it stands at; empty if it has a position of its own."""
        ...

    @property
    def offset_m(self) -> tuple[float, float]:
        """How far from that place it stands. [m]"""
        ...

    @property
    def place_m(self) -> tuple[float, float]:
        """Place on the sheet under its centre. [m]

        Raises
        ------
        TransducerError
            If it still waits for the place that it names.
        """
        ...

    @property
    def face_diameter_m(self) -> float:
        """Diameter of the disc over which it acts. [m]"""
        ...

    def placed(self, spot: DriverSpot) -> Self:
        """The same driver at a named place; a size of its own counts before that of the place."""
        ...

    @property
    def face(self) -> Loop:
        """Outline of what acts, for drawings."""
        ...

    @property
    def parts_text(self) -> str:
        """What to order, in a few words."""
        ...

    @property
    def masses(self) -> tuple[AttachedMass, ...]:
        """What it fixes to the sheet."""
        ...

    @property
    def pole_face(self) -> PoleFace | None:
        """What squeezes the air between it and the sheet; None if nothing does."""
        ...

    def biased_gap(self, shapes: ModeShapes, magnetism: Magnetism) -> BiasedGap | None:
        """Gap with its magnetic bias at the unbent position; None if nothing pulls at rest.

        Raises
        ------
        TransducerError
            If the driver cannot act on a sheet of that magnetism.
        """
        ...

    def action(
        self, shapes: ModeShapes, biased: BiasedGap | None, sheet: SheetSpot | None = None
    ) -> DriverAction:
        """Figures at the operating point, where the gap is `biased` and the pole over `sheet`.

        Without a sheet only the iron of the driver itself saturates.
        """
        ...


@runtime_checkable
class Choosy(Protocol):
    """A driver that not every sheet suits."""

    def check_sheet(self, magnetism: Magnetism) -> None:
        """Refuse a sheet that it cannot act on.

        Raises
        ------
        TransducerError
            With what would do.
        """
        ...


def attached_masses(drivers: tuple[Driver, ...]) -> tuple[AttachedMass, ...]:
    """Everything that the drivers fix to the sheet, to be added before its modes are solved."""
    return tuple(mass for driver in drivers for mass in driver.masses)


def position_faults(position_m: tuple[float, float] | None, at: str) -> Iterable[Fault]:
    """Return the fault of a driver that has no place or two."""
    if position_m is None and not at:
        yield Fault(
            key="position",
            expected='a place such as ["40 mm", "0 mm"], or the name of one under "at"',
            got="neither",
        )
    if position_m is not None and at:
        yield Fault(
            key="at", expected='either "position" or "at"', got="both", hint="Leave one out."
        )


def known_position_m(name: str, position_m: tuple[float, float] | None) -> tuple[float, float]:
    """Position of a driver that has been placed. [m]

    Raises
    ------
    TransducerError
        If it still waits for the place that it names.
    """
    if position_m is None:
        raise TransducerError(
            f"{name}: expected a driver with a position, got one that names a place of the "
            "resonator.",
            hint="Give its position.",
        )
    return position_m


def named_spot(
    at: str, points: tuple[NamedPoint, ...], areas: tuple[NamedArea, ...]
) -> DriverSpot | None:
    """Look a named place up.

    Parameters
    ----------
    at : str
        Name of an area or a point.
    points : tuple of NamedPoint
        Named places of the resonator, points on DRIVER layers among them.
    areas : tuple of NamedArea
        Closed areas on DRIVER layers.

    Returns
    -------
    DriverSpot or None
        None if nothing bears this name. An area stands for the disc of the same size around its
        centroid.
    """
    for area in areas:
        if area.name == at:
            x, y = centroid_m(area.loop).tolist()
            diameter = 2 * float(np.sqrt(abs(signed_area_m2(area.loop)) / np.pi))
            return DriverSpot(centre_m=(x, y), diameter_m=diameter)
    for point in points:
        if point.name == at:
            return DriverSpot(centre_m=point.point_m, diameter_m=None)
    return None
