"""Where the body rests once it is biased, and how its modes sound there.

The static position is found first; stiffness and signals are then those of the bent body, not of
the drawing.
"""

from __future__ import annotations

from contextlib import contextmanager
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
from scipy.optimize import linear_sum_assignment

from modewright.checks import frozen_array
from modewright.errors import TransducerError
from modewright.modes.basis import ModalBasis
from modewright.transducers.driver import SheetSpot
from modewright.transducers.electronics import Amplifier, CurrentAmplifier
from modewright.transducers.pickup_gap import pickup_gap, pulling_gap
from modewright.transducers.pickup_signal import pickup_reaction
from modewright.transducers.settle import critical_bias, settle

if TYPE_CHECKING:
    from collections.abc import Callable, Generator, Mapping

    from numpy.typing import NDArray

    from modewright.materials.model import Magnetism
    from modewright.materials.solid import IsotropicSolid
    from modewright.transducers.capacitive_pickup import CapacitivePickup
    from modewright.transducers.driver import Driver
    from modewright.transducers.driver_action import DriverAction
    from modewright.transducers.gap import BiasedGap
    from modewright.transducers.underside import Underside

__all__ = ["GapAtRest", "ModeShift", "OperatingPoint", "find_operating_point", "keyed_faults"]


@dataclass(frozen=True, slots=True, kw_only=True)
class GapAtRest:
    """One biased gap at the operating point.

    Parameters
    ----------
    name : str
        Name of the transducer.
    pull_n : float
        Static force that closes the gap. [N]
    closure_m : float or None
        How much the gap has closed in the mean, by the modes of the basis; None if nothing holds
        the body. [m]
    left_out_m : float or None
        What modes above those would close further at most, as a rough estimate. [m]
    critical_bias : float or None
        Bias at which the sheet snaps over or touches, the others keeping theirs; None if nothing
        holds the body. [V, or A of magnetomotive force]
    margin : float or None
        Critical over actual bias, > 1.
    """

    name: str
    pull_n: float
    closure_m: float | None
    left_out_m: float | None
    critical_bias: float | None
    margin: float | None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ModeShift:
    """What one cause does to the modes, to first order and alone.

    Parameters
    ----------
    cause : str
        Such as ``pickup: bias``, ``driver: back-EMF`` or ``pickup: film at rest``.
    cents : float array, shape (modes,)
        Shift of frequency. [cents]
    loss_factor : float array, shape (modes,)
        Added 1/Q; below 0 where an air gap has opened.
    """

    cause: str
    cents: NDArray[np.float64]
    loss_factor: NDArray[np.float64]

    def __post_init__(self) -> None:
        object.__setattr__(self, "cents", frozen_array(self.cents))
        object.__setattr__(self, "loss_factor", frozen_array(self.loss_factor))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class OperatingPoint:
    """The biased body.

    Parameters
    ----------
    basis : ModalBasis
        Modes as biased, in rising order.
    pickup_gaps : tuple of BiasedGap
        Bent gaps of the pickups in those modes, in the order of the design, as the plates hear.
    pulling_gaps : tuple of BiasedGap
        Bent gaps of all that pulls, pickups first, a plate and its guard as one.
    driver_gaps : tuple of BiasedGap or None
        Bent gaps of the drivers in those modes; None for one without.
    driver_actions : tuple of DriverAction
        Of the drivers in those modes, in the order of the design.
    coordinate : float array, shape (modes,)
        Static position in those modes; ``shapes.displacement(place) @ coordinate`` is the static
        deflection of a place. [m sqrt(kg)]
    elastic_per_s2 : float array, shape (modes,)
        Stiffness of those modes without the softening of the gaps. [1/s²]
    at_rest : tuple of GapAtRest
        Every biased gap, pickups first.
    shifts : tuple of ModeShift
        By cause, aligned with the modes of `basis`.
    total_cents : float array, shape (modes,)
        All causes together, exactly. [cents]
    """

    basis: ModalBasis
    pickup_gaps: tuple[BiasedGap, ...]
    pulling_gaps: tuple[BiasedGap, ...]
    driver_gaps: tuple[BiasedGap | None, ...]
    driver_actions: tuple[DriverAction, ...]
    coordinate: NDArray[np.float64]
    elastic_per_s2: NDArray[np.float64]
    at_rest: tuple[GapAtRest, ...]
    shifts: tuple[ModeShift, ...]
    total_cents: NDArray[np.float64]

    def __post_init__(self) -> None:
        for name in ("coordinate", "elastic_per_s2"):
            object.__setattr__(self, name, frozen_array(getattr(self, name)))
        object.__setattr__(self, "total_cents", frozen_array(self.total_cents))


