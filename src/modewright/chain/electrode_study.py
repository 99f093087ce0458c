"""How well made plates reject, when gap, tilt, place, copper and temperature are a little off.

What plates hear is worked out anew at both limits of every deviation and taken to follow a parabola
in between; deviations add. Some pieces are worked out wholly, and what the parabolas miss is told.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
from shapely import Polygon
from shapely.affinity import scale, translate

from modewright.chain.electrode_plates import rejections_db
from modewright.chain.electrode_site import heard_by_plates
from modewright.checks import frozen_array
from modewright.errors import TransducerError

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    from modewright.chain.electrode_plates import PlateSet
    from modewright.chain.electrode_site import ElectrodeSite
    from modewright.electrodes.settings import ElectrodeSettings, ElectrodeTolerances

__all__ = ["DEVIATIONS", "TWO_SIGMA", "ElectrodeStudy", "study_plates"]

DEVIATIONS = ("gap", "tilt along x", "tilt along y", "offset x", "offset y", "over-etch", "warmth")
# Share of pieces outside two standard deviations of a normal distribution.
TWO_SIGMA = 0.0455
_CHECKED, _CHECKED_OF_MANY, _MANY = 6, 2, 3
_UNIFORM_VARIANCE = 1 / 3
# Keeps the sum over the other modes invertible.
_FLOOR = 1e-14


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ElectrodeStudy:
    """Rejection of many made pieces.

    Parameters
    ----------
    rejection_db : float array, shape (pieces, signals)
        Of the rejected mode that comes through most. [dB]
    alone_db : float array, shape (deviations, signals)
        Rejection that all but 4.55 % of pieces keep if nothing else is off. [dB]
    refitted_db : float array, shape (pieces, signals), or None
        With weights fitted to each piece as measured; None where there are no weights to fit.
    signal_db : float array, shape (pieces, signals)
        Weakest wanted mode over that of the drawing. [dB]
    missed : float
        Largest error of the parabolas found in whole computations, over the wanted signal.
    seed : int
    """

    rejection_db: NDArray[np.float64]
    alone_db: NDArray[np.float64]
    refitted_db: NDArray[np.float64] | None
    signal_db: NDArray[np.float64]
    missed: float
    seed: int

    def __post_init__(self) -> None:
        for name in ("rejection_db", "alone_db", "signal_db"):
            object.__setattr__(self, name, frozen_array(getattr(self, name)))

    @property
    def two_sigma_db(self) -> NDArray[np.float64]:
        """Rejection that all but 4.55 % of pieces keep, shape (signals,). [dB]"""
        return np.asarray(np.quantile(self.rejection_db, TWO_SIGMA, axis=0), dtype=np.float64)

    @property
    def refitted_two_sigma_db(self) -> NDArray[np.float64] | None:
        """The same with weights fitted to each piece. [dB]"""
        if self.refitted_db is None:
            return None
        return np.asarray(np.quantile(self.refitted_db, TWO_SIGMA, axis=0), dtype=np.float64)

    @property
    def median_db(self) -> NDArray[np.float64]:
        """Rejection that half of the pieces keep, shape (signals,). [dB]"""
        return np.asarray(np.median(self.rejection_db, axis=0), dtype=np.float64)

    @property
    def signal_spread_db(self) -> NDArray[np.float64]:
        """Bounds between which the signal of 95.45 % of pieces lies, shape (2, signals). [dB]"""
        both = [TWO_SIGMA / 2, 1 - TWO_SIGMA / 2]
        return np.asarray(np.quantile(self.signal_db, both, axis=0), dtype=np.float64)

    @property
    def worst(self) -> str:
        """Deviation that alone lets most through."""
        return DEVIATIONS[int(np.argmin(self.alone_db.min(axis=1)))]


def study_plates(
    site: ElectrodeSite,
    made: PlateSet,
    settings: ElectrodeSettings,
    progress: Callable[[str], None] | None = None,
) -> ElectrodeStudy:
    """Draw pieces and judge them.

    Parameters
    ----------
    site : ElectrodeSite
    made : PlateSet
        As drawn.
    settings : ElectrodeSettings
        Tolerances, number of pieces, seed.
    progress : callable, optional
        Told what is being done.

    Returns
    -------
    ElectrodeStudy

    Raises
    ------
    TransducerError
        If a deviation closes the gap or etches a plate away.
    """
    limits = _limits(settings.tolerances)
    count = len(DEVIATIONS)

    def heard(share: NDArray[np.float64]) -> NDArray[np.float64]:
        return _heard_off(site, made.plates, share * limits)

    low, high = np.empty((2, count, *made.heard.shape))
    for number, name in enumerate(DEVIATIONS):
        if progress is not None:
            progress(f"plates with their {name} off")
        step = np.eye(count)[number]
        low[number], high[number] = heard(-step), heard(step)
    course = _Parabolas(base=made.heard, slope=(high - low) / 2, bend=(high + low) / 2 - made.heard)
    rng = np.random.default_rng(settings.seed)
    shares = rng.uniform(-1.0, 1.0, (settings.samples, count))
    if progress is not None:
        progress("judging pieces")
    pieces = course.at(shares)
    signals = made.weights @ pieces
    checked = _CHECKED if len(made.plates) < _MANY else _CHECKED_OF_MANY
    alone = [
        _quantile_db(made.weights @ course.at(shares * np.eye(count)[number]), made)
        for number in range(count)
    ]
    return ElectrodeStudy(
        rejection_db=_worst_db(signals, made),
        alone_db=np.array(alone),
        refitted_db=_refitted(pieces, course, made, settings, rng),
        signal_db=_signal_db(signals, made),
        missed=_missed(course, heard, shares[:checked], made),
        seed=settings.seed,
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Parabolas:
    """What plates hear as each deviation goes from -1 to 1, all of shape (..., plates, modes)."""

    base: NDArray[np.float64]
    slope: NDArray[np.float64]
    bend: NDArray[np.float64]

    def at(self, shares: NDArray[np.float64]) -> NDArray[np.float64]:
        """Shape (pieces, plates, modes), for shares of shape (pieces, deviations)."""
        moved = np.tensordot(shares, self.slope, 1) + np.tensordot(shares**2, self.bend, 1)
        return self.base + moved


def _limits(off: ElectrodeTolerances) -> NDArray[np.float64]:
    return np.array(
        [off.gap_m, off.tilt, off.tilt, off.offset_m, off.offset_m, off.over_etch_m, off.warmth_k]
    )


def _heard_off(
    site: ElectrodeSite, plates: tuple[Polygon, ...], off: NDArray[np.float64]
) -> NDArray[np.float64]:
    """What plates hear with everything off by so much."""
    gap_m, tilt_x, tilt_y, x_m, y_m, etch_m, warmth_k = off
    pickup = site.pickup
    if gap_m + pickup.gap_m <= 0:
        raise TransducerError(
            "expected less than the gap of "
            f"{pickup.gap_m * 1e3:.3g} mm, got {-gap_m * 1e3:.3g} mm.",
            hint="Widen the gap or state the tolerance that the spacers keep.",
            key="electrodes.tolerances.gap",
        )
    grown = 1 + site.growth_per_k * warmth_k
    moved: list[Polygon] = []
    for plate in plates:
        left = plate.buffer(-etch_m, join_style="mitre") if etch_m else plate
        if left.geom_type != "Polygon" or left.is_empty:
            raise TransducerError(
                "expected less than half the narrowest copper, "
                f"got {etch_m * 1e3:.3g} mm, which etches a plate apart.",
                hint="Widen the tracks, or state the tolerance that the board house keeps.",
                key="electrodes.tolerances.over_etch",
            )
        warm = scale(left, grown, grown, origin=site.datum_m)
        moved.append(translate(warm, x_m, y_m))
    changed = replace(
        site,
        pickup=replace(
            pickup,
            gap_m=pickup.gap_m + gap_m,
            tilt_x=pickup.tilt_x + tilt_x,
            tilt_y=pickup.tilt_y + tilt_y,
        ),
        slit_m=site.slit_m + 2 * etch_m,
        guard_m=max(site.guard_m - 2 * etch_m, 0.0) if site.guard_m > 0 else 0.0,
    )
    return heard_by_plates(changed, moved)


def _worst_db(signals: NDArray[np.float64], made: PlateSet) -> NDArray[np.float64]:
    rejection_db = rejections_db(signals, made.wanted)
    return np.asarray(np.nanmin(rejection_db, axis=-1), dtype=np.float64)


def _quantile_db(signals: NDArray[np.float64], made: PlateSet) -> NDArray[np.float64]:
    worst_db = _worst_db(signals, made)
    return np.asarray(np.quantile(worst_db, TWO_SIGMA, axis=0), dtype=np.float64)


def _signal_db(signals: NDArray[np.float64], made: PlateSet) -> NDArray[np.float64]:
    found = [
        np.abs(signals[:, row, list(own)] / made.signals[row, list(own)]).min(axis=1)
        for row, own in enumerate(made.wanted)
    ]
    return 20 * np.log10(np.stack(found, axis=1))


def _refitted(
    pieces: NDArray[np.float64],
    course: _Parabolas,
    made: PlateSet,
    settings: ElectrodeSettings,
    rng: np.random.Generator,
) -> NDArray[np.float64] | None:
    """Rejection with weights fitted to each piece as measured; None with nothing to fit.

    From the measured couplings the likeliest deviations are found, each known beforehand to be
    within its limits. The weights hear the wanted mode most against what plates that are off by so
    much hear of the others, and against what is not known of that.
    """
    if settings.arrangement not in ("segments", "joint"):
        return None
    error = settings.measured_error * float(np.abs(made.heard).max())
    measured = pieces + rng.normal(size=pieces.shape) * error
    slope = course.slope.reshape(len(course.slope), -1) / error
    seen = (measured - made.heard).reshape(len(pieces), -1) / error
    known = slope @ slope.T + np.eye(len(slope)) / _UNIFORM_VARIANCE
    likely = np.asarray(np.linalg.solve(known, slope @ seen.T).T, dtype=np.float64)
    fitted = made.heard.shape[1] if settings.arrangement == "segments" else len(made.wanted)
    free = course.slope[:, :, :fitted]
    unknown = np.einsum("apm,ab,bqm->pq", free, np.linalg.inv(known), free, optimize=True)
    signals = [
        _best_weights(guess[:, :fitted], len(made.wanted), unknown) @ true
        for guess, true in zip(course.at(likely), pieces, strict=True)
    ]
    return _worst_db(np.array(signals), made)


def _best_weights(
    heard: NDArray[np.float64], wanted: int, unknown: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Weights with the largest ratio of the wanted signal to all else, shape (wanted, plates)."""
    floor = _FLOOR * float((heard**2).sum()) * np.eye(len(heard))
    found: list[NDArray[np.float64]] = []
    for mode in range(wanted):
        others = np.delete(heard, mode, axis=1)
        sought = np.linalg.solve(others @ others.T + unknown + floor, heard[:, mode])
        found.append(np.asarray(sought, dtype=np.float64))
    return np.array(found)


def _missed(
    course: _Parabolas,
    heard: Callable[[NDArray[np.float64]], NDArray[np.float64]],
    shares: NDArray[np.float64],
    made: PlateSet,
) -> float:
    wanted = min(
        float(np.abs(made.signals[row, list(own)]).min()) for row, own in enumerate(made.wanted)
    )
    errors = [
        float(np.abs(made.weights @ (heard(share) - course.at(share[None])[0])).max())
        for share in shares
    ]
    return max(errors) / wanted
