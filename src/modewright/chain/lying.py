"""Whether a body that only lies on its supports stays there under the pull of magnets."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy.constants import g as gravity_m_per_s2
from shapely import MultiPoint, Point

from modewright.errors import TransducerError
from modewright.geometry.planar import loop_polygon
from modewright.losses.surface import surface_motion

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    from modewright.chain.body import Body
    from modewright.transducers.operating_point import OperatingPoint

__all__ = ["check_lies_still"]

_CELLS = 400


@dataclass(frozen=True, slots=True, kw_only=True)
class _Lift:
    """Force on the body along z, > 0 upwards."""

    name: str
    key: str
    force_n: float
    place_m: tuple[float, float]


def check_lies_still(body: Body, point: OperatingPoint) -> None:
    """Compare the pulls on a body that nothing holds down with its weight.

    Parameters
    ----------
    body : Body
        Its z axis points upwards.
    point : OperatingPoint
        Of that body.

    Raises
    ------
    TransducerError
        If the pulls lift it, or tip it off the lines on which it lies; with the key of the pole
        that pulls most.

    Notes
    -----
    Weight and pulls together must press downwards, and their resultant must pass between the
    supports, which can only push (statics of a rigid body).
    """
    rests = [end for line in body.blank.rests_m for end in line]
    lifts = tuple(_lifts(body, point))
    upwards = [lift for lift in lifts if lift.force_n > 0]
    if not upwards or not (body.blank.hold is None or rests):
        return
    weight_n = body.modes.body_mass_kg * gravity_m_per_s2
    pressing_n = weight_n - sum(lift.force_n for lift in lifts)
    strongest = max(upwards, key=lambda lift: lift.force_n)
    got = f"{sum(lift.force_n for lift in upwards):.3g} N upwards"
    if pressing_n <= 0:
        raise TransducerError(
            f"{strongest.name}: expected a pull below the weight of the body, "
            f"{weight_n:.3g} N, as nothing holds it down, got {got}: it lifts off.",
            hint="Weaken the bias, widen the gap or hold the body.",
            key=strongest.key,
        )
    moment = weight_n * _centre_of_mass_m(body)
    moment = moment - np.sum([lift.force_n * np.array(lift.place_m) for lift in lifts], axis=0)
    if rests and not MultiPoint(rests).convex_hull.covers(Point(moment / pressing_n)):
        raise TransducerError(
            f"{strongest.name}: expected a pull that leaves the body on both its supports, got "
            f"{got}, which tips it off one.",
            hint="Weaken the bias, widen the gap or move it between the supports.",
            key=strongest.key,
        )


def _lifts(body: Body, point: OperatingPoint) -> Iterator[_Lift]:
    for pickup, gap in zip(body.pickups, point.pickup_gaps, strict=True):
        centre = loop_polygon(pickup.placed_plate.loop).centroid
        place_m = (centre.x, centre.y)
        yield _Lift(name=gap.name, key=gap.key, force_n=-gap.pull_n, place_m=place_m)
    for driver, gap in zip(body.drivers, point.driver_gaps, strict=True):
        pole = driver.pole_face
        if gap is not None and pole is not None:
            force_n = gap.pull_n if pole.is_above else -gap.pull_n
            yield _Lift(name=gap.name, key=gap.key, force_n=force_n, place_m=pole.centre_m)


def _centre_of_mass_m(body: Body) -> NDArray[np.float64]:
    density = body.material.solid.density_kg_per_m3
    surface = surface_motion(body.blank, body.modes.shapes, density, cells=_CELLS)
    return surface.mass_kg @ surface.points_m / surface.mass_kg.sum()
