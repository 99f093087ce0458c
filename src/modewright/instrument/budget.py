"""What an instrument needs: channels, current, heat, mass."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from modewright.instrument.shared import SharedElectronics

__all__ = ["Budget", "NoteNeeds", "budget"]


@dataclass(frozen=True, slots=True, kw_only=True)
class NoteNeeds:
    """What one note needs.

    Parameters
    ----------
    name : str
    inputs, outputs : int
        Pickups and drivers.
    holding_a : float
        Peak current that keeps its held modes at their levels. [A]
    limit_a : float
        Peak current that its amplifiers give at most. [A]
    resistance_ohm : float
        Of its coil. [ohm]
    mass_kg : float
        Of the body with what is fixed to it. [kg]
    """

    name: str
    inputs: int
    outputs: int
    holding_a: float
    limit_a: float
    resistance_ohm: float
    mass_kg: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Budget:
    """What all notes need together.

    Parameters
    ----------
    inputs, outputs : int
    voices : int
        Notes that sound at once.
    rest_a, holding_a, most_a : float
        Mean current of each rail: nothing sounding, voices held, every amplifier of the voices at
        its limit. [A]
    coil_heat_w : float
        In all coils while the voices are held. [W]
    supply_w : float
        Taken from both rails then. [W]
    bodies_kg : float
        All bodies. [kg]
    total_kg : float or None
        With the base; None if it is not described. [kg]
    shortages : tuple of str
        What does not suffice, in sentences.
    """

    inputs: int
    outputs: int
    voices: int
    rest_a: float
    holding_a: float
    most_a: float
    coil_heat_w: float
    supply_w: float
    bodies_kg: float
    total_kg: float | None
    shortages: tuple[str, ...]


def budget(
    notes: Sequence[NoteNeeds], shared: SharedElectronics, base_mass_kg: float | None
) -> Budget:
    """Add up what notes need and compare it with what there is.

    Parameters
    ----------
    notes : sequence of NoteNeeds
    shared : SharedElectronics
    base_mass_kg : float or None
        [kg]

    Returns
    -------
    Budget

    Notes
    -----
    An amplifier of class B on two rails takes Î/π from each in the mean for a sine of amplitude Î
    (common practice). Peaks of several held modes of a note are added. A note without pickup and
    driver has no electronics.
    """
    voices = len(notes) if shared.voices == 0 else min(shared.voices, len(notes))
    rest_a = sum(note.inputs + note.outputs > 0 for note in notes) * shared.quiescent_current_a
    held = sorted((note.holding_a for note in notes), reverse=True)[:voices]
    limits = sorted((note.limit_a for note in notes), reverse=True)[:voices]
    heats = sorted((n.resistance_ohm * n.holding_a**2 / 2 for n in notes), reverse=True)[:voices]
    holding_a = rest_a + sum(held) / math.pi
    bodies_kg = sum(note.mass_kg for note in notes)
    found = Budget(
        inputs=sum(note.inputs for note in notes),
        outputs=sum(note.outputs for note in notes),
        voices=voices,
        rest_a=rest_a,
        holding_a=holding_a,
        most_a=rest_a + sum(limits) / math.pi,
        coil_heat_w=sum(heats),
        supply_w=2 * shared.supply_v * holding_a,
        bodies_kg=bodies_kg,
        total_kg=None if base_mass_kg is None else bodies_kg + base_mass_kg,
        shortages=(),
    )
    return replace(found, shortages=tuple(_shortages(found, shared)))


def _shortages(found: Budget, shared: SharedElectronics) -> Iterator[str]:
    for what, needed, there in (
        ("input", found.inputs, shared.input_channels),
        ("output", found.outputs, shared.output_channels),
    ):
        if needed > there:
            yield f"{needed} {what} channels are needed and {there} are there."
    if found.holding_a > shared.supply_limit_a:
        yield (
            f"Holding {found.voices} notes takes {found.holding_a:.3g} A from each rail, which "
            f"gives {shared.supply_limit_a:.3g} A."
        )
    elif found.most_a > shared.supply_limit_a:
        yield (
            f"With all amplifiers of {found.voices} notes at their limit, each rail would have to "
            f"give {found.most_a:.3g} A; it gives {shared.supply_limit_a:.3g} A."
        )
