"""Electrostatic fields of plate, guard and sheet by finite elements, to judge the tool's by.

Nothing is near them: the rim of the space, far away, lets no field through, so that plate and
sheet carry opposite charges. Lengths in mm; results over ε0 and per volt.
"""

from __future__ import annotations

import netgen.occ as occ
import ngsolve as ng
import numpy as np
import shapely
from shapely import LineString, MultiPolygon, Point, Polygon

_ELECTRODES = "plate|guard|sheet"


def _solved(
    mesh: ng.Mesh, order: int, weight: ng.CoefficientFunction, lift: ng.GridFunction, up: int
) -> tuple[float, float]:
    """Charge of the plate, and by how much it grows per length when the sheet rises."""
    space = ng.H1(mesh, order=order, dirichlet=_ELECTRODES)
    u, v = space.TnT()
    form = ng.BilinearForm(weight * ng.grad(u) * ng.grad(v) * ng.dx, symmetric=True)
    smoother = ng.Preconditioner(form, "bddc")
    form.Assemble()

    def field(of: dict[str, float]) -> ng.GridFunction:
        found = ng.GridFunction(space)
        found.Set(mesh.BoundaryCF(of, default=0.0), definedon=mesh.Boundaries(_ELECTRODES))
        rest = (-form.mat * found.vec).Evaluate()
        found.vec.data += ng.CGSolver(form.mat, smoother.mat, maxiter=600, tol=1e-8) * rest
        return found

    by_sheet, by_plate = field({"sheet": 1.0}), field({"plate": 1.0})
    charge = -ng.InnerProduct((form.mat * by_sheet.vec).Evaluate(), by_plate.vec)
    # What a mesh that moves by `lift` does to -∫ grad a grad b.
    a, b, rise = ng.grad(by_sheet), ng.grad(by_plate), ng.grad(lift)
    rate = rise[up] * (a * b) - a[up] * (rise * b) - b[up] * (rise * a)
    change = -ng.Integrate(weight * rate, mesh, order=2 * order)
    return float(charge), float(change)


def _lifted(mesh: ng.Mesh, share) -> ng.GridFunction:
    """Displacement upwards by places: 1 at the sheet, 0 at the plate, even in between."""
    lift = ng.GridFunction(ng.H1(mesh, order=1))
    for vertex in mesh.vertices:
        lift.vec[vertex.nr] = float(np.clip(share(vertex.point), 0.0, 1.0))
    return lift


def disc_over(
    *,
    radius: float,
    gap: float,
    sheet_radius: float,
    thickness: float,
    slit: float = 0.0,
    guard: float = 0.0,
) -> tuple[float, float]:
    """Round plate, thin, in a shallow can of guard if there is one, under a round sheet.

    Returns
    -------
    tuple of two floats
        C/ε0 and its change per rise of the sheet.
    """
    far = 8 * max(sheet_radius, radius + slit + guard)
    room = occ.MoveTo(0, -far).Rectangle(far, 2 * far).Face()
    room.edges.name = "rim"
    sheet = occ.MoveTo(0, gap).Rectangle(sheet_radius, thickness).Face()
    sheet.edges.name = "sheet"
    sheet.vertices.maxh = 0.03 * gap
    wires = [occ.Segment((0, 0, 0), (radius, 0, 0))]
    names = ["plate"]
    if guard > 0:
        low, inner = -8 * slit, radius + slit
        rim = inner + guard
        corners = [(inner, 0, 0), (rim, 0, 0), (rim, low, 0), (0, low, 0)]
        wires += [occ.Segment(corners[k], corners[k + 1]) for k in range(3)]
        names += ["guard"] * 3
    for wire, name in zip(wires, names, strict=True):
        wire.edges.name = name
        wire.vertices.maxh = 0.03 * min(gap, slit or gap)
    shape = occ.Glue([room - sheet, *wires])
    mesh = ng.Mesh(occ.OCCGeometry(shape, dim=2).GenerateMesh(maxh=far / 4, grading=0.4))
    lift = _lifted(mesh, lambda p: p[1] / gap)
    return _solved(mesh, 4, 2 * ng.pi * ng.x, lift, 1)


