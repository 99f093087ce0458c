"""What a loop needs to know of a pickup and of a driver, whatever their kind.

A new transducer is one file that computes a `PickupPort` or a `DriverPort` from its own section of
the design file, and one line in `transducers/registry.py`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from modewright.checks import frozen_array

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from modewright.transducers.driver_action import DriveUnit
    from modewright.transducers.hysteresis import RayleighLag
    from modewright.transducers.stage import Stage

__all__ = ["DriverPort", "PickupPort"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PickupPort:
    """A pickup seen from the loop.

    The voltage at the preamplifier's output is ``v = path(s + s²·quadratic_per_v +
    s³·cubic_per_v2)`` with ``s = Σ volts_per_coordinate · q``.

    Parameters
    ----------
    name : str
        Name from the design.
    volts_per_coordinate : float array, shape (modes,)
        Voltage per mass-normalised modal coordinate before `path`. [V/(m sqrt(kg))]
    quadratic_per_v, cubic_per_v2 : float
        Nonlinearity of the gap, expressed in the signal itself. [1/V], [1/V²]
    path : tuple of Stage
        Bias corner, preamplifier and its bandwidth; dimensionless.
    noise_v_per_rthz : float
        White noise density at the output, equivalent over the band of the controlled modes.
        [V/√Hz]
    full_scale_v : float
        Output voltage at which the preamplifier or converter clips. [V]
    """

    name: str
    volts_per_coordinate: NDArray[np.float64]
    quadratic_per_v: float
    cubic_per_v2: float
    path: tuple[Stage, ...]
    noise_v_per_rthz: float
    full_scale_v: float

    def __post_init__(self) -> None:
        object.__setattr__(self, "volts_per_coordinate", frozen_array(self.volts_per_coordinate))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class DriverPort:
    """A driver seen from the loop.

    The force on mode n is ``force_per_drive[n] · mechanics(path(command))``; `path` turns the
    command (volts of a voltage amplifier, amperes of a current amplifier) into the drive.

    Parameters
    ----------
    name : str
        Name from the design.
    drive_unit : {"A", "V"}
        Of what the force is proportional to, the current of a coil or the voltage across a patch.
    force_per_drive : float array, shape (modes,)
        Modal force per drive. [N/(A sqrt(kg)) or N/(V sqrt(kg))]
    path : tuple of Stage
        Coil and eddy currents, or a lead; gain in drive per command unit.
    command_unit : {"V", "A"}
        What the amplifier is told.
    command_limit : float
        Largest command the driver and amplifier bear for ever. [command_unit]
    cold_heat_w : float array, shape (modes,)
        Heat for a peak drive of one at each mode; grows with the square. [W]
    current_a_per_drive : float array, shape (modes,)
        Peak current from the amplifier for a peak drive of one. [A]
    bias_current_a : float
        i0 where the force goes as (i0 + i)²; infinite where it goes as i. [A]
    lag : RayleighLag or None
        Of its force behind its drive, besides that of path and mechanics.
    mechanics : tuple of Stage
        What lies between the force of the coil and the sheet, such as a stinger.
    """

    name: str
    drive_unit: DriveUnit
    force_per_drive: NDArray[np.float64]
    path: tuple[Stage, ...]
    command_unit: Literal["V", "A"]
    command_limit: float
    cold_heat_w: NDArray[np.float64]
    current_a_per_drive: NDArray[np.float64]
    bias_current_a: float = float("inf")
    lag: RayleighLag | None = None
    mechanics: tuple[Stage, ...] = ()

    def __post_init__(self) -> None:
        for name in ("force_per_drive", "cold_heat_w", "current_a_per_drive"):
            object.__setattr__(self, name, frozen_array(getattr(self, name)))
