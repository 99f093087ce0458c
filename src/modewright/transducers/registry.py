"""Every kind of pickup and driver. A new one is a file of its own and a line here."""

from __future__ import annotations

from modewright.transducers.acoustic_driver import AcousticDriver
from modewright.transducers.capacitive_pickup import CapacitivePickup
from modewright.transducers.electromagnet import BiasedElectromagnet
from modewright.transducers.magnet_coil import MagnetAndCoil
from modewright.transducers.moving_armature import MovingArmature
from modewright.transducers.moving_coil import MovingCoil
from modewright.transducers.piezo_patch import PiezoPatch

__all__ = ["DRIVERS", "PICKUPS", "AnyDriver"]

AnyDriver = (
    BiasedElectromagnet | MovingCoil | MovingArmature | MagnetAndCoil | PiezoPatch | AcousticDriver
)

PICKUPS: tuple[type[CapacitivePickup], ...] = (CapacitivePickup,)
DRIVERS: tuple[type[AnyDriver], ...] = (
    BiasedElectromagnet,
    MovingCoil,
    MovingArmature,
    MagnetAndCoil,
    PiezoPatch,
    AcousticDriver,
)