def plate_under(
    plate: Polygon,
    sheet: Polygon | MultiPolygon,
    *,
    gap: float,
    thickness: float,
    slit: float = 0.0,
    guard: float = 0.0,
    tilt: tuple[float, float] = (0.0, 0.0),
    fine: float = 0.4,
) -> tuple[float, float]:
    """Plate, thin, in a shallow can of guard if there is one, under a level sheet.

    Parameters
    ----------
    tilt : tuple of two floats
        Growth of the gap per length from the plate's centroid.
    fine : float
        Elements at the edges of the plate over the gap.

    Returns
    -------
    tuple of two floats
        C/ε0 and its change per rise of the sheet.
    """
    metal = shapely.union_all([plate.buffer(slit + guard), sheet])
    x0, y0, x1, y1 = metal.bounds
    far = 4 * (max(x1 - x0, y1 - y0) + 2 * gap)
    air = occ.Box((x0 - far, y0 - far, -far), (x1 + far, y1 + far, far))
    air.faces.name = "rim"
    for part in shapely.get_parts(sheet):
        solid = _face(part, gap).Extrude(thickness * occ.Z)
        solid.faces.name = "sheet"
        for edge in solid.edges:
            course = LineString([(v.p.x, v.p.y) for v in edge.vertices])
            near = course.distance(plate.exterior) < 2.5 * gap + slit + guard
            low = abs(edge.center.z - gap) < 1e-9
            edge.maxh = (fine if low else 1.0) * gap if near else 1.5 * gap
        air -= solid
    foil = _face(plate, 0.0)
    if tilt != (0.0, 0.0):
        middle = occ.Pnt(plate.centroid.x, plate.centroid.y, 0)
        axis = occ.Axis(middle, occ.Dir(-tilt[1], tilt[0], 0))
        foil = foil.Rotate(axis, float(np.degrees(np.arctan(np.hypot(*tilt)))))
    foil.name = "plate"
    foil.edges.maxh = fine * min(gap, 2 * slit or gap)
    foils = [foil, *_can(plate, slit, guard, fine)]
    shape = occ.Glue([air, *foils])
    mesh = ng.Mesh(occ.OCCGeometry(shape).GenerateMesh(maxh=far / 2, grading=0.5, optsteps3d=2))

    def share(point):
        fall = tilt[0] * (point[0] - plate.centroid.x) + tilt[1] * (point[1] - plate.centroid.y)
        return (point[2] + fall) / max(gap + fall, 1e-9)

    return _solved(mesh, 3, ng.CF(1.0), _lifted(mesh, share), 2)


def _face(polygon: Polygon, height: float) -> occ.Face:
    def wire(ring):
        corners = [(x, y, height) for x, y in list(ring.coords)[:-1]]
        ends = corners[1:] + corners[:1]
        return occ.Wire([occ.Segment(*pair) for pair in zip(corners, ends, strict=True)])

    face = occ.Face(wire(polygon.exterior))
    for hole in polygon.interiors:
        face -= occ.Face(wire(hole))
    return face


def _can(plate: Polygon, slit: float, guard: float, fine: float) -> list[occ.Face]:
    """Ring round the plate, its wall downwards and a bottom."""
    if guard == 0:
        return []
    hole = plate.buffer(slit, quad_segs=4)
    outer = hole.buffer(guard, quad_segs=4)
    low = -8 * slit
    ring = _face(outer.difference(hole), 0.0)
    for edge in ring.edges:
        is_inner = hole.exterior.distance(Point(edge.center.x, edge.center.y)) < 1e-6
        edge.maxh = 3 * fine * slit if is_inner else guard / 2
    solid = _face(outer, low).Extrude(-low * occ.Z)
    faces = [ring, _face(outer, low)]
    faces += [face for face in solid.faces if abs(face.center.z - low / 2) < 1e-9]
    for face in faces:
        face.name = "guard"
    return faces


def hole_cell(*, radius: float, cell_radius: float, gap: float) -> float:
    """C/ε0 of a round cell of a thin plate about a hole, under a wide sheet."""
    deep = 4 * cell_radius
    above = occ.Rectangle(cell_radius, gap).Face()
    below = occ.MoveTo(0, -deep).Rectangle(cell_radius, deep).Face()
    for edge in above.edges:
        if abs(edge.center.y - gap) < 1e-9:
            edge.name = "sheet"
    foil = occ.Segment((radius, 0, 0), (cell_radius, 0, 0))
    foil.edges.name = "plate"
    foil.vertices.maxh = 0.01 * min(radius, gap)
    shape = occ.Glue([occ.Glue([above, below]), foil])
    mesh = ng.Mesh(occ.OCCGeometry(shape, dim=2).GenerateMesh(maxh=gap / 2, grading=0.3))
    return _solved(mesh, 4, 2 * ng.pi * ng.x, _lifted(mesh, lambda p: p[1] / gap), 1)[0]


def reynolds_force(*, side: float, holes: int, radius: float) -> float:
    """∫ p over a square with holes open at p = 0, of -div grad p = 1; lengths in any unit."""
    plate = occ.Rectangle(side, side).Face()
    plate.edges.name = "open"
    pitch = side / holes
    for i in range(holes):
        for k in range(holes):
            disc = occ.Circle(((i + 0.5) * pitch, (k + 0.5) * pitch), radius).Face()
            disc.edges.name = "open"
            plate -= disc
    mesh = ng.Mesh(occ.OCCGeometry(plate, dim=2).GenerateMesh(maxh=pitch / 5))
    mesh.Curve(3)
    space = ng.H1(mesh, order=3, dirichlet="open")
    u, v = space.TnT()
    form = ng.BilinearForm(ng.grad(u) * ng.grad(v) * ng.dx, symmetric=True).Assemble()
    load = ng.LinearForm(v * ng.dx).Assemble()
    pressure = ng.GridFunction(space)
    pressure.vec.data = form.mat.Inverse(space.FreeDofs(), "sparsecholesky") * load.vec
    return float(ng.Integrate(pressure, mesh))
