"""From pickups and drivers to the closed loop of a design."""

from __future__ import annotations

from typing import TYPE_CHECKING, Protocol, TypeVar

from modewright.chain.mode_numbers import numbered_loop
from modewright.errors import LoopError
from modewright.loop.close import ClosedLoop, close_loop
from modewright.loop.detuning import Detuning, detuning_of_modes
from modewright.loop.plant import build_plant
from modewright.transducers.latency import LatencyBudget, latency_budget
from modewright.transducers.path_table import PathRow, path_table

if TYPE_CHECKING:
    from modewright.chain.body import Body
    from modewright.chain.hearing import HeardPickup, Hearing, PushingDriver
    from modewright.design.schema import Design

__all__ = [
    "analyse_latency",
    "analyse_loop",
    "chosen_driver",
    "chosen_pickup",
    "detuned_modes",
    "signal_path",
]


class _Named(Protocol):
    @property
    def name(self) -> str: ...


class _WithPort(Protocol):
    @property
    def port(self) -> _Named: ...


_Part = TypeVar("_Part", bound=_WithPort)


def analyse_loop(design: Design, body: Body, hearing: Hearing) -> ClosedLoop:
    """Close the loop that the design asks for.

    Parameters
    ----------
    design : Design
    body, hearing : Body, Hearing
        Of that design.

    Returns
    -------
    ClosedLoop

    Raises
    ------
    LoopError
        If there is no pickup or driver, or the loop cannot be designed.
    ModeProblemsError
        If it treats modes that are not there.
    """
    plant = build_plant(
        hearing.operating_point.basis,
        chosen_pickup(design, hearing).port,
        chosen_driver(design, hearing).port,
        design.electronics,
        body.reference.point_m,
        hearing.touch_level_m,
    )
    return close_loop(plant, numbered_loop(design.loop, plant.labels))


def detuned_modes(loop: ClosedLoop) -> tuple[tuple[Detuning, ...], str]:
    """What a model that is off does to every treated mode.

    Parameters
    ----------
    loop : ClosedLoop

    Returns
    -------
    tuple of (tuple of Detuning, str)
        Without any for an unstable loop; and what of it could not be told, which is a finding about
        the loop and no fault of the design.
    """
    if not loop.is_stable:
        return (), ""
    found = detuning_of_modes(loop)
    return found, " ".join(fault for each in found for fault in each.faults)


def signal_path(design: Design, hearing: Hearing) -> tuple[PathRow, ...]:
    """Magnitude and phase of every stage at every mode."""
    return path_table(
        hearing.operating_point.basis.freq_hz,
        hearing.reference_per_sqrt_kg,
        chosen_pickup(design, hearing).port,
        design.electronics,
        chosen_driver(design, hearing).port,
    )


def analyse_latency(design: Design, hearing: Hearing) -> LatencyBudget:
    """Phase and delay of every stage at every mode, and what they cost."""
    return latency_budget(
        hearing.operating_point.basis.freq_hz,
        chosen_pickup(design, hearing).port,
        design.electronics,
        chosen_driver(design, hearing).port,
    )


def chosen_pickup(design: Design, hearing: Hearing) -> HeardPickup:
    """The pickup that feeds the loop."""
    return _chosen(hearing.pickups, design.loop.pickup, "pickup")


def chosen_driver(design: Design, hearing: Hearing) -> PushingDriver:
    """The driver that the loop moves."""
    return _chosen(hearing.drivers, design.loop.driver, "driver")


def _chosen(every: tuple[_Part, ...], name: str, what: str) -> _Part:
    if not every:
        raise LoopError(
            f"loop: expected a {what}, got a design without one.",
            hint=f"Add a section [[{what}s]]; `modewright new` shows one.",
        )
    if not name:
        return every[0]
    for part in every:
        if part.port.name == name:
            return part
    known = ", ".join(f'"{part.port.name}"' for part in every)
    raise LoopError(
        f'loop.{what}: expected one of {known}, got "{name}".', hint="Name one of these."
    )
