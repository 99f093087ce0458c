"""Drawings with much on little room."""

import pathlib
from dataclasses import replace

import numpy as np

from modewright.fabrication.blank_drawing import draw_blank
from modewright.geometry.blank import NamedPoint, Pocket
from modewright.geometry.build import blank_from_sketch
from modewright.geometry.corners import rectangle
from modewright.geometry.families.forked_reed import Arm, ForkedReed
from modewright.geometry.families.plate import Plate
from modewright.geometry.families.strip_reed import StripReed
from modewright.geometry.features.holes import RoundHole, SlottedHole
from modewright.geometry.features.tip_mass import TipMass
from modewright.geometry.loop import Loop
from modewright.geometry.support import Clamped

HERE = pathlib.Path()


def disc(x_mm, y_mm, diameter_mm):
    low, high = x_mm - diameter_mm / 2, x_mm + diameter_mm / 2
    return Loop(vertices_m=np.array([[low, y_mm], [high, y_mm]]) * 1e-3, bulge=np.ones(2))


def fork(scale=1.0):
    def arm(length_mm, width_mm):
        return Arm(length_m=length_mm * scale * 1e-3, width_m=width_mm * scale * 1e-3)

    return ForkedReed(
        base_length_m=26.5e-3 * scale,
        slot_widths_m=(1.5e-3 * scale, 1.5e-3 * scale),
        tip_radius_m=0.5e-3 * scale,
        arms=(arm(36.5, 6), arm(43.8, 7), arm(31.5, 6)),
    )


def plain(family, **more):
    blank = blank_from_sketch(family.sketch(HERE), (), Clamped(), 1e-3)
    facts = ("stainless 301 half hard, 10.30 g complete", "design 96e927156116")
    return draw_blank(blank, title="Boathouse bench", facts=facts, **more)


def full():
    blank = blank_from_sketch(
        fork().sketch(HERE),
        (
            RoundHole(centre_m=(10e-3, 4e-3), diameter_m=3e-3),
            SlottedHole(centre_m=(10e-3, -5e-3), length_m=7e-3, width_m=2e-3),
            TipMass(
                at="arm 2 tip", diameter_m=4e-3, height_m=2e-3, mass_kg=2e-4, offset_m=(-5e-3, 0.0)
            ),
            # The armature under the magnet.
            TipMass(
                at="arm 3 middle",
                diameter_m=5e-3,
                height_m=5e-4,
                mass_kg=8e-5,
                offset_m=(-0.75e-3, -0.5e-3),
            ),
        ),
        Clamped(jaw_depth_m=5e-3),
        1e-3,
    )
    pocket = Pocket(
        loop=rectangle((15e-3, -12e-3), (22e-3, 12e-3)), thickness_m=0.6e-3, side="bottom"
    )
    return draw_blank(
        replace(blank, pockets=(pocket,)),
        title="Boathouse bench",
        facts=("stainless 301 half hard",),
        plates=(
            ("left plate", rectangle((51.5e-3, -10.5e-3), (61.5e-3, -5.5e-3))),
            ("right", disc(50, 8, 4)),
        ),
        drivers=(("magnet", disc(41.5, 8, 5)),),
        reference=NamedPoint(name="tip", point_m=(70.3e-3, 0.0)),
    )


CROWDED = {
    "fork": plain(fork(), drivers=(("magnet", disc(41.5, 8, 5)),)),
    "full": full(),
    "small fork": plain(fork(0.3)),
    "narrow": plain(StripReed(length_m=30e-3, width_m=1e-3)),
    "taper": plain(StripReed(length_m=30e-3, width_m=4e-3, tip_width_m=2.5e-3, tip_radius_m=1e-3)),
    "large": plain(Plate(length_m=300e-3, width_m=200e-3)),
}
