"""Ring and signal of a pickup over its gap, with and without holes in its plate.

The body is taken as drawn, unbent: what bias and magnets change of it is small where a gap is
worth choosing.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from modewright.chain.air_gaps import plate_reaction
from modewright.chain.film_doubts import shorter_side_m
from modewright.checks import frozen_array
from modewright.decay import t60_s_from_q
from modewright.errors import GeometryError, TransducerError
from modewright.loop.plant import reference_scale
from modewright.materials.air import air_at
from modewright.transducers.breakdown import breakdown_v
from modewright.transducers.perforation import Perforation
from modewright.transducers.pickup_gap import pickup_gap, pulling_gap
from modewright.transducers.pickup_signal import volts_per_coordinate
from modewright.transducers.swing import largest_swings
from modewright.transducers.underside import underside_of

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    from modewright.chain.body import Body
    from modewright.transducers.capacitive_pickup import CapacitivePickup

__all__ = ["GapCourse", "PlateChoice", "choose_plate", "gap_course"]

_GAPS_M = np.geomspace(0.1e-3, 1.5e-3, 13)
# Drills of board houses and the least web between holes: common practice.
_DRILLS_M = (0.3e-3, 0.4e-3, 0.5e-3, 0.6e-3, 0.8e-3, 1.0e-3, 1.2e-3, 1.5e-3)
_PITCHES = (1.5, 1.75, 2.0, 2.5, 3.0, 4.0)
_LEAST_WEB_M = 0.3e-3
_FEWEST = 4
# A bias that takes more of a mode's stiffness leaves too little to pull-in.
_SOFTEST = 0.1
# Of the ring over the widest gap, if none is wanted.
_KEPT = 0.9
# Swing that has to pass, over the swing that is played.
_TO_SPARE = 2.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class GapCourse:
    """What one gap gives after another.

    Parameters
    ----------
    name : str
        Of the pickup.
    here_m : float
        Gap of the design. [m]
    gap_m : float array, shape (gaps,)
        Only such as clear the body and hold the bias. [m]
    q, t60_s : float array, shape (gaps, modes)
        With all losses of the design. [1], [s]
    sensitivity_v_per_m : float array, shape (gaps, modes)
        Peak voltage at the preamplifier per peak displacement of the reference point; not a number
        for a mode that is still there. [V/m]
    swing_m : float array, shape (gaps, modes)
        Peak displacement of the reference point up to which the body comes back from this plate;
        not a number for a mode that is still there. [m]
    """

    name: str
    here_m: float
    gap_m: NDArray[np.float64]
    q: NDArray[np.float64]
    t60_s: NDArray[np.float64]
    sensitivity_v_per_m: NDArray[np.float64]
    swing_m: NDArray[np.float64]

    def __post_init__(self) -> None:
        for name in ("gap_m", "q", "t60_s", "sensitivity_v_per_m", "swing_m"):
            object.__setattr__(self, name, frozen_array(getattr(self, name)))

    def usual_t60_s(self, mode: int) -> float:
        """Ring of a mode that a gap should leave where nobody says: most of the longest. [s]"""
        return _KEPT * float(self.t60_s[:, mode].max())


@dataclass(frozen=True, slots=True, kw_only=True)
class PlateChoice:
    """A gap with the holes that serve it.

    Parameters
    ----------
    gap_m : float
        [m]
    holes : Perforation or None
    t60_s, sensitivity_v_per_m : float
        Of the mode it was chosen for. [s], [V/m]
    meets : bool
        Whether it gives what was wanted; if not, it comes nearest.
    """

    gap_m: float
    holes: Perforation | None
    t60_s: float
    sensitivity_v_per_m: float
    meets: bool


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Trial:
    """Plate with one gap and one pattern."""

    pickup: CapacitivePickup
    q: NDArray[np.float64]
    t60_s: NDArray[np.float64]
    sensitivity_v_per_m: NDArray[np.float64]


def gap_course(body: Body, number: int) -> GapCourse:
    """Vary the gap of a pickup.

    Parameters
    ----------
    body : Body
    number : int
        Of the pickup, from 0.

    Returns
    -------
    GapCourse
        Holes as in the design.

    Raises
    ------
    TransducerError
        If no gap is open and holds the bias.
    """
    pickup = body.pickups[number]
    gaps = np.unique(np.append(_GAPS_M, pickup.gap_m))
    trials = list(_trials(body, pickup, [(float(gap), pickup.holes) for gap in gaps]))
    told = np.where(body.moves_at_reference, 1.0, np.nan)
    if not trials:
        raise TransducerError(
            f"{pickup.name}: expected a gap between 0.1 and 1.5 mm that clears the body and holds "
            f"{pickup.bias_v:.4g} V without softening it by a tenth, got none.",
            hint="Lower the bias or straighten the plate.",
        )
    return GapCourse(
        name=pickup.name,
        here_m=pickup.gap_m,
        gap_m=np.array([trial.pickup.gap_m for trial in trials]),
        q=np.array([trial.q for trial in trials]),
        t60_s=np.array([trial.t60_s for trial in trials]),
        sensitivity_v_per_m=np.array([trial.sensitivity_v_per_m for trial in trials]) * told,
        swing_m=np.array([_swing_m(body, trial.pickup) for trial in trials]) * told,
    )


def _swing_m(body: Body, pickup: CapacitivePickup) -> NDArray[np.float64]:
    basis = body.basis
    below = underside_of(body.blank)
    heard = pickup_gap(pickup, basis.shapes, below)
    pull = pulling_gap(pickup, basis.shapes, below, heard)
    reach = largest_swings(basis.omega_rad_s**2, (pull,))
    return reach * np.abs(reference_scale(basis, body.reference.point_m))


def choose_plate(
    body: Body,
    course: GapCourse,
    number: int,
    mode: int,
    *,
    swing_m: float,
    t60_s: float,
    least_v_per_m: float = 0.0,
) -> PlateChoice:
    """Choose gap and holes for one mode.

    Parameters
    ----------
    body : Body
    course : GapCourse
        Of that pickup, whose gaps are tried.
    number : int
        Of the pickup, from 0.
    mode : int
        From 0.
    swing_m : float
        Peak displacement of the reference point in this mode that the gap has to let pass with as
        much to spare. [m]
    t60_s : float
        That it is to ring at least. [s]
    least_v_per_m : float
        Sensitivity that it is to have at least; with 0 the largest is sought. [V/m]

    Returns
    -------
    PlateChoice
        Of all these gaps with and without holes that usual drills make: the one with
        most signal that rings long enough, or, if a sensitivity is wanted, the one with the longest
        ring that has it. The nearest, by the larger shortfall, if none does.

    Raises
    ------
    TransducerError
        If no gap lets that swing pass, or the mode does not move at the reference point.
    """
    if not body.moves_at_reference[mode]:
        raise TransducerError(
            f"mode: expected one that moves at the reference point, got mode {mode + 1} "
            f"({body.basis.labels[mode]}), which is still there.",
            hint="Choose another mode, or a [reference_point] where it moves.",
        )
    pickup = body.pickups[number]
    gaps = course.gap_m[course.swing_m[:, mode] >= _TO_SPARE * swing_m]
    if not len(gaps):
        raise TransducerError(
            f"{pickup.name}: expected a gap that lets {swing_m * 1e3:.3g} mm of mode {mode + 1} "
            f"pass twice over, got {course.swing_m[:, mode].max() * 1e3:.3g} mm at most.",
            hint="Ask for a smaller swing, lower the bias, or put the plate where less moves.",
        )
    side_m = shorter_side_m(pickup)
    wanted = [(float(gap), holes) for gap in gaps for holes in _patterns(pickup, gap, side_m)]
    trials = list(_trials(body, pickup, wanted))
    rings = np.array([trial.t60_s[mode] for trial in trials])
    signals = np.array([trial.sensitivity_v_per_m[mode] for trial in trials])
    short = np.minimum(rings / t60_s, 1.0)
    if least_v_per_m > 0:
        short = np.minimum(short, signals / least_v_per_m)
    meets = short >= 1
    aim = rings if least_v_per_m > 0 else signals
    best = int(np.argmax(np.where(meets, aim, -np.inf) if meets.any() else short))
    chosen = trials[best].pickup
    return PlateChoice(
        gap_m=chosen.gap_m,
        holes=chosen.holes,
        t60_s=float(rings[best]),
        sensitivity_v_per_m=float(signals[best]),
        meets=bool(meets.any()),
    )


def _patterns(
    pickup: CapacitivePickup, gap_m: float, side_m: float
) -> Iterator[Perforation | None]:
    """No holes, and those for which the models of film and field hold."""
    yield None
    depth_m = 1.6e-3 if pickup.holes is None else pickup.holes.depth_m
    for diameter_m in _DRILLS_M:
        for ratio in _PITCHES:
            holes = Perforation(
                pitch_m=round(ratio * diameter_m, 9), diameter_m=diameter_m, depth_m=depth_m
            )
            if holes.web_m >= max(_LEAST_WEB_M, gap_m) and _FEWEST * holes.pitch_m <= side_m:
                yield holes


def _trials(
    body: Body, pickup: CapacitivePickup, plates: list[tuple[float, Perforation | None]]
) -> Iterator[_Trial]:
    below, basis = underside_of(body.blank), body.basis
    air = air_at(body.material.temperature_k)
    reference = reference_scale(basis, body.reference.point_m)
    drawn = plate_reaction(pickup, below, basis, air).real if body.films else 0.0
    rest = np.maximum(body.losses.loss_factor.sum(axis=0) - drawn, 1e-9)
    for gap_m, holes in plates:
        trial = replace(pickup, gap_m=gap_m, holes=holes)
        if list(trial.problems()) or breakdown_v(gap_m) <= pickup.bias_v:
            continue
        try:
            film = plate_reaction(trial, below, basis, air).real if body.films else 0.0
            biased = pickup_gap(trial, basis.shapes, below)
        except (GeometryError, TransducerError):
            continue  # the face of the body comes down into this gap
        softened = -np.diag(biased.stiffness) / basis.omega_rad_s**2
        if softened.max() > _SOFTEST:
            continue
        q = 1 / (rest + film)
        yield _Trial(
            pickup=trial,
            q=q,
            t60_s=t60_s_from_q(q, basis.freq_hz),
            sensitivity_v_per_m=np.abs(volts_per_coordinate(trial, biased) / reference),
        )
