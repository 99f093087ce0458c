"""What a design's surroundings and driver put beside the sound of its modes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from modewright.chain.closed_loop import chosen_driver, chosen_pickup
from modewright.checks import frozen_array
from modewright.transducers.disturbances import (
    Disturbance,
    Feedthrough,
    capacitive_through_v,
    magnetic_through_v,
    nearest_harmonic,
    steady,
)
from modewright.transducers.electromagnet import BiasedElectromagnet
from modewright.transducers.magnet_coil import MagnetAndCoil
from modewright.transducers.stage import path_response
from modewright.transducers.stray_coupling import (
    dipole_mutual_inductance_h,
    disc_mutual_capacitance_f,
    guard_residue,
)

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.chain.body import Body
    from modewright.chain.hearing import Hearing
    from modewright.design.schema import Design
    from modewright.loop.close import ClosedLoop
    from modewright.transducers.capacitive_pickup import CapacitivePickup
    from modewright.transducers.driver import Driver
    from modewright.transducers.surroundings import Surroundings

__all__ = ["Disturbances", "analyse_disturbances"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Disturbances:
    """Disturbances of the pickup that feeds the loop, held against the modes that it treats.

    Parameters
    ----------
    modes : int array, shape (treated,)
        Counted from 0.
    freq_hz, level_m, signal_v : float arrays, shape (treated,)
        Of each treated mode: frequency, level that it is held at, and root mean square voltage
        that it makes then at the preamplifier. [Hz], [m], [V]
    harmonic : int array, shape (treated,)
        Number of the harmonic of the mains that is nearest to the mode.
    harmonic_cents : float array, shape (treated,)
        How far above the mode it lies. [cents]
    steady : tuple of Disturbance
        Hum and ripple.
    feedthrough : tuple of Feedthrough
        While the driver holds each mode alone at its level; arrays of shape (treated,).
    coupling_f : float
        Capacitance from winding to plate. [F]
    mutual_h : float or None
        Mutual inductance of winding and lead; None if nobody knows. [H]
    has_guard : bool
        Whether the pickup has the guard that is reckoned with; else it is one as wide as the gap.
    unjudged : tuple of str
        What could not be told, and what to give for it.
    """

    modes: NDArray[np.int64]
    freq_hz: NDArray[np.float64]
    level_m: NDArray[np.float64]
    signal_v: NDArray[np.float64]
    harmonic: NDArray[np.int64]
    harmonic_cents: NDArray[np.float64]
    steady: tuple[Disturbance, ...]
    feedthrough: tuple[Feedthrough, ...]
    coupling_f: float
    mutual_h: float | None
    has_guard: bool
    unjudged: tuple[str, ...]

    def __post_init__(self) -> None:
        for name in ("freq_hz", "level_m", "signal_v", "harmonic_cents"):
            object.__setattr__(self, name, frozen_array(getattr(self, name)))


def analyse_disturbances(
    design: Design, body: Body, hearing: Hearing, loop: ClosedLoop, room: Surroundings
) -> Disturbances:
    """Work out hum, ripple and feedthrough.

    Parameters
    ----------
    design, body, hearing, loop : Design, Body, Hearing, ClosedLoop
    room : Surroundings

    Returns
    -------
    Disturbances
    """
    heard = chosen_pickup(design, hearing)
    number = hearing.pickups.index(heard)
    pickup, gap = body.pickups[number], hearing.operating_point.pickup_gaps[number]
    capacitance_f = gap.gap.permeance
    driver_number = hearing.drivers.index(chosen_driver(design, hearing))
    driver = body.drivers[driver_number]
    modes = loop.regulators.modes
    freq_hz = hearing.operating_point.basis.freq_hz[modes]
    drive = loop.authority.hold_command * np.abs(loop.plant.drive_per_command[modes]) / np.sqrt(2)
    action = hearing.operating_point.driver_actions[driver_number]
    coupling_f = _coupling_f(pickup, driver, room)
    mutual_h = _mutual_h(pickup, driver, room)
    guarded = guard_residue(pickup.guard, pickup.gap_m)
    electric_v = capacitive_through_v(
        pickup, capacitance_f, coupling_f, drive * np.abs(action.voltage_v(freq_hz)), freq_hz
    )
    through = [_through("driver, electric", electric_v, guarded, room)]
    if mutual_h is not None:
        magnetic_v = magnetic_through_v(
            pickup, capacitance_f, mutual_h, drive * np.abs(action.current_a(freq_hz)), freq_hz
        )
        through.append(_through("driver, magnetic", magnetic_v, 1.0, room))
    level_m = loop.regulators.level_m
    harmonic = nearest_harmonic(freq_hz, room.mains_freq_hz)
    return Disturbances(
        modes=modes,
        freq_hz=freq_hz,
        level_m=level_m,
        signal_v=np.abs(_volts_per_m(hearing, number)[modes]) * level_m / np.sqrt(2),
        harmonic=harmonic,
        harmonic_cents=1200 * np.log2(harmonic * room.mains_freq_hz / freq_hz),
        steady=steady(pickup, capacitance_f, room),
        feedthrough=tuple(through),
        coupling_f=coupling_f,
        mutual_h=mutual_h,
        has_guard=pickup.guard is not None,
        unjudged=_unjudged(room, mutual_h),
    )


def _volts_per_m(hearing: Hearing, number: int) -> NDArray[np.float64]:
    """At the preamplifier, with its corners. [V/m]"""
    port = hearing.pickups[number].port
    freq_hz = hearing.operating_point.basis.freq_hz
    volts = port.volts_per_coordinate / hearing.reference_per_sqrt_kg
    return np.abs(volts * path_response(port.path, freq_hz))


def _through(
    cause: str, bare_v: NDArray[np.float64], guarded: float, room: Surroundings
) -> Feedthrough:
    return Feedthrough(
        cause=cause,
        bare_v=bare_v,
        guarded_v=bare_v * guarded,
        dummy_v=bare_v * guarded * room.dummy_misfit,
        cancelled_v=bare_v * guarded * room.dummy_misfit * room.cancellation_residue,
    )


def _apart_m(pickup: CapacitivePickup, driver: Driver) -> float:
    centre = pickup.placed_plate.area_points().centroid_m
    return float(np.hypot(*(centre - np.asarray(driver.place_m))))


def _winding(driver: Driver) -> tuple[int | None, float]:
    """Turns, None if nobody knows, and area in the mean over the turns. [m²]"""
    if isinstance(driver, MagnetAndCoil):
        inner, outer = driver.inner_diameter_m / 2, driver.outer_diameter_m / 2
        return driver.turns, float(np.pi * (inner**2 + inner * outer + outer**2) / 3)
    turns = driver.turns if isinstance(driver, BiasedElectromagnet) else None
    return turns, float(np.pi * driver.face_diameter_m**2 / 4)


def _coupling_f(pickup: CapacitivePickup, driver: Driver, room: Surroundings) -> float:
    if room.feedthrough_capacitance_f is not None:
        return room.feedthrough_capacitance_f
    area_m2 = pickup.placed_plate.area_points().area_m2
    return disc_mutual_capacitance_f(area_m2, _winding(driver)[1], _apart_m(pickup, driver))


def _mutual_h(pickup: CapacitivePickup, driver: Driver, room: Surroundings) -> float | None:
    if room.mutual_inductance_h is not None:
        return room.mutual_inductance_h
    turns, area_m2 = _winding(driver)
    if room.lead_loop_area_m2 is None or turns is None:
        return None
    return dipole_mutual_inductance_h(
        turns, area_m2, room.lead_loop_area_m2, _apart_m(pickup, driver)
    )


def _unjudged(room: Surroundings, mutual_h: float | None) -> tuple[str, ...]:
    missing = {
        "hum by the electric field: give electric_field": room.electric_field_v_per_m is None,
        "hum by the magnetic field: give magnetic_field and lead_loop_area": (
            room.magnetic_field_t is None or room.lead_loop_area_m2 is None
        ),
        "ripple: give ripple": room.ripple_v is None,
        "magnetic feedthrough: give mutual_inductance": mutual_h is None,
    }
    return tuple(what for what, is_missing in missing.items() if is_missing)
