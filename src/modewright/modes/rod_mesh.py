"""Curved tetrahedra of a turned rod, in rings and layers that follow its dimensions.

A rod of any dimensions is the image of one reference body: regular hexagons, ring k of radius k,
stretched from plane to plane. The image takes hexagons to circles, planes to where they stand. So
the mesh changes smoothly with every diameter and length, and two rods with the same sequence of
steps share it. Where the diameter steps, the thicker side has a ring more.

One of the doors to the mesh library, whose Python side carries no types: hence the switches below.
"""

# pyright: reportUnknownMemberType=false, reportUnknownVariableType=false
# pyright: reportUnknownArgumentType=false, reportAttributeAccessIssue=false
# pyright: reportUnknownParameterType=false, reportMissingTypeStubs=false

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import netgen.meshing
import ngsolve as ng
import numpy as np

from modewright.errors import GeometryError
from modewright.modes.rod_rings import rings_of
from modewright.modes.tetrahedron_nodes import tetrahedron_nodes
from modewright.modes.volume_shape import HELD, is_in_box

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    from modewright.geometry.solid_shape import FaceChoice, TurnedRod
    from modewright.modes.rod_rings import RodRings

__all__ = ["RodMesh", "mesh_rod"]

_MM = 1e3
_SIDES = 6
_FREE = "free"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RodMesh:
    """Mesh of a rod and of every other one with the same sequence of steps.

    Parameters
    ----------
    reference : Mesh
        Of the reference body; a domain for every ring of every stretch.
    rod : TurnedRod
    layers : tuple of int
        Of each stretch.
    """

    reference: ng.Mesh
    rod: TurnedRod
    layers: tuple[int, ...]

    def curved(self, order: int) -> ng.Mesh:
        """The mesh, in millimetres, with sides of this order."""
        space = ng.VectorH1(self.reference, order=order)
        field = ng.GridFunction(space)
        field.vec.FV().NumPy()[:] = self.motion(self.rod, order)
        self.reference.SetDeformation(field)
        return self.reference

    def stretched(self, rod: TurnedRod) -> float:
        """Largest factor by which another rod changes the ratio of length to width of a stretch.

        Parameters
        ----------
        rod : TurnedRod
            With as many stretches.

        Raises
        ------
        GeometryError
            If its steps go otherwise.
        """
        before, after = self._rings_like(self.rod), self._rings_like(rod)
        ratios = [
            np.diff(rings.places_m) / [radii[:, -1].mean() for radii in rings.radii_m]
            for rings in (before, after)
        ]
        change = ratios[1] / ratios[0]
        return float(np.maximum(change, 1 / change).max())

    def motion(self, rod: TurnedRod, order: int) -> NDArray[np.float64]:
        """How the reference body becomes a rod. The mesh is left as that of the reference body.

        Parameters
        ----------
        rod : TurnedRod
            With the same sequence of steps.
        order : int

        Returns
        -------
        float array, shape (unknowns,)
            Of a vector field of that order. [mm]

        Raises
        ------
        GeometryError
            If its steps go otherwise.
        """
        rings = self._rings_like(rod)
        mesh = self.reference
        mesh.UnsetDeformation()
        nodes = tetrahedron_nodes(mesh, order)
        image_m = _image(nodes.places, nodes.domain, rings, self.layers, rod.height_m / 2)
        return nodes.unknowns_of(image_m * _MM - nodes.places)

    def _rings_like(self, rod: TurnedRod) -> RodRings:
        rings = rings_of(rod)
        if rings.counts != rings_of(self.rod).counts:
            raise GeometryError(
                "rod: expected the same sequence of steps, got one where another side is thicker.",
                hint="Where two diameters are equal, let them differ a little.",
            )
        return rings


