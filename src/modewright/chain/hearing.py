"""From the damped modes to pickups and drivers at their operating point, with their figures."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from modewright.chain.air_gaps import film_changes
from modewright.chain.body import Body, moves_at
from modewright.chain.lying import check_lies_still
from modewright.loop.plant import reference_scale
from modewright.materials.air import air_at
from modewright.transducers.figures import (
    DriverFigures,
    PickupFigures,
    driver_figures,
    pickup_figures,
)
from modewright.transducers.operating_point import (
    OperatingPoint,
    find_operating_point,
    keyed_faults,
)
from modewright.transducers.ports import drive_limits, driver_port, pickup_port
from modewright.transducers.swing import largest_swings
from modewright.transducers.underside import underside_of

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.design.schema import Design
    from modewright.modes.basis import ModalBasis
    from modewright.transducers.driver import Driver
    from modewright.transducers.driver_action import DriverAction
    from modewright.transducers.electronics import Amplifier
    from modewright.transducers.gap import BiasedGap
    from modewright.transducers.port import DriverPort, PickupPort

__all__ = ["HeardPickup", "Hearing", "PushingDriver", "analyse_hearing", "operating_point_of"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class HeardPickup:
    """A pickup as the loop sees it and as its maker judges it."""

    port: PickupPort
    figures: PickupFigures


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PushingDriver:
    """A driver as the loop sees it and as its maker judges it.

    Parameters
    ----------
    port : DriverPort
    figures : DriverFigures
    force_n_per_drive : float array, shape (modes,)
        Force on each mode per drive, as if it acted at the reference point. [N/A or N/V]
    """

    port: DriverPort
    figures: DriverFigures
    force_n_per_drive: NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Hearing:
    """The biased body with everything that hears and pushes it.

    Parameters
    ----------
    operating_point : OperatingPoint
    reference_per_sqrt_kg : float array, shape (modes,)
        Displacement of the reference point per modal coordinate, kept from zero. [1/sqrt(kg)]
    touch_level_m : float array, shape (modes,)
        Peak displacement of the reference point from which the sheet no longer swings back,
        because it touches a plate or pole, snaps onto it or is at the end of a driver's stroke;
        each mode alone, infinite if nothing bounds it. [m]
    moves_at_reference : bool array, shape (modes,)
        Whether the mode moves at the reference point; figures that refer to it mean nothing else.
    pickups : tuple of HeardPickup
    drivers : tuple of PushingDriver
    """

    operating_point: OperatingPoint
    reference_per_sqrt_kg: NDArray[np.float64]
    touch_level_m: NDArray[np.float64]
    moves_at_reference: NDArray[np.bool_]
    pickups: tuple[HeardPickup, ...]
    drivers: tuple[PushingDriver, ...]


def operating_point_of(design: Design, body: Body) -> OperatingPoint:
    """Find where a body rests under bias and magnets, and how its modes sound there.

    Parameters, result and errors as for `analyse_hearing`. Air films are those of the bent body.
    """
    air = air_at(body.material.temperature_k)
    point = find_operating_point(
        body.basis,
        body.pickups,
        body.drivers,
        design.electronics.amplifier,
        body.material.magnetism,
        underside_of(body.blank),
        saturation_t=body.material.saturation_t.value,
        solid=body.material.solid,
        is_free=body.blank.hold is None,
        at_rest=lambda coordinate: film_changes(body.films, body.basis, air, coordinate),
    )
    check_lies_still(body, point)
    return point


def analyse_hearing(design: Design, body: Body) -> Hearing:
    """Find the operating point and the figures of every pickup and driver.

    Parameters
    ----------
    design : Design
    body : Body
        Of that design.

    Returns
    -------
    Hearing

    Raises
    ------
    TransducerError
        If the sheet snaps over, or a driver cannot act on it; with a key of the design file.
    BodyError
        If the sheet touches the edge of a plate or pole.
    """
    amplifier = design.electronics.amplifier
    point = operating_point_of(design, body)
    basis = point.basis
    reference = reference_scale(basis, body.reference.point_m)
    temperature_k = body.material.temperature_k
    pickups = tuple(
        HeardPickup(
            port=pickup_port(pickup, biased, basis, temperature_k=temperature_k),
            figures=pickup_figures(
                pickup, biased, basis, body.reference.point_m, temperature_k=temperature_k
            ),
        )
        for pickup, biased in zip(body.pickups, point.pickup_gaps, strict=True)
    )
    drivers = tuple(
        _pushing(number, driver, action, gap, amplifier, basis, reference)
        for number, (driver, action, gap) in enumerate(
            zip(body.drivers, point.driver_actions, point.driver_gaps, strict=True), 1
        )
    )
    return Hearing(
        operating_point=point,
        reference_per_sqrt_kg=reference,
        touch_level_m=_touch_level_m(point, reference),
        moves_at_reference=moves_at(basis.shapes, body.reference.point_m),
        pickups=pickups,
        drivers=drivers,
    )


def _pushing(
    number: int,
    driver: Driver,
    action: DriverAction,
    gap: BiasedGap | None,
    amplifier: Amplifier,
    basis: ModalBasis,
    reference: NDArray[np.float64],
) -> PushingDriver:
    with keyed_faults(f"drivers[{number}]"):
        limits = drive_limits(driver, action, amplifier, float(basis.freq_hz[0]))
    return PushingDriver(
        port=driver_port(driver, action, amplifier, limits, basis.freq_hz),
        figures=driver_figures(driver, action, gap, limits, float(basis.freq_hz[0])),
        force_n_per_drive=action.force_per_drive / reference,
    )


def _touch_level_m(point: OperatingPoint, reference: NDArray[np.float64]) -> NDArray[np.float64]:
    swings = largest_swings(point.elastic_per_s2, point.pulling_gaps)
    for action in point.driver_actions:
        swings = np.minimum(swings, action.stroke_swings)
    return swings * np.abs(reference)
