"""What every driver answers, and the coil section that all share."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Protocol

from modewright.checks import frozen_array
from modewright.parameters import quantity

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from modewright.geometry.blank import AttachedMass
    from modewright.materials.model import Magnetism
    from modewright.modes.basis import ModeShapes
    from modewright.transducers.coil import Coil
    from modewright.transducers.gap import BiasedGap

__all__ = ["CoilSection", "Driver", "DriverAction", "attached_masses"]


@dataclass(frozen=True, slots=True, kw_only=True)
class CoilSection:
    """Winding of a driver."""

    resistance_ohm: float = quantity(
        "ohm", "Resistance of the winding.", default=100.0, above=0.0, plausible=(1.0, 5e3)
    )
    inductance_h: float = quantity(
        "H",
        "Inductance at rest; for an electromagnet only the part that does not cross the gap.",
        default=5e-3,
        show="mH",
        at_least=0.0,
        plausible=(1e-5, 1.0),
    )
    semi_inductance_ohm_per_rthz: float = quantity(
        "ohm/rtHz",
        "K of the eddy currents in the iron, whose impedance is K times the square root of j 2πf.",
        default=0.0,
        at_least=0.0,
        plausible=(0.0, 10.0),
    )
    thermal_resistance_k_per_w: float = quantity(
        "K/W",
        "Thermal resistance from the winding to the room.",
        default=50.0,
        above=0.0,
        plausible=(0.5, 500.0),
    )
    temperature_rise_k: float = quantity(
        "K",
        "Allowed rise of temperature of the winding.",
        default=60.0,
        above=0.0,
        plausible=(5.0, 150.0),
    )
    current_limit_a: float | None = quantity(
        "A", "Largest peak current if something other than heat limits it.", default=None, above=0.0
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class DriverAction:
    """A driver at rest at its operating point.

    Parameters
    ----------
    force_per_ampere : float array, shape (modes,)
        Modal force per coil current. [N/(A sqrt(kg))]
    force_factor_n_per_a : float
        Force on the sheet per ampere, > 0. [N/A]
    coil : Coil
        With all its inductance.
    saturation_current_a : float
        Peak current at which the iron saturates or the flux reverses; infinite without iron. [A]
    """

    force_per_ampere: NDArray[np.float64]
    force_factor_n_per_a: float
    coil: Coil
    saturation_current_a: float

    def __post_init__(self) -> None:
        object.__setattr__(self, "force_per_ampere", frozen_array(self.force_per_ampere))


class Driver(Protocol):
    """Section of the design file that describes one driver."""

    @property
    def name(self) -> str:
        """Name from the design."""
        ...

    @property
    def coil(self) -> CoilSection:
        """Winding."""
        ...

    @property
    def masses(self) -> tuple[AttachedMass, ...]:
        """What it fixes to the sheet."""
        ...

    def biased_gap(self, shapes: ModeShapes, magnetism: Magnetism) -> BiasedGap | None:
        """Gap with its magnetic bias at the unbent position; None if nothing pulls at rest.

        Raises
        ------
        TransducerError
            If the driver cannot act on a sheet of that magnetism.
        """
        ...

    def action(self, shapes: ModeShapes, biased: BiasedGap | None) -> DriverAction:
        """Figures at the operating point, where the gap is `biased`."""
        ...


def attached_masses(drivers: tuple[Driver, ...]) -> tuple[AttachedMass, ...]:
    """Everything that the drivers fix to the sheet, to be added before its modes are solved."""
    return tuple(mass for driver in drivers for mass in driver.masses)
