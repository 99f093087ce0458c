"""Blanks for tests of modes, in plain numbers."""

import numpy as np

from modewright.geometry.blank import Blank, Hold, NamedPoint, Outline
from modewright.geometry.loop import Loop
from modewright.materials.solid import IsotropicSolid

STEEL = IsotropicSolid(youngs_modulus_pa=193e9, poisson_ratio=0.29, density_kg_per_m3=7900)
SLENDER = IsotropicSolid(youngs_modulus_pa=200e9, poisson_ratio=0.0, density_kg_per_m3=8000)


def rectangle(x0, y0, x1, y1):
    return Loop.polygon([(x0, y0), (x1, y0), (x1, y1), (x0, y1)])


def circle(x, y, radius):
    return Loop(vertices_m=np.array([(x - radius, y), (x + radius, y)]), bulge=np.array([1.0, 1.0]))


def sheet(outer, thickness_m, *, held=(), areas=(), stiffness=None, shear_ratio=1.0, **parts):
    hold = Hold(
        edges_m=np.array(held, dtype=float).reshape(-1, 2, 2),
        areas=tuple(areas),
        stiffness_n_per_m3=stiffness,
        shear_ratio=shear_ratio,
    )
    holes = tuple(parts.pop("holes", ()))
    return Blank(
        outline=Outline(outer=outer, holes=holes),
        thickness_m=thickness_m,
        hold=hold if len(hold.edges_m) or hold.areas else None,
        named_points=(NamedPoint(name="start", point_m=tuple(outer.vertices_m[0])),),
        **parts,
    )


def strip(length_m, width_m, thickness_m, *, is_held=True, **parts):
    low, high = -width_m / 2, width_m / 2
    held = [[(0, low), (0, high)]] if is_held else []
    return sheet(rectangle(0, low, length_m, high), thickness_m, held=held, **parts)


def square(side_m, thickness_m, held_sides=()):
    corners = [(0, 0), (side_m, 0), (side_m, side_m), (0, side_m)]
    held = [[corners[i], corners[(i + 1) % 4]] for i in held_sides]
    return sheet(Loop.polygon(corners), thickness_m, held=held)


def strain_energy(system, motions):
    """Work of the stiffness on each motion."""
    fields = motions.reshape(system.shape[0], -1, motions.shape[-1])
    total = np.zeros(motions.shape[-1])
    for term in system.stiffness:
        side = fields.shape[1]
        blocks = np.einsum("pk,kab->pab", term.products, term.blocks.reshape(-1, side, side))
        rows, columns = system.pattern.rows, system.pattern.columns
        twice = np.where(rows == columns, 1.0, 2.0)
        total += np.einsum("p,pam,pab,pbm->m", twice, fields[rows], blocks, fields[columns])
    return total
