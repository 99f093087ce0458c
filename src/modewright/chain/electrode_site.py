"""Where plates may lie under a body, and what plates there hear of its modes."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import Point, Polygon

from modewright.errors import ModeProblemsError, Problem, TransducerError
from modewright.geometry.planar import loop_polygon
from modewright.modes.address import ModeAddressError, mode_number
from modewright.transducers.gap import EPSILON_0, normal_displacement
from modewright.transducers.guard import Guard, outer_outline
from modewright.transducers.pickup_gap import pickup_gap
from modewright.transducers.plate import AreaPoints, PolygonPlate
from modewright.transducers.underside import Underside, underside_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray
    from shapely.geometry.base import BaseGeometry

    from modewright.chain.body import Body
    from modewright.electrodes.settings import ElectrodeSettings
    from modewright.modes.basis import ModeShapes
    from modewright.transducers.capacitive_pickup import CapacitivePickup
    from modewright.transducers.operating_point import OperatingPoint

__all__ = [
    "ElectrodeSite",
    "coupling_density",
    "electrode_site",
    "heard_by_plates",
    "pickup_with",
]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ElectrodeSite:
    """A body over the area that plates may take.

    Parameters
    ----------
    pickup : CapacitivePickup
        Gap at `middle_m`, tilt, bias and preamplifier of the plates.
    middle_m : tuple of float
        Middle of the area. [m]
    below : Underside
    shapes : ModeShapes
        As biased, mass-normalised: of one coordinate each mode moves the body equally in the mean.
    rest : float array, shape (modes,)
        Where the body rests under the pull of magnets and bias, in those modes. [m sqrt(kg)]
    room : Polygon or MultiPolygon
        Where copper may be. [m]
    hear, reject : tuple of int
        Numbers of the modes, from 0.
    labels : tuple of str
        Of all modes.
    slit_m : float
        Between a plate and its guard. [m]
    guard_m : float
        Width of the guard; 0 for none. [m]
    datum_m : tuple of float
        Place at which board and body are fixed to each other. [m]
    growth_per_k : float
        By how much the board grows more than the body. [1/K]
    """

    pickup: CapacitivePickup
    middle_m: tuple[float, float]
    below: Underside
    shapes: ModeShapes
    rest: NDArray[np.float64]
    room: BaseGeometry
    hear: tuple[int, ...]
    reject: tuple[int, ...]
    labels: tuple[str, ...]
    slit_m: float
    guard_m: float
    datum_m: tuple[float, float]
    growth_per_k: float

    @property
    def modes(self) -> list[int]:
        """Numbers of the modes to hear, then of those to reject, from 0."""
        return [*self.hear, *self.reject]

    @property
    def guard(self) -> Guard | None:
        """The guard around every plate."""
        return Guard(width_m=self.guard_m, gap_m=self.slit_m) if self.guard_m > 0 else None


def electrode_site(body: Body, point: OperatingPoint, settings: ElectrodeSettings) -> ElectrodeSite:
    """Find the room for plates and the modes that they shall hear.

    Parameters
    ----------
    body : Body
    point : OperatingPoint
        With the pickups of the design; what shaped plates pull in their stead hardly bends a body.
    settings : ElectrodeSettings

    Returns
    -------
    ElectrodeSite

    Raises
    ------
    ModeProblemsError
        If a mode is unknown, or named twice by number and label.
    TransducerError
        If the pickup is unknown or nothing is left of the area.
    """
    basis = point.basis
    hear, reject = _numbers(settings, basis.labels)
    pickup = _chosen_pickup(body.pickups, settings.pickup)
    below = underside_of(body.blank)
    room = _room(body, below, settings, pickup)
    middle = room.centroid
    hold = body.blank.hold
    held = [] if hold is None else [*hold.edge_curves_m, *(area.vertices_m for area in hold.areas)]
    datum_m = np.concatenate(held).mean(axis=0) if held else np.array([middle.x, middle.y])
    tolerances = settings.tolerances
    return ElectrodeSite(
        pickup=pickup,
        middle_m=(middle.x, middle.y),
        below=below,
        shapes=basis.shapes,
        rest=point.coordinate,
        room=room,
        hear=hear,
        reject=reject,
        labels=tuple(basis.labels),
        slit_m=settings.space_m,
        guard_m=settings.guard_m,
        datum_m=(float(datum_m[0]), float(datum_m[1])),
        growth_per_k=tolerances.board_expansion_per_k - body.material.expansion_per_k.value,
    )


def _numbers(
    settings: ElectrodeSettings, labels: Sequence[str]
) -> tuple[tuple[int, ...], tuple[int, ...]]:
    problems: list[Problem] = []
    numbers: dict[str, list[int]] = {"hear": [], "reject": []}
    for key, addresses in (("hear", settings.hear), ("reject", settings.reject)):
        for address in addresses:
            what = f"electrodes.{key}"
            try:
                number = mode_number(address, labels)
            except ModeAddressError as error:
                problems.append(
                    Problem(what=what, expected=error.expected, got=str(address), hint=error.hint)
                )
                continue
            if number - 1 in (*numbers["hear"], *numbers["reject"]):
                got = f'mode {number}, "{labels[number - 1]}", twice'
                problems.append(Problem(what=what, expected="each mode once", got=got))
            numbers[key].append(number - 1)
    if problems:
        raise ModeProblemsError(problems)
    return tuple(numbers["hear"]), tuple(numbers["reject"])


def _chosen_pickup(pickups: tuple[CapacitivePickup, ...], name: str) -> CapacitivePickup:
    if not pickups:
        raise TransducerError(
            "expected a pickup in the design, got none.",
            hint="Add [[pickups]]: plates take over its gap, bias and preamplifier.",
            key="electrodes.pickup",
        )
    for pickup in pickups:
        if name in ("", pickup.name):
            return pickup
    known = ", ".join(pickup.name for pickup in pickups)
    raise TransducerError(f"expected one of {known}, got {name}.", key="electrodes.pickup")


def _room(
    body: Body, below: Underside, settings: ElectrodeSettings, chosen: CapacitivePickup
) -> BaseGeometry:
    """Under the sheet, clear of its edges, jaws, poles and other plates."""
    clear_m = settings.clearance_m
    room: BaseGeometry = below.plan.buffer(-clear_m, join_style="mitre")
    if settings.area_m:
        room = room.intersection(Polygon(settings.area_m))
    areas = () if body.blank.hold is None else body.blank.hold.areas
    taken: list[BaseGeometry] = [loop_polygon(loop) for loop in areas]
    taken += [
        outer_outline(pickup.placed_plate, pickup.guard)
        for pickup in body.pickups
        if pickup is not chosen
    ]
    taken += [
        Point(mass.centre_m).buffer(mass.footprint_radius_m)
        for mass in body.blank.masses
        if mass.side == "bottom"
    ]
    taken += [Point(rest).buffer(settings.track_m) for rest in body.blank.rests_m]
    room = room.difference(shapely.union_all([one.buffer(clear_m) for one in taken]))
    parts = [part for part in shapely.get_parts(room) if part.area > settings.track_m**2]
    if not parts:
        raise TransducerError(
            "expected room for plates under the sheet, got none.",
            hint="Enlarge the area or make the clearance smaller.",
            key="electrodes.area",
        )
    return shapely.union_all(parts)


def pickup_with(site: ElectrodeSite, plate: Polygon) -> CapacitivePickup:
    """The pickup with another plate in the same plane and with the site's guard.

    Parameters
    ----------
    site : ElectrodeSite
    plate : Polygon
        Without holes. [m]

    Returns
    -------
    CapacitivePickup
    """
    # Tenths of a micrometre, as the design file writes them.
    corners = tuple(
        (round(x * 1e3, 4) / 1e3, round(y * 1e3, 4) / 1e3)
        for x, y in list(plate.exterior.coords)[:-1]
    )
    shape = PolygonPlate(corners_m=corners)
    here = shape.area_points().centroid_m[None]
    pickup = site.pickup
    return replace(
        pickup,
        plate=shape,
        gap_m=float(_plane_m(site, here)[0]),
        guard=site.guard,
    )


def _plane_m(site: ElectrodeSite, points_m: NDArray[np.float64]) -> NDArray[np.float64]:
    """Gap over places of the board. [m]"""
    pickup, middle_m = site.pickup, np.array([site.middle_m])
    slope = np.array([pickup.tilt_x, pickup.tilt_y])
    rise_m = site.below.height_m(points_m) - site.below.height_m(middle_m)
    return pickup.gap_m + (points_m - middle_m) @ slope + rise_m


def coupling_density(site: ElectrodeSite, points_m: NDArray[np.float64]) -> NDArray[np.float64]:
    """What an area of plate hears of the modes of the site, the field at rims left out.

    Parameters
    ----------
    site : ElectrodeSite
    points_m : float array, shape (points, 2)
        Under the sheet. [m]

    Returns
    -------
    float array, shape (points, modes)
        Change of capacitance per area and modal coordinate, ``-ε0 φ/g²``. [F/(m³ sqrt(kg))]
    """
    area = AreaPoints(points_m=points_m, weight_m2=np.ones(len(points_m)))
    opening = normal_displacement(site.pickup.name, site.shapes, area)
    gap_m = _plane_m(site, points_m) + opening @ site.rest
    return -EPSILON_0 * opening[:, site.modes] / gap_m[:, None] ** 2


def heard_by_plates(site: ElectrodeSite, plates: Sequence[Polygon]) -> NDArray[np.float64]:
    """What plates hear of the modes of the site, as a pickup's gap with guard and rim does.

    Parameters
    ----------
    site : ElectrodeSite
    plates : sequence of Polygon
        [m]

    Returns
    -------
    float array, shape (plates, modes)
        Change of capacitance per modal coordinate. [F/(m sqrt(kg))]

    Raises
    ------
    TransducerError
        If the sheet covers nothing of one, or comes down to it.
    """
    return np.array([_heard(site, plate) for plate in plates])


def _heard(site: ElectrodeSite, plate: Polygon) -> NDArray[np.float64]:
    gap = pickup_gap(pickup_with(site, plate), site.shapes, site.below).gap
    if float((gap.gap_m - gap.filled_m + gap.opening @ site.rest).min()) <= 0:
        raise TransducerError(
            "expected plates clear of the body at rest, got one that it comes down to.",
            hint="Widen the gap or weaken what pulls the body.",
            key="electrodes",
        )
    return gap.moved(site.rest).slope[site.modes]