def find_operating_point(
    basis: ModalBasis,
    pickups: tuple[CapacitivePickup, ...],
    drivers: tuple[Driver, ...],
    amplifier: Amplifier,
    magnetism: Magnetism,
    underside: Underside | None = None,
    *,
    saturation_t: float = float("inf"),
    solid: IsotropicSolid | None = None,
    is_free: bool = False,
    at_rest: Callable[[NDArray[np.float64]], Mapping[str, NDArray[np.complex128]]] | None = None,
) -> OperatingPoint:
    """Bias a body.

    Parameters
    ----------
    basis : ModalBasis
        Modes of the body with everything that the drivers fix to it, without bias.
    pickups, drivers : tuple of CapacitivePickup, tuple of Driver
    amplifier : VoltageAmplifier or CurrentAmplifier
        Each driver has one of its own.
    magnetism : str
        Of the sheet.
    underside : Underside, optional
        Lower face of the body; without it, it is level and covers every plate.
    saturation_t : float
        Flux density at which the sheet saturates. [T]
    solid : IsotropicSolid, optional
        Of which the sheet is made; patches need it.
    is_free : bool
        Whether nothing holds the body, so that `basis` lacks its motions as a rigid body. Where
        it comes to rest is not known then, and the gaps as drawn are taken for those at rest.
    at_rest : callable, optional
        What else depends on where the body rests, such as its air films: from the static position
        in the modes of `basis` the modal dynamic stiffness of each mode that comes along, by
        cause. [1/s²]

    Returns
    -------
    OperatingPoint

    Raises
    ------
    TransducerError
        If the body snaps onto a plate or pole, or a driver cannot act on this sheet; with the key
        of the design file at which it stands.
    """
    pickup_gaps, pulling = _pickup_gaps(pickups, basis, underside)
    driver_gaps = _driver_gaps(drivers, basis, magnetism)
    unbent = (*pulling, *(gap for gap in driver_gaps if gap is not None))
    omega = basis.omega_rad_s
    coordinate = np.zeros(len(omega)) if is_free else settle(omega, unbent)
    bent = tuple(gap.moved(coordinate) for gap in pickup_gaps)
    bent_pulling = tuple(gap.moved(coordinate) for gap in unbent)
    bent_drivers = tuple(gap and gap.moved(coordinate) for gap in driver_gaps)
    sheets = _sheets(drivers, underside, saturation_t, solid)
    actions = _actions(basis, drivers, bent_drivers, sheets)
    heard_and_pulled = tuple(zip(bent, bent_pulling[: len(bent)], strict=True))
    causes = _stiffness_by_cause(
        basis, pickups, heard_and_pulled, drivers, bent_drivers, actions, amplifier
    )
    if at_rest is not None:
        causes |= {cause: np.diag(added) for cause, added in at_rest(coordinate).items()}
    _check_stiff(basis, causes, unbent)
    biased, mixing, order = _biased_basis(basis, causes)
    mixed = tuple(gap and gap.recombined(mixing) for gap in bent_drivers)
    return OperatingPoint(
        basis=biased,
        pickup_gaps=tuple(gap.recombined(mixing) for gap in bent),
        pulling_gaps=tuple(gap.recombined(mixing) for gap in bent_pulling),
        driver_gaps=mixed,
        driver_actions=_actions(biased, drivers, mixed, sheets),
        coordinate=mixing.T @ coordinate,
        elastic_per_s2=omega**2 @ mixing**2,
        at_rest=_unheld(unbent) if is_free else _at_rest(basis, unbent, coordinate),
        shifts=_shifts(basis, causes, order),
        total_cents=1200 * np.log2(biased.freq_hz / basis.freq_hz[order]),
    )


