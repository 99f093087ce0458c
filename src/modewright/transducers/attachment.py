"""What lies between the moving part of a driver and the sheet.

Each gives way along the motion, takes energy, bears so much force, and may leave a mass on the
sheet. Across the motion it is taken as soft.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

import numpy as np

from modewright.parameters import quantity
from modewright.transducers.mover import Link

__all__ = [
    "ATTACHMENTS",
    "ATTACHMENT_DOC",
    "Attachment",
    "GluePad",
    "MagnetPair",
    "StingerRod",
    "attachment_link",
    "attachment_mass_kg",
]

ATTACHMENT_DOC = "What joins the moving part to the sheet; rigidly glued if left out."

# Real rods are neither straight nor loaded along their middle.
_ROD_SAFETY = 2.0


@dataclass(frozen=True, slots=True, kw_only=True)
class StingerRod:
    """Thin rod, stiff along itself and soft across."""

    kind: ClassVar[str] = "stinger"

    diameter_m: float = quantity(
        "m", "Diameter of the rod.", show="mm", above=0.0, plausible=(0.05e-3, 3e-3)
    )
    length_m: float = quantity(
        "m", "Free length of the rod.", show="mm", above=0.0, plausible=(1e-3, 0.1)
    )
    youngs_modulus_pa: float = quantity(
        "Pa",
        "Young's modulus of the rod; that of steel if left out.",
        default=200e9,
        show="GPa",
        above=0.0,
        plausible=(1e9, 5e11),
    )
    loss_factor: float = quantity(
        "1",
        "Loss factor of the rod and its glued ends.",
        default=0.02,
        at_least=0.0,
        plausible=(1e-4, 0.5),
    )

    @property
    def stiffness_n_per_m(self) -> float:
        """Along the rod, E A/l. [N/m]"""
        return self.youngs_modulus_pa * np.pi * self.diameter_m**2 / (4 * self.length_m)

    @property
    def largest_push_n(self) -> float:
        """Half the push at which the rod gives way sideways. [N]

        Euler's load π² E I/l² of a rod whose ends do not turn but may shift (Timoshenko & Gere,
        Theory of Elastic Stability, ch. 2).
        """
        second_moment_m4 = np.pi * self.diameter_m**4 / 64
        euler_n = np.pi**2 * self.youngs_modulus_pa * second_moment_m4 / self.length_m**2
        return euler_n / _ROD_SAFETY

    @property
    def sheet_mass_kg(self) -> float:
        """A thin rod weighs next to nothing. [kg]"""
        return 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class GluePad:
    """Round pad of soft glue or tape."""

    kind: ClassVar[str] = "glue pad"

    diameter_m: float = quantity("m", "Diameter.", show="mm", above=0.0, plausible=(5e-4, 0.03))
    thickness_m: float = quantity("m", "Thickness.", show="mm", above=0.0, plausible=(1e-5, 3e-3))
    modulus_pa: float = quantity(
        "Pa",
        "Stress over strain across the pad; a thin one cannot swell sideways and is stiffer than "
        "Young's modulus says.",
        show="MPa",
        above=0.0,
        plausible=(1e5, 1e10),
    )
    loss_factor: float = quantity(
        "1", "Loss factor.", default=0.1, at_least=0.0, plausible=(1e-3, 2.0)
    )
    strength_pa: float = quantity(
        "Pa",
        "Stress that it bears for ever.",
        default=1e6,
        show="MPa",
        above=0.0,
        plausible=(1e4, 5e7),
    )

    @property
    def _area_m2(self) -> float:
        return np.pi * self.diameter_m**2 / 4

    @property
    def stiffness_n_per_m(self) -> float:
        """Across the pad. [N/m]"""
        return self.modulus_pa * self._area_m2 / self.thickness_m

    @property
    def largest_push_n(self) -> float:
        """By its strength. [N]"""
        return self.strength_pa * self._area_m2

    @property
    def sheet_mass_kg(self) -> float:
        """Next to nothing. [kg]"""
        return 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class MagnetPair:
    """Two magnets that hold each other, so that the driver comes off: one glued to the sheet."""

    kind: ClassVar[str] = "magnet pair"

    holding_force_n: float = quantity(
        "N", "Pull at which they part.", above=0.0, plausible=(0.02, 50.0)
    )
    sheet_mass_kg: float = quantity(
        "kg",
        "Mass of the magnet on the sheet; that of the other counts as moving mass.",
        show="mg",
        at_least=0.0,
        plausible=(1e-6, 5e-3),
    )
    stiffness_n_per_m: float = quantity(
        "N/m", "Stiffness of the contact, as measured.", above=0.0, plausible=(1e4, 1e8)
    )
    loss_factor: float = quantity(
        "1", "Loss factor of the contact.", default=0.05, at_least=0.0, plausible=(1e-3, 1.0)
    )

    @property
    def largest_push_n(self) -> float:
        """Half the holding force: contact that nearly parts rattles (common practice). [N]"""
        return self.holding_force_n / 2


Attachment = StingerRod | GluePad | MagnetPair
ATTACHMENTS: tuple[type[Attachment], ...] = (StingerRod, GluePad, MagnetPair)


def attachment_mass_kg(attachment: Attachment | None) -> float:
    """Mass that an attachment leaves on the sheet. [kg]"""
    return 0.0 if attachment is None else attachment.sheet_mass_kg


def attachment_link(attachment: Attachment | None) -> Link | None:
    """Spring and loss of an attachment; None for a rigid one."""
    if attachment is None:
        return None
    return Link(
        stiffness_n_per_m=attachment.stiffness_n_per_m,
        loss_factor=attachment.loss_factor,
        largest_push_n=attachment.largest_push_n,
    )
