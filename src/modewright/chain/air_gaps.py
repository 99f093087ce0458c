"""Air films of a design: between the sheet and the plates and poles that face it."""

from __future__ import annotations

from contextlib import contextmanager
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from shapely import Point, Polygon

from modewright.errors import BodyError, GeometryError, Remark
from modewright.geometry.flatten import flatten
from modewright.losses.films import AirFilm, FilmCells, film_cells, films_under_sheet
from modewright.losses.hole_cells import HoleCells
from modewright.losses.squeeze_film import squeeze_film_reaction
from modewright.losses.surface import SAGITTA_M
from modewright.transducers.underside import underside_of

if TYPE_CHECKING:
    from collections.abc import Generator

    from numpy.typing import NDArray

    from modewright.design.schema import Design
    from modewright.geometry.blank import Blank
    from modewright.materials.air import Air
    from modewright.modes.basis import ModalBasis
    from modewright.transducers.capacitive_pickup import CapacitivePickup
    from modewright.transducers.driver import PoleFace
    from modewright.transducers.perforation import Perforation
    from modewright.transducers.underside import Underside

__all__ = ["PlacedFilm", "design_films", "film_changes", "hole_cells", "plate_reaction"]


# Cells along a film for the change of its damping: a few percent of that change in an eighth of the
# time.
_COARSE = 14


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PlacedFilm:
    """An air film and the transducer it belongs to.

    Parameters
    ----------
    name : str
        Name of the transducer.
    key : str
        Key of the design file that sets its gap.
    cells, coarse_cells : FilmCells
        With the body at rest as drawn; the coarse ones serve to find small changes.
    opens_upwards : bool
        Whether the gap grows when the sheet moves up, as over a plate; otherwise it shrinks, as
        under a pole above the sheet.
    """

    name: str
    key: str
    cells: FilmCells
    coarse_cells: FilmCells
    opens_upwards: bool

    def bent(self, basis: ModalBasis, coordinate: NDArray[np.float64]) -> FilmCells:
        """Coarse cells of the film with the sheet held at these modal coordinates.

        Raises
        ------
        BodyError
            If the sheet touches the plate or pole.
        """
        cells = self.coarse_cells
        lift_m = basis.shapes.displacement(cells.points_m)[:, 2, :] @ coordinate
        with _closings(self.name, self.key):
            return cells.moved(lift_m if self.opens_upwards else -lift_m)


def design_films(design: Design, blank: Blank) -> tuple[PlacedFilm, ...]:
    """Air films of a design, with the body as drawn.

    Parameters
    ----------
    design : Design
        With its parts in their places.
    blank : Blank

    Returns
    -------
    tuple of PlacedFilm
        None if the design leaves squeeze films out.

    Raises
    ------
    BodyError
        If a gap closes somewhere; with its key.
    """
    if not design.losses.squeeze_film:
        return ()
    below = underside_of(blank)
    found: list[PlacedFilm] = []
    for number, pickup in enumerate(design.pickups, 1):
        key = f"pickups[{number}].gap"
        with _closings(pickup.name, key):
            found += [
                _film(film, pickup.name, key, opens_upwards=True)
                for film in _under_sheet(pickup, below)
            ]
    for number, driver in enumerate(design.drivers, 1):
        key, pole = f"drivers[{number}].gap", driver.pole_face
        if pole is None:
            continue
        with _closings(driver.name, key):
            found += [
                _film(film, driver.name, key, opens_upwards=not pole.is_above)
                for film in _facing_pole(pole, below.plan)
            ]
    return tuple(found)


def film_changes(
    films: tuple[PlacedFilm, ...],
    basis: ModalBasis,
    air: Air,
    coordinate: NDArray[np.float64],
) -> dict[str, NDArray[np.complex128]]:
    """What the films do more when the sheet rests elsewhere than drawn.

    Parameters
    ----------
    films : tuple of PlacedFilm
    basis : ModalBasis
        Damped by these films with the body as drawn.
    air : Air
    coordinate : float array, shape (modes,)
        Where the body rests. [m sqrt(kg)]

    Returns
    -------
    dict from cause to complex array, shape (modes,)
        Modal dynamic stiffness to be added: i ω² times the change in loss factor + i times the
        share of air that swings along. [1/s²]

    Raises
    ------
    BodyError
        If the sheet touches a plate or pole.
    """
    found: dict[str, NDArray[np.complex128]] = {}
    for film in films:
        drawn, bent = (
            squeeze_film_reaction(basis.freq_hz, basis.shapes, cells, air)
            for cells in (film.coarse_cells, film.bent(basis, coordinate))
        )
        more = 1j * (bent - drawn) * basis.omega_rad_s**2
        cause = f"{film.name}: film at rest"
        found[cause] = found.get(cause, np.zeros_like(more)) + more
    return found


def _film(film: AirFilm, name: str, key: str, *, opens_upwards: bool) -> PlacedFilm:
    return PlacedFilm(
        name=name,
        key=key,
        cells=film_cells(film),
        coarse_cells=film_cells(film, along=_COARSE),
        opens_upwards=opens_upwards,
    )


def _under_sheet(pickup: CapacitivePickup, below: Underside) -> tuple[AirFilm, ...]:
    plate = AirFilm(
        area=Polygon(flatten(pickup.placed_plate.loop, SAGITTA_M)),
        gap_m=pickup.gap_m,
        slope=(pickup.tilt_x, pickup.tilt_y),
        height_m=below.height_m,
        holes=None if pickup.holes is None else hole_cells(pickup.holes),
    )
    return films_under_sheet(below.plan, plate)


def plate_reaction(
    pickup: CapacitivePickup,
    below: Underside,
    basis: ModalBasis,
    air: Air,
) -> NDArray[np.complex128]:
    """What the film over one plate does, in coarse cells: to compare gaps and holes with.

    Parameters
    ----------
    pickup : CapacitivePickup
        In its place.
    below : Underside
    basis : ModalBasis
    air : Air

    Returns
    -------
    complex array, shape (modes,)
        As from `modewright.losses.squeeze_film.squeeze_film_reaction`.

    Raises
    ------
    GeometryError
        If the gap closes somewhere.
    """
    found = np.zeros(len(basis.freq_hz), dtype=np.complex128)
    for film in _under_sheet(pickup, below):
        cells = film_cells(film, along=_COARSE)
        found += squeeze_film_reaction(basis.freq_hz, basis.shapes, cells, air)
    return found


def hole_cells(holes: Perforation) -> HoleCells:
    """Holes of a plate as the air sees them."""
    return HoleCells(cell_m2=holes.pitch_m**2, radius_m=holes.diameter_m / 2, depth_m=holes.depth_m)


def _facing_pole(pole: PoleFace, plan: Polygon) -> tuple[AirFilm, ...]:
    """Over iron that is glued on the film goes on where the sheet has holes."""
    disc = AirFilm(area=Point(pole.centre_m).buffer(pole.diameter_m / 2), gap_m=pole.gap_m)
    return (disc,) if pole.faces_armature else films_under_sheet(plan, disc)


@contextmanager
def _closings(name: str, key: str) -> Generator[None]:
    """Give a film that closes the key of its gap."""
    try:
        yield
    except GeometryError as error:
        raise BodyError([Remark(key=key, text=f"{name}: {error}")]) from error
