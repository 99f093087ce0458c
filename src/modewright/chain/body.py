"""From a design to the damped modes of its body."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from modewright.cache import fingerprint, keep_arrays, kept_arrays
from modewright.chain.air_gaps import PlacedFilm, design_films
from modewright.chain.mode_count import bending_mode_count
from modewright.chain.places import PlacedDesign, place_design
from modewright.errors import BodyError, Problem, SolveError
from modewright.geometry.blank import NamedPoint
from modewright.geometry.places import place_mm
from modewright.losses.total import LossShares, loss_body, loss_shares
from modewright.materials.choice import chosen_material
from modewright.materials.model import Material, expansion_freq_ratio
from modewright.modes.basis import ModalBasis, Modes, ModeShapes, modal_mass_kg
from modewright.modes.solid import REVISION, Accuracy, solve_modes
from modewright.modes.store import modes_from_arrays, modes_to_arrays
from modewright.transducers.capacitive_pickup import CapacitivePickup
from modewright.transducers.driver import Driver

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from numpy.typing import NDArray

    from modewright.design.schema import Design
    from modewright.geometry.blank import Blank
    from modewright.losses.mechanism import LossBody
    from modewright.materials.solid import IsotropicSolid

__all__ = [
    "Body",
    "analyse_body",
    "analyse_placed",
    "body_of_modes",
    "in_air",
    "modes_up_to",
    "moves_at",
]

_FIRST_COUNT = 32
_GROWTH = 1.4
# The real-time core has room for 256 modes.
_MOST_MODES = 256
# An estimate of this many times the first count is worth asking for at once; it is right to some
# tenths, so that beyond this many times the room there is nothing to hope for.
_MANY, _FEW_MORE, _HOPELESS = 2.0, 1.25, 2.0
_STILL_SHARE = 0.01


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Body:
    """The body of a design and its modes.

    Parameters
    ----------
    blank : Blank
        With the masses that drivers add to it.
    material : Material
        At the design's temperature.
    reference : NamedPoint
        Place to which modal masses and levels refer.
    pickups : tuple of CapacitivePickup
    drivers : tuple of Driver
        Of the design; those of a drawing stand in their places.
    modes : Modes
        Undamped, in vacuum, at the design's temperature.
    films : tuple of PlacedFilm
        Air between it and plates and poles, as drawn.
    losses : LossShares
    basis : ModalBasis
        Damped and in air, before bias and magnets act; mode for mode as in `modes`.
    """

    blank: Blank
    material: Material
    reference: NamedPoint
    pickups: tuple[CapacitivePickup, ...]
    drivers: tuple[Driver, ...]
    modes: Modes
    films: tuple[PlacedFilm, ...]
    losses: LossShares
    basis: ModalBasis

    @property
    def moves_at_reference(self) -> NDArray[np.bool_]:
        """Whether each mode moves at the reference point; figures there need that."""
        return moves_at(self.modes.shapes, self.reference.point_m)

    @property
    def modal_mass_kg(self) -> NDArray[np.float64]:
        """Modal masses referred to the reference point. [kg]"""
        return modal_mass_kg(self.modes.shapes, self.reference.point_m)


def analyse_body(
    design: Design,
    folder: Path,
    *,
    count: int | None = None,
    up_to_hz: float | None = None,
    accuracy: Accuracy = "normal",
    progress: Callable[[str], None] | None = None,
) -> Body:
    """Compute the modes of a design's body and their losses.

    Parameters
    ----------
    design : Design
    folder : Path
        Folder of the design file.
    count : int, optional
        How many modes; with `up_to_hz` at least so many.
    up_to_hz : float, optional
        All modes below this frequency. [Hz]
    accuracy : {"draft", "normal", "fine"}
    progress : callable, optional
        Told what is being done.

    Returns
    -------
    Body

    Raises
    ------
    GeometryError, SolveError
        If the shape makes no body or its modes cannot be found.
    """
    placed = place_design(design, folder)
    return analyse_placed(
        placed, count=count, up_to_hz=up_to_hz, accuracy=accuracy, progress=progress
    )


def analyse_placed(
    placed: PlacedDesign,
    *,
    count: int | None = None,
    up_to_hz: float | None = None,
    accuracy: Accuracy = "normal",
    progress: Callable[[str], None] | None = None,
) -> Body:
    """Compute the modes of a design whose parts have been put in their places.

    Parameters, result and errors as for `analyse_body`.
    """
    blank, solid = placed.blank, chosen_material(placed.design.material).solid

    def solve(number: int) -> Modes:
        return _kept_or_solved(blank, solid, number, accuracy, progress)

    if up_to_hz is None:
        return body_of_modes(placed, solve(count or 12))
    expected = bending_mode_count(blank, solid, up_to_hz)
    return body_of_modes(placed, modes_up_to(solve, up_to_hz, count or 1, expected))


def body_of_modes(placed: PlacedDesign, modes: Modes) -> Body:
    """Work out losses, air and reference point of a body whose modes are known.

    Parameters
    ----------
    placed : PlacedDesign
    modes : Modes
        Of its blank as drawn, before it grows with temperature.

    Returns
    -------
    Body

    Raises
    ------
    BodyError
        If the lowest mode that bends along z does not move the reference point, or an air gap
        closes somewhere.
    """
    design, blank = placed.design, placed.blank
    material = chosen_material(design.material)
    modes = _expanded(modes, expansion_freq_ratio(material, material.temperature_k))
    films = design_films(design, blank)
    cells = tuple(film.cells for film in films)
    lossy = loss_body(blank, modes, material, design.losses, cells)
    losses = loss_shares(lossy)
    reference = _reference(design, blank, modes, _bends_normally(lossy))
    return Body(
        blank=blank,
        material=material,
        reference=reference,
        pickups=design.pickups,
        drivers=design.drivers,
        modes=modes,
        films=films,
        losses=losses,
        basis=in_air(modes, losses),
    )


def in_air(modes: Modes, losses: LossShares) -> ModalBasis:
    """Damped modes, with the mass of the air that swings along.

    Parameters
    ----------
    modes : Modes
    losses : LossShares
        Of those modes.

    Returns
    -------
    ModalBasis
    """
    return ModalBasis(
        freq_hz=modes.freq_hz * 2 ** (losses.air_cents / 1200),
        damping_ratio=losses.damping_ratio,
        shapes=modes.shapes.recombined(np.diag(1 / np.sqrt(losses.mass_factor))),
        labels=modes.labels,
    )


def modes_up_to(
    solve: Callable[[int], Modes], up_to_hz: float, at_least: int, expected: float = 0.0
) -> Modes:
    """Solve for more and more modes until one lies above a frequency, and cut there.

    Parameters
    ----------
    solve : callable
        Gives the modes for a number of them.
    up_to_hz : float
        [Hz]
    at_least : int
        Number of modes to keep in any case.
    expected : float
        Estimate of how many there are, if there is one; where it is large, the first solution asks
        for so many, and where it is far too large, for none.

    Returns
    -------
    Modes

    Raises
    ------
    SolveError
        If there are more than the core has room for.
    """
    if expected > _HOPELESS * _MOST_MODES:
        raise SolveError(
            f"modes: expected at most {_MOST_MODES} below {up_to_hz:.0f} Hz, got a sheet so thin "
            f"that it has about {expected:.0f}.",
            hint="Lower loop.highest_mode.",
        )
    number = max(_FIRST_COUNT, at_least)
    if expected > _MANY * number:
        number = min(int(np.ceil(expected * _FEW_MORE)), _MOST_MODES)
    modes = solve(number)
    while modes.freq_hz[-1] < up_to_hz:
        if number >= _MOST_MODES:
            raise SolveError(
                f"modes: expected at most {_MOST_MODES} below {up_to_hz:.0f} Hz, got as many below "
                f"{modes.freq_hz[-1]:.0f} Hz.",
                hint="Lower loop.highest_mode.",
            )
        # Modes of a sheet are about evenly spaced in frequency: ask for what is missing.
        reached = float(modes.freq_hz[-1]) / up_to_hz
        wanted = max(number * _GROWTH, min(number / reached * 1.1, 4 * number))
        number = min(int(np.ceil(wanted)), _MOST_MODES)
        modes = solve(number)
    inside = int(np.searchsorted(modes.freq_hz, up_to_hz))
    return modes.first(max(inside, at_least))


def _kept_or_solved(
    blank: Blank,
    solid: IsotropicSolid,
    count: int,
    accuracy: Accuracy,
    progress: Callable[[str], None] | None,
) -> Modes:
    key = fingerprint(blank, solid, count, accuracy, REVISION)
    kept = kept_arrays("modes", key)
    if kept is not None:
        return modes_from_arrays(kept)
    modes = solve_modes(blank, solid, count=count, accuracy=accuracy, progress=progress)
    keep_arrays("modes", key, modes_to_arrays(modes))
    return modes


def _expanded(modes: Modes, ratio: float) -> Modes:
    """Frequencies of the body as it has grown with temperature."""
    return modes.with_freq(modes.freq_hz * ratio)


def moves_at(shapes: ModeShapes, point_m: tuple[float, float]) -> NDArray[np.bool_]:
    """Whether each mode moves a place normal to the sheet by more than a sliver of its largest.

    Returns
    -------
    bool array, shape (modes,)
    """
    normal = shapes.displacement(np.array([point_m]))[0, 2]
    return np.abs(normal) > _STILL_SHARE * shapes.peak


def _bends_normally(body: LossBody) -> NDArray[np.bool_]:
    """Whether each mode bends the body along z: on soft pads the lowest slide, bounce and rock."""
    if body.pads is None:
        return body.surface.moves_normally
    return body.surface.moves_normally & (body.pads.energy_share < 0.5)


def _reference(
    design: Design, blank: Blank, modes: Modes, is_normal: NDArray[np.bool_]
) -> NamedPoint:
    chosen = _chosen_reference(design, blank)
    candidates = blank.named_points if chosen is None else (chosen,)
    if not is_normal.any():
        # Nothing bends along z: no place is better than another.
        return candidates[0]
    first = int(np.argmax(is_normal))
    for named in candidates:
        if moves_at(modes.shapes, named.point_m)[first]:
            return named
    problem = Problem(
        what="reference_point",
        expected=f"a place that {modes.labels[first]}, the lowest that bends along z, moves",
        got=f"{candidates[0].name} at {place_mm(candidates[0].point_m)}, held or on a node line",
        hint="Name a point that moves, or give reference_point.point.",
    )
    raise BodyError([problem])


def _chosen_reference(design: Design, blank: Blank) -> NamedPoint | None:
    """What the design asks for; None if it leaves the choice."""
    wanted = design.reference_point
    if wanted.point_m is not None:
        return NamedPoint(name="reference point", point_m=wanted.point_m)
    if not wanted.name:
        return None
    # That there is one of this name has been seen to when the parts were put in their places.
    return next(named for named in blank.named_points if named.name == wanted.name)
