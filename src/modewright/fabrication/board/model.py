"""What a board is made of, before any file is written.

Places are in the axes of the design, seen from above: the upper face of the board looks at the
lower face of the sheet, so nothing is mirrored.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Literal

import shapely
from shapely import Polygon

from modewright.geometry.corners import circle
from modewright.geometry.planar import loop_polygon

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

    from modewright.geometry.loop import Loop
    from modewright.transducers.guard import Guard
    from modewright.transducers.perforation import Perforation

__all__ = [
    "Board",
    "BoardPlate",
    "Copper",
    "Disc",
    "Hole",
    "Net",
    "Role",
    "Side",
    "disc_copper",
    "parts_of",
]

Side = Literal["top", "bottom"]
Role = Literal["plate", "guard", "lead", "via", "pin", "fiducial", "coupon"]


@dataclass(frozen=True, slots=True, kw_only=True)
class BoardPlate:
    """A pickup plate that a board is to carry.

    Parameters
    ----------
    name : str
        Of its pickup.
    loop : Loop
        Its outline.
    area_m2 : float
        Its area in the model, by which the copper is judged. [m²]
    bias_v : float
        Bias against the sheet, which is earthed. [V]
    guard : Guard or None
    ring : Polygon or None
        Copper of the guard. [m]
    holes : Perforation or None
        Through the plate, for its air.
    """

    name: str
    loop: Loop
    area_m2: float
    bias_v: float
    guard: Guard | None = None
    ring: Polygon | None = None
    holes: Perforation | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Net:
    """Copper that is joined.

    Parameters
    ----------
    name : str
    owner : str
        Pickup that it belongs to; copper of one owner is at one potential. Empty for none.
    voltage_v : float
        Largest voltage against earth. [V]
    """

    name: str
    owner: str
    voltage_v: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Disc:
    """A round place. [m]"""

    centre_m: tuple[float, float]
    diameter_m: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Copper:
    """One piece of copper on one face.

    Parameters
    ----------
    net : Net
    role : str
        What it is for.
    side : {"top", "bottom"}
    area : Polygon
        With holes, arcs in straight pieces of the same area. [m]
    loop : Loop or None
        The same with its arcs, where it has no holes.
    disc : Disc or None
        The same, where it is round.
    """

    net: Net
    role: Role
    side: Side
    area: Polygon
    loop: Loop | None = None
    disc: Disc | None = None


def parts_of(area: BaseGeometry) -> list[Polygon]:
    """Polygons that an area is made of."""
    found = [part for part in shapely.get_parts(area) if isinstance(part, Polygon)]
    return [part for part in found if not part.is_empty]


def disc_copper(net: Net, role: Role, side: Side, disc: Disc) -> Copper:
    """Round copper."""
    loop = circle(disc.centre_m, disc.diameter_m)
    return Copper(net=net, role=role, side=side, area=loop_polygon(loop), loop=loop, disc=disc)


@dataclass(frozen=True, slots=True, kw_only=True)
class Hole:
    """A drilled hole.

    Parameters
    ----------
    disc : Disc
        The finished hole.
    net : Net or None
        Whose copper lines it; None for a bare hole.
    kind : {"via", "pin", "screw", "vent"}
    """

    disc: Disc
    net: Net | None
    kind: Literal["via", "pin", "screw", "vent"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Board:
    """A board, ready to be checked and written.

    Parameters
    ----------
    name : str
        Such as ``board_1``, with which its files begin.
    outline : Polygon
        Routed edge. [m]
    copper : tuple of Copper
    holes : tuple of Hole
    openings : dict
        Where the solder mask of each face is left out. [m]
    plates : tuple of BoardPlate
    gap_m : float
        Air from the upper face of the copper to the lower face of the sheet at the middle of the
        first plate. [m]
    tilt : tuple of two floats
        Growth of that gap per length along x and y.
    pins : tuple of (str, tuple of two floats)
        What each pin of the connector bears, and where it is. [m]
    """

    name: str
    outline: Polygon
    copper: tuple[Copper, ...]
    holes: tuple[Hole, ...]
    openings: dict[Side, tuple[Polygon, ...]] = field(
        default_factory=dict[Side, "tuple[Polygon, ...]"]
    )
    plates: tuple[BoardPlate, ...]
    gap_m: float
    tilt: tuple[float, float]
    pins: tuple[tuple[str, tuple[float, float]], ...]

    def on(self, side: Side) -> tuple[Copper, ...]:
        """Copper of one face."""
        return tuple(copper for copper in self.copper if copper.side == side)