@contextmanager
def keyed_faults(section: str) -> Generator[None]:
    """Count the keys of faults of one part, such as ``pickups[1]``, from the whole file."""
    try:
        yield
    except TransducerError as error:
        raise error.within(section) from error


def _pickup_gaps(
    pickups: tuple[CapacitivePickup, ...], basis: ModalBasis, underside: Underside | None
) -> tuple[tuple[BiasedGap, ...], tuple[BiasedGap, ...]]:
    """What each pickup hears and what of it pulls."""
    heard: list[BiasedGap] = []
    pulling: list[BiasedGap] = []
    for number, pickup in enumerate(pickups, 1):
        section = f"pickups[{number}]"
        with keyed_faults(section):
            gap = pickup_gap(pickup, basis.shapes, underside)
            pull = pulling_gap(pickup, basis.shapes, underside, gap)
        heard.append(replace(gap, key=f"{section}.{gap.key}"))
        pulling.append(replace(pull, key=f"{section}.{pull.key}"))
    return tuple(heard), tuple(pulling)


def _driver_gaps(
    drivers: tuple[Driver, ...], basis: ModalBasis, magnetism: Magnetism
) -> tuple[BiasedGap | None, ...]:
    found: list[BiasedGap | None] = []
    for number, driver in enumerate(drivers, 1):
        section = f"drivers[{number}]"
        with keyed_faults(section):
            gap = driver.biased_gap(basis.shapes, magnetism)
        found.append(gap and replace(gap, key=f"{section}.{gap.key}"))
    return tuple(found)


def _sheets(
    drivers: tuple[Driver, ...],
    underside: Underside | None,
    saturation_t: float,
    solid: IsotropicSolid | None,
) -> tuple[SheetSpot | None, ...]:
    """The sheet under each driver."""
    if underside is None:
        return (None,) * len(drivers)
    return tuple(
        SheetSpot(
            thickness_m=float(underside.thickness_m(np.array([driver.place_m]))[0]),
            saturation_t=saturation_t,
            solid=solid,
        )
        for driver in drivers
    )


def _actions(
    basis: ModalBasis,
    drivers: tuple[Driver, ...],
    gaps: tuple[BiasedGap | None, ...],
    sheets: tuple[SheetSpot | None, ...],
) -> tuple[DriverAction, ...]:
    found: list[DriverAction] = []
    for number, (driver, gap, sheet) in enumerate(zip(drivers, gaps, sheets, strict=True), 1):
        with keyed_faults(f"drivers[{number}]"):
            found.append(driver.action(basis.shapes, gap, sheet))
    return tuple(found)


def _stiffness_by_cause(
    basis: ModalBasis,
    pickups: tuple[CapacitivePickup, ...],
    pickup_gaps: tuple[tuple[BiasedGap, BiasedGap], ...],
    drivers: tuple[Driver, ...],
    driver_gaps: tuple[BiasedGap | None, ...],
    actions: tuple[DriverAction, ...],
    amplifier: Amplifier,
) -> dict[str, NDArray[np.complex128]]:
    """Modal dynamic stiffness of each cause at the modes' frequencies. [1/s²]"""
    found: dict[str, NDArray[np.complex128]] = {}
    for pickup, (heard, pulling) in zip(pickups, pickup_gaps, strict=True):
        stiffness = pulling.stiffness.astype(np.complex128)
        reaction = pickup_reaction(pickup, heard)
        if reaction is not None:
            stiffness = stiffness + reaction.stiffness(basis.freq_hz)
        found[f"{pickup.name}: bias"] = stiffness
    for number, (driver, gap, action) in enumerate(
        zip(drivers, driver_gaps, actions, strict=True), 1
    ):
        with keyed_faults(f"drivers[{number}]"):
            action.check_below(driver.name, float(basis.freq_hz.max()))
        if gap is not None:
            found[f"{driver.name}: magnet"] = gap.stiffness.astype(np.complex128)
        is_closed = not isinstance(amplifier, CurrentAmplifier)
        for cause, stiffness in action.reactions(basis.freq_hz, is_closed=is_closed).items():
            found[f"{driver.name}: {cause}"] = stiffness
    return found


