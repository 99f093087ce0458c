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

    The force on mode n is ``force_per_ampere[n] · mechanics(path(command))``; `path` turns the
    command (volts for voltage drive, amperes for current drive) into coil current.

    Parameters
    ----------
    name : str
        Name from the design.
    force_per_ampere : float array, shape (modes,)
        Modal force per ampere of coil current. [N/(A sqrt(kg))]
    force_factor_n_per_a : float
        Force on the sheet per ampere. [N/A]
    path : tuple of Stage
        Amplifier, coil and eddy currents; gain in A per command unit.
    command_unit : {"V", "A"}
        What the amplifier is told.
    command_limit : float
        Largest command the driver and amplifier bear for ever. [command_unit]
    resistance_ohm : float
        Coil resistance, for power and heat. [ohm]
    bias_current_a : float
        i0 where the force goes as (i0 + i)²; infinite where it goes as i. [A]
    mechanics : tuple of Stage
        What lies between the force of the coil and the sheet, such as a stinger.
    """

    name: str
    force_per_ampere: NDArray[np.float64]
    force_factor_n_per_a: float
    path: tuple[Stage, ...]
    command_unit: Literal["V", "A"]
    command_limit: float
    resistance_ohm: float
    bias_current_a: float = float("inf")
    mechanics: tuple[Stage, ...] = ()

    def __post_init__(self) -> None:
        object.__setattr__(self, "force_per_ampere", frozen_array(self.force_per_ampere))