def mesh_rod(rod: TurnedRod, faces: FaceChoice | None, size_m: float) -> RodMesh:
    """Mesh a rod.

    Parameters
    ----------
    rod : TurnedRod
    faces : FaceChoice or None
        Held faces; they get the name `HELD`.
    size_m : float
        Longest layer. [m]

    Returns
    -------
    RodMesh

    Raises
    ------
    GeometryError
        If no face is chosen by a choice.
    """
    rings = rings_of(rod)
    layers = tuple(int(np.ceil(length / size_m)) for length in np.diff(rings.places_m))
    builder = netgen.meshing.Mesh(3)
    points = _points(builder, rings, layers)
    is_held = False
    for number, face in enumerate(_faces(rod, rings, layers), 1):
        builder.Add(netgen.meshing.FaceDescriptor(surfnr=number, domin=1, domout=0, bc=number))
        chosen = faces is not None and is_in_box(face.low_m, face.high_m, faces)
        builder.SetBCName(number - 1, HELD if chosen else _FREE)
        is_held = is_held or chosen
        for triangle in face.triangles:
            corners = [points[corner] for corner in triangle]
            builder.Add(netgen.meshing.Element2D(number, corners))
    if faces is not None and not is_held:
        raise GeometryError(
            "held faces: expected at least one, got none of these names or wholly in this box.",
            hint="A box must reach a little beyond the faces it holds.",
        )
    _fill(builder, points, rings, layers)
    return RodMesh(reference=ng.Mesh(builder), rod=rod, layers=layers)


# Centre, or corner of a hexagon: plane, ring (0 for the centre), side.
_Corner = tuple[int, int, int]


def _section(first: int, last: int) -> Iterator[tuple[int, tuple[tuple[int, int], ...]]]:
    """Triangles of some rings of a section: ring, then corners by ring and side.

    Inner corners come before outer ones, and else in the way around: all quarrels about diagonals
    are settled by that, alike for every side.
    """
    for ring in range(first, last):
        for side in range(_SIDES):
            after = (side + 1) % _SIDES
            outer = ((ring + 1, side), (ring + 1, after))
            if ring == 0:
                yield ring, ((0, 0), *outer)
            else:
                yield ring, ((ring, side), *outer)
                yield ring, ((ring, side), (ring, after), (ring + 1, after))


def _is_clockwise(corners: tuple[tuple[int, int], ...]) -> bool:
    """Whether a triangle of a section, two of whose corners lie within, runs clockwise."""
    return corners[0][0] == corners[1][0]


def _planes(layers: tuple[int, ...]) -> NDArray[np.int64]:
    """Number of the plane at which each stretch begins, and of the last one."""
    return np.concatenate([[0], np.cumsum(layers)])


def _points(
    builder: Any,  # noqa: ANN401 - untyped library
    rings: RodRings,
    layers: tuple[int, ...],
) -> dict[_Corner, Any]:
    """Corners of the reference body."""
    planes = _planes(layers)
    most = np.zeros(planes[-1] + 1, dtype=int)
    for number, count in enumerate(rings.counts):
        some = slice(planes[number], planes[number + 1] + 1)
        most[some] = np.maximum(most[some], count)
    points: dict[_Corner, Any] = {}
    for plane, count in enumerate(most.tolist()):
        points[plane, 0, 0] = _added(builder, plane, 0.0, 0.0)
        for ring in range(1, count + 1):
            for side in range(_SIDES):
                angle = 2 * np.pi * side / _SIDES
                points[plane, ring, side] = _added(
                    builder, plane, ring * np.cos(angle), ring * np.sin(angle)
                )
    return points


def _added(builder: Any, x: float, y: float, z: float) -> Any:  # noqa: ANN401 - untyped library
    return builder.Add(netgen.meshing.MeshPoint(netgen.meshing.Pnt(float(x), float(y), float(z))))


def _fill(
    builder: Any,  # noqa: ANN401 - untyped library
    points: dict[_Corner, Any],
    rings: RodRings,
    layers: tuple[int, ...],
) -> None:
    """Three tetrahedra for every triangle of every layer."""
    planes = _planes(layers)
    domain = 0
    for number, count in enumerate(rings.counts):
        for ring, (a, b, c) in _section(0, count):
            index = domain + ring + 1
            for plane in range(planes[number], planes[number + 1]):
                low = [points[plane, *corner] for corner in (a, b, c)]
                high = [points[plane + 1, *corner] for corner in (a, b, c)]
                for k in range(3):
                    corners = [*low[: k + 1], *high[k:]]
                    if _is_clockwise((a, b)) == (k % 2 == 1):
                        corners[:2] = corners[1::-1]
                    builder.Add(netgen.meshing.Element3D(index, corners))
        domain += count
    for index in range(1, domain + 1):
        builder.SetMaterial(index, f"ring {index}")


@dataclass(frozen=True, slots=True, kw_only=True)
class _Face:
    """A face of the rod: its box, and triangles of the reference body."""

    low_m: tuple[float, float, float]
    high_m: tuple[float, float, float]
    triangles: list[tuple[_Corner, _Corner, _Corner]]