def _check_stiff(
    basis: ModalBasis, causes: dict[str, NDArray[np.complex128]], gaps: tuple[BiasedGap, ...]
) -> None:
    added = np.sum([np.diag(basis.omega_rad_s**2), *(c.real for c in causes.values())], axis=0)
    if np.linalg.eigvalsh(added)[0] <= 0:
        strongest = max(gaps, key=lambda gap: gap.pull_n)
        raise TransducerError(
            f"{strongest.name}: expected a stiffness that the bias leaves positive, got a mode "
            "that does not swing back.",
            hint="Lower the bias or widen the gap.",
            key=strongest.key,
        )


def _biased_basis(
    basis: ModalBasis, causes: dict[str, NDArray[np.complex128]]
) -> tuple[ModalBasis, NDArray[np.float64], NDArray[np.int64]]:
    """Modes with the added stiffness, the mixing, and the old mode that each new one comes from."""
    omega = basis.omega_rad_s
    added = np.sum([np.zeros((len(omega), len(omega)), complex), *causes.values()], axis=0)
    square, mixing = np.linalg.eigh(np.diag(omega**2) + added.real)
    _, order = linear_sum_assignment(-(mixing.T**2))
    main = mixing[order, np.arange(len(order))]
    mixing = mixing * np.where(main < 0, -1.0, 1.0)
    loss = np.diag(2 * basis.damping_ratio * omega) + added.imag / np.sqrt(np.outer(omega, omega))
    new_omega = np.sqrt(square)
    biased = ModalBasis(
        freq_hz=new_omega / (2 * np.pi),
        damping_ratio=np.einsum("im,ij,jm->m", mixing, loss, mixing) / (2 * new_omega),
        shapes=basis.shapes.recombined(mixing),
        labels=tuple(basis.labels[index] for index in order),
    )
    return biased, mixing, np.asarray(order, dtype=np.int64)


def _shifts(
    basis: ModalBasis, causes: dict[str, NDArray[np.complex128]], order: NDArray[np.int64]
) -> tuple[ModeShift, ...]:
    square = basis.omega_rad_s**2
    return tuple(
        ModeShift(
            cause=cause,
            cents=(np.diag(added).real / square * 600 / np.log(2))[order],
            loss_factor=(np.diag(added).imag / square)[order],
        )
        for cause, added in causes.items()
    )


def _unheld(gaps: tuple[BiasedGap, ...]) -> tuple[GapAtRest, ...]:
    return tuple(
        GapAtRest(
            name=gap.name,
            pull_n=gap.pull_n,
            closure_m=None,
            left_out_m=None,
            critical_bias=None,
            margin=None,
        )
        for gap in gaps
    )


def _at_rest(
    basis: ModalBasis, unbent: tuple[BiasedGap, ...], coordinate: NDArray[np.float64]
) -> tuple[GapAtRest, ...]:
    """Gaps of a held body.

    Modes of a plate lie equally dense, and each yields as 1/ω² in the mean, so that all above a
    frequency yield as much again as those of the octave below it (Cremer, Heckl & Petersson,
    Structure-Borne Sound, ch. 5: modal density of plates); those of a bar lie farther apart.
    """
    found: list[GapAtRest] = []
    is_upper = basis.freq_hz > basis.freq_hz.max() / 2
    for index, gap in enumerate(unbent):
        closed_m = -gap.gap.mean_opening * coordinate
        critical = critical_bias(basis.omega_rad_s, unbent, index)
        found.append(
            GapAtRest(
                name=gap.name,
                pull_n=gap.moved(coordinate).pull_n,
                closure_m=float(closed_m.sum()),
                left_out_m=float(np.abs(closed_m[is_upper]).sum()),
                critical_bias=critical,
                margin=critical / gap.bias,
            )
        )
    return tuple(found)
