"""What the notes of an instrument do to each other, and what they need together."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from modewright.chain.body import analyse_placed
from modewright.chain.hearing import analyse_hearing
from modewright.chain.note_motion import note_motion
from modewright.checks import frozen_array
from modewright.geometry.planar import loop_polygon
from modewright.instrument.budget import NoteNeeds, budget
from modewright.instrument.coupling import coupled_notes
from modewright.instrument.crosstalk import NotePorts, level_db, mechanical_crosstalk
from modewright.instrument.electrical import coil_voltage_v_per_a, plate_capacitance_f
from modewright.instrument.pulls import Pulls, pulls
from modewright.modes.address import mode_number
from modewright.pitch import cents_between
from modewright.transducers.capacitive_pickup import CapacitivePickup
from modewright.transducers.electromagnet import BiasedElectromagnet
from modewright.transducers.preamp import Follower

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from numpy.typing import NDArray

    from modewright.chain.body import Body
    from modewright.chain.compass import TunedNote
    from modewright.chain.compass_sheet import LaidOut
    from modewright.chain.hearing import Hearing, PushingDriver
    from modewright.chain.places import PlacedDesign
    from modewright.design.instrument_plan import InstrumentPlan
    from modewright.instrument.budget import Budget
    from modewright.instrument.coupling import NoteMotion
    from modewright.instrument.crosstalk import MechanicalCrosstalk
    from modewright.transducers.port import DriverPort

__all__ = ["Together", "bring_together"]

_FEWEST_MODES = 12
_STRAYS_DB = -300.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Together:
    """All notes on their base.

    Parameters
    ----------
    motions : tuple of NoteMotion
    mechanical : MechanicalCrosstalk or None
        None without a base that gives way.
    base_cents : float array, shape (notes,)
        How far the base that gives way moves the pitch of each note. [cents]
    plates_db : float array, shape (notes, notes)
        From the plate of one note (column) to that of another (row), an upper bound; -300 where
        nothing passes. [dB]
    coils_db : float array, shape (notes, notes)
        From the driver of one note (column) to the wires of a pickup (row), referred to what the
        own pickup hears of the metal; an upper bound; -300 where nothing passes. [dB]
    pulls : Pulls
        Near modes of different notes, and modes that are one with the base.
    budget : Budget
    """

    motions: tuple[NoteMotion, ...]
    mechanical: MechanicalCrosstalk | None
    base_cents: NDArray[np.float64]
    plates_db: NDArray[np.float64]
    coils_db: NDArray[np.float64]
    pulls: Pulls
    budget: Budget

    def __post_init__(self) -> None:
        for name in ("base_cents", "plates_db", "coils_db"):
            object.__setattr__(self, name, frozen_array(getattr(self, name)))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Voice:
    """One note with everything known of it."""

    placed: PlacedDesign
    body: Body
    hearing: Hearing
    ports: NotePorts
    place_m: float


def bring_together(
    plan: InstrumentPlan,
    notes: Sequence[TunedNote],
    laid: LaidOut,
    *,
    progress: Callable[[str], None] | None = None,
) -> Together:
    """Put all notes on the base and see what they do to each other.

    Parameters
    ----------
    plan : InstrumentPlan
    notes : sequence of TunedNote
    laid : LaidOut
        Of those notes.
    progress : callable, optional
        Told what is being done.

    Returns
    -------
    Together

    Raises
    ------
    ModewrightError
        If a note cannot be solved.
    """
    voices: list[_Voice] = []
    for note, placed, place in zip(notes, laid.placed, laid.row_m, strict=True):
        if progress is not None:
            progress(f"note {note.note.name}: pickup, driver and root")
        voices.append(_voice(plan, note, placed, float(place)))
    motions = tuple(
        note_motion(
            note.note.name,
            voice.body.blank,
            voice.hearing.operating_point.basis,
            voice.body.material.solid.density_kg_per_m3,
        )
        for note, voice in zip(notes, voices, strict=True)
    )
    mechanical, base_cents = None, np.zeros(len(notes))
    found = Pulls(pairs=(), not_own=())
    if plan.base is not None:
        base = plan.base.modes_at(laid.row_m)
        ports = [voice.ports for voice in voices]
        mechanical = mechanical_crosstalk(coupled_notes(motions, base), ports)
        base_cents = np.array(
            [
                cents_between(float(there), port.freq_hz)
                for there, port in zip(mechanical.freq_hz, ports, strict=True)
            ]
        )
        found = pulls(motions, base)
    return Together(
        motions=motions,
        mechanical=mechanical,
        base_cents=base_cents,
        plates_db=_plates_db(plan, voices),
        coils_db=_coils_db(plan, voices),
        pulls=found,
        budget=budget(
            [_needs(note.note.name, voice) for note, voice in zip(notes, voices, strict=True)],
            plan.shared,
            None if plan.base is None else plan.base.mass_kg,
        ),
    )


def _voice(plan: InstrumentPlan, note: TunedNote, placed: PlacedDesign, place_m: float) -> _Voice:
    count = max(plan.tune.modes, _FEWEST_MODES)
    body = analyse_placed(placed, count=count, accuracy=plan.tune.accuracy)
    hearing = analyse_hearing(placed.design, body)
    basis = hearing.operating_point.basis
    still = hearing.reference_per_sqrt_kg
    nearest = int(np.argmin(np.abs(basis.freq_hz - note.body.sample.freq_hz[note.place])))
    return _Voice(
        placed=placed,
        body=body,
        hearing=hearing,
        ports=NotePorts(
            mode=nearest,
            freq_hz=float(basis.freq_hz[nearest]),
            push=hearing.drivers[0].port.force_per_drive if hearing.drivers else still,
            hear=hearing.pickups[0].port.volts_per_coordinate if hearing.pickups else still,
        ),
        place_m=place_m,
    )


def _plates_db(plan: InstrumentPlan, voices: Sequence[_Voice]) -> NDArray[np.float64]:
    count = len(voices)
    levels = np.full((count, count), _STRAYS_DB)
    np.fill_diagonal(levels, 0.0)
    for i, there in enumerate(voices):
        for j, here in enumerate(voices):
            if i != j and there.body.pickups and here.body.pickups:
                levels[i, j] = _plate_db(plan, here, there)
    return levels


def _plate_db(plan: InstrumentPlan, here: _Voice, there: _Voice) -> float:
    """Voltage that the plate of one note brings to the plate of another, against its own."""
    mine, other = here.body.pickups[0], there.body.pickups[0]
    if not isinstance(mine.preamp, Follower) or not isinstance(other.preamp, Follower):
        # A plate that a charge amplifier holds at constant voltage neither gives nor takes any.
        return _STRAYS_DB
    (low, high), (other_low, other_high) = _plate_box_m(mine), _plate_box_m(other)
    middle_m = here.place_m + (low[1] + high[1]) / 2
    other_middle_m = there.place_m + (other_low[1] + other_high[1]) / 2
    width_m = (high[1] - low[1] + other_high[1] - other_low[1]) / 2
    distance_m = max(abs(middle_m - other_middle_m) - width_m, 0.1 * width_m)
    length_m = min(high[0] - low[0], other_high[0] - other_low[0])
    shared_f = plate_capacitance_f(length_m, width_m, distance_m, plan.shared.board_permittivity)
    total_f = there.hearing.pickups[0].figures.capacitance_f + other.stray_capacitance_f
    return float(level_db(np.array(shared_f / (shared_f + total_f))))


def _plate_box_m(pickup: CapacitivePickup) -> tuple[tuple[float, float], tuple[float, float]]:
    low_x, low_y, high_x, high_y = loop_polygon(pickup.placed_plate.loop).bounds
    return (low_x, low_y), (high_x, high_y)


def _coils_db(plan: InstrumentPlan, voices: Sequence[_Voice]) -> NDArray[np.float64]:
    count = len(voices)
    levels = np.full((count, count), _STRAYS_DB)
    for j, here in enumerate(voices):
        driver = here.body.drivers[0] if here.body.drivers else None
        if not isinstance(driver, BiasedElectromagnet):
            continue
        own = _own_v_per_a(here)
        for i, there in enumerate(voices):
            if there.body.pickups:
                volts = coil_voltage_v_per_a(
                    here.ports.freq_hz,
                    driver.turns,
                    math.pi * driver.face_diameter_m**2 / 4,
                    _distance_m(here, driver, there),
                    plan.shared.wiring_loop_m2,
                )
                levels[i, j] = float(level_db(np.array(volts / own)))
    return levels


def _own_v_per_a(voice: _Voice) -> float:
    """What the own pickup hears per ampere at the pitch of a note, base at rest. [V/A]"""
    basis = voice.hearing.operating_point.basis
    omega = 2 * np.pi * voice.ports.freq_hz
    answer = voice.ports.hear * voice.ports.push
    return float(abs(np.sum(answer / (basis.omega_rad_s**2 * (1 + 1j / basis.q) - omega**2))))


def _distance_m(here: _Voice, driver: BiasedElectromagnet, there: _Voice) -> float:
    """From a driver to the plate of another note, not less than twice the pole."""
    (low, high) = _plate_box_m(there.body.pickups[0])
    x, y = driver.place_m
    along = (low[0] + high[0]) / 2 - x
    across = there.place_m + (low[1] + high[1]) / 2 - here.place_m - y
    return max(math.hypot(along, across), 2 * driver.face_diameter_m)


def _needs(name: str, voice: _Voice) -> NoteNeeds:
    driver = voice.hearing.drivers[0] if voice.hearing.drivers else None
    return NoteNeeds(
        name=name,
        inputs=len(voice.body.pickups),
        outputs=len(voice.body.drivers),
        holding_a=0.0 if driver is None else _holding_a(voice),
        limit_a=0.0 if driver is None else _limit_a(driver),
        resistance_ohm=0.0 if driver is None else _resistance_ohm(driver.port),
        mass_kg=voice.body.modes.body_mass_kg,
    )


def _limit_a(driver: PushingDriver) -> float:
    """Largest peak current, at the lowest mode. [A]"""
    return driver.figures.limits.drive * float(driver.port.current_a_per_drive[0])


def _resistance_ohm(port: DriverPort) -> float:
    """Series resistance with its heat at the lowest mode. [ohm]"""
    return float(2 * port.cold_heat_w[0] / port.current_a_per_drive[0] ** 2)


def _holding_a(voice: _Voice) -> float:
    """Peak current that makes up for the loss of all held modes at their levels. [A]

    At resonance the force on a mode is 2 ζ ω² times its amplitude.
    """
    basis = voice.hearing.operating_point.basis
    port = voice.hearing.drivers[0].port
    push = np.abs(port.force_per_drive)
    total_a = 0.0
    for control in voice.placed.design.loop.modes:
        if control.state != "held":
            continue
        mode = mode_number(control.mode, basis.labels) - 1
        amplitude = control.level_m / abs(float(voice.hearing.reference_per_sqrt_kg[mode]))
        force = 2 * basis.damping_ratio[mode] * basis.omega_rad_s[mode] ** 2 * amplitude
        total_a += float(force / push[mode] * port.current_a_per_drive[mode])
    return total_a