def _faces(rod: TurnedRod, rings: RodRings, layers: tuple[int, ...]) -> Iterator[_Face]:
    planes, counts = _planes(layers), (0, *rings.counts, 0)
    axis_m = rod.height_m / 2

    def box(start_m: float, end_m: float, radius_m: float) -> dict[str, tuple[float, float, float]]:
        return {
            "low_m": (start_m, -radius_m, axis_m - radius_m),
            "high_m": (end_m, radius_m, axis_m + radius_m),
        }

    for number, plane in enumerate(planes.tolist()):
        few, many = sorted(counts[number : number + 2])
        if few == many:
            continue
        # Anticlockwise seen from outside.
        is_left = counts[number] < counts[number + 1]
        across = [
            _across(plane, corners, is_turned=is_left != _is_clockwise(corners))
            for _, corners in _section(few, many)
        ]
        place = float(rings.places_m[number])
        yield _Face(**box(place, place, rings.widest_m(number)), triangles=across)
    for number, count in enumerate(rings.counts):
        start, end = rings.places_m[number : number + 2].tolist()
        around = list(_around(range(planes[number], planes[number + 1]), count))
        yield _Face(**box(start, end, float(rings.radii_m[number][:, -1].max())), triangles=around)


def _across(
    plane: int, corners: tuple[tuple[int, int], ...], *, is_turned: bool
) -> tuple[_Corner, _Corner, _Corner]:
    a, b, c = ((plane, *corner) for corner in corners)
    return (a, c, b) if is_turned else (a, b, c)


def _around(planes: range, ring: int) -> Iterator[tuple[_Corner, _Corner, _Corner]]:
    """Triangles of the outside of a stretch."""
    for plane in planes:
        for side in range(_SIDES):
            after = (side + 1) % _SIDES
            yield (plane, ring, side), (plane, ring, after), (plane + 1, ring, after)
            yield (plane, ring, side), (plane + 1, ring, after), (plane + 1, ring, side)


def _image(
    places: NDArray[np.float64],
    domain: NDArray[np.int64],
    rings: RodRings,
    layers: tuple[int, ...],
    axis_m: float,
) -> NDArray[np.float64]:
    """Where places of the reference body go, shape (tetrahedra, places of one, 3). [m]"""
    stretch, ring = np.array(
        [(n, ring) for n, count in enumerate(rings.counts) for ring in range(count)]
    )[domain].T
    share = (places[..., 0] - _planes(layers)[stretch, None]) / np.array(layers)[stretch, None]
    # A ring more, of no width, at the centre.
    ends = [np.pad(radii, ((0, 0), (1, 0))) for radii in rings.radii_m]
    bounds = np.array([ends[n][:, k : k + 2] for n, k in zip(stretch, ring, strict=True)])
    inner, outer = np.moveaxis((1 - share)[..., None] * bounds[:, None, 0], -1, 0) + np.moveaxis(
        share[..., None] * bounds[:, None, 1], -1, 0
    )
    start, end = rings.places_m[stretch, None], rings.places_m[stretch + 1, None]
    size, way = _polar(places[..., 1], places[..., 2])
    within = size - ring[:, None]
    # The innermost ring turns from polygons to circles on its way out.
    is_core = ring[:, None] == 0
    radius = np.where(is_core, outer * within, inner + within * (outer - inner))
    roundness = np.where(is_core, within**2, 1.0)[..., None]
    flat = places[..., 1:] / np.where(size == 0, 1.0, size)[..., None]
    across = radius[..., None] * (flat + roundness * (way - flat))
    return np.concatenate(
        [
            (start + share * (end - start))[..., None],
            across + np.array([0.0, axis_m]),
        ],
        axis=-1,
    )


def _polar(
    y: NDArray[np.float64], z: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Radius of the polygon through each place, and the direction of its image.

    Even steps along a side become even steps of angle.
    """
    half = np.pi / _SIDES
    middles = half * (2 * np.arange(_SIDES) + 1)
    normal = np.multiply.outer(y, np.cos(middles)) + np.multiply.outer(z, np.sin(middles))
    angle = middles[normal.argmax(axis=-1)]
    normal = normal.max(axis=-1)
    along = z * np.cos(angle) - y * np.sin(angle)
    is_centre = normal == 0
    angle = angle + half * along / (np.where(is_centre, 1.0, normal) * np.tan(half))
    way = np.stack([np.cos(angle), np.sin(angle)], axis=-1)
    return normal / np.cos(half), np.where(is_centre[..., None], 0.0, way)
