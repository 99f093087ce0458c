"""The signal path of each mode, stage by stage, for printing and plotting."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Protocol

import numpy as np

from modewright.checks import frozen_array

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.transducers.electronics import Electronics
    from modewright.transducers.port import DriverPort, PickupPort

__all__ = ["PathRow", "path_table"]


class _Responding(Protocol):
    @property
    def name(self) -> str: ...

    def response(self, freq_hz: NDArray[np.float64]) -> NDArray[np.complex128]: ...


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PathRow:
    """One stage at the frequency of each mode.

    Parameters
    ----------
    name : str
        Name of the stage.
    unit : str
        Unit of its gain; empty for a ratio.
    gain : complex array, shape (modes,)
        [unit]
    """

    name: str
    unit: str
    gain: NDArray[np.complex128]

    def __post_init__(self) -> None:
        object.__setattr__(self, "gain", frozen_array(self.gain, complex))

    @property
    def magnitude_db(self) -> NDArray[np.float64]:
        """Magnitude relative to one unit; minus infinity for a mode not coupled. [dB]"""
        with np.errstate(divide="ignore"):
            return 20 * np.log10(np.abs(self.gain))

    @property
    def phase_deg(self) -> NDArray[np.float64]:
        """Phase between -180 and 180. [deg]"""
        return np.degrees(np.angle(self.gain))


def path_table(
    freq_hz: NDArray[np.float64],
    reference: NDArray[np.float64],
    pickup: PickupPort,
    electronics: Electronics,
    driver: DriverPort,
) -> tuple[PathRow, ...]:
    """Follow each mode from its motion to the force on it.

    Parameters
    ----------
    freq_hz : float array, shape (modes,)
        [Hz]
    reference : float array, shape (modes,)
        Displacement of the reference point per modal coordinate, not zero. [1/sqrt(kg)]
    pickup : PickupPort
    electronics : Electronics
    driver : DriverPort

    Returns
    -------
    tuple of PathRow
        Pickup (volts per metre at the reference point), each stage in order, driver (newtons at
        the reference point per drive), and last the product of all.
    """
    voltage = PathRow(
        name="pickup",
        unit="V/m",
        gain=(pickup.volts_per_coordinate / reference).astype(np.complex128),
    )
    before: tuple[_Responding, ...] = (
        *pickup.path,
        *electronics.input_stages,
        electronics.hold,
        *electronics.output_stages,
    )
    rows = [PathRow(name=s.name, unit="", gain=s.response(freq_hz)) for s in before]
    # Only the first stage behind a voltage amplifier carries the unit of the coil.
    first = f"{driver.drive_unit}/{driver.command_unit}"
    first = "" if driver.drive_unit == driver.command_unit else first
    units = [first if index == 0 else "" for index in range(len(driver.path))]
    coil = [
        PathRow(name=stage.name, unit=unit, gain=stage.response(freq_hz))
        for stage, unit in zip(driver.path, units, strict=True)
    ]
    coil += [
        PathRow(name=stage.name, unit="", gain=stage.response(freq_hz))
        for stage in driver.mechanics
    ]
    force = PathRow(
        name="driver",
        unit=f"N/{driver.drive_unit}",
        gain=(driver.force_per_drive / reference).astype(np.complex128),
    )
    every = (voltage, *rows, *coil, force)
    total = np.prod([row.gain for row in every], axis=0)
    command = "N/m" if driver.command_unit == "V" else "N V/(A m)"
    return (*every, PathRow(name="whole path", unit=command, gain=total))
