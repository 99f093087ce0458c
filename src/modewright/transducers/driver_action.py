"""What every driver does at its operating point, whatever makes its force.

Its *drive* is the electrical quantity to which the force is proportional: the current of a coil,
the voltage across a patch.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar, Literal, Protocol

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from modewright.transducers.electronics import Amplifier
    from modewright.transducers.hysteresis import RayleighLag
    from modewright.transducers.stage import Stage

__all__ = ["DriveUnit", "DriverAction", "Heating"]

DriveUnit = Literal["A", "V"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Heating:
    """How warm a driver gets and may get.

    Parameters
    ----------
    thermal_resistance_k_per_w : float
        Rise at the end of each time of driving, over the power meanwhile. [K/W]
    temperature_rise_k : float
        Allowed. [K]
    duty_text : str
        How long it is driven at its limit.
    """

    thermal_resistance_k_per_w: float
    temperature_rise_k: float
    duty_text: str


class DriverAction(Protocol):
    """A driver at its operating point.

    `drive_unit` is the unit of its drive.
    """

    drive_unit: ClassVar[DriveUnit]

    @property
    def acts_by(self) -> str:
        """What its factor is a factor of, such as ``force on the sheet``."""
        ...

    @property
    def force_per_drive(self) -> NDArray[np.float64]:
        """Modal force per drive, shape (modes,). [N/(A sqrt(kg)) or N/(V sqrt(kg))]"""
        ...

    @property
    def force_factor_n_per_drive(self) -> float:
        """What `acts_by` says, per drive, > 0. [N/A or N/V]"""
        ...

    @property
    def bias_current_a(self) -> float:
        """See `CoilAction`; infinite if the force is proportional to the drive. [A]"""
        ...

    @property
    def pushes_base(self) -> bool:
        """Whether what pushes the sheet one way pushes the base the other way."""
        ...

    @property
    def lag(self) -> RayleighLag | None:
        """How its force lags behind its drive as the level grows; None if it does not."""
        ...

    @property
    def stroke_swings(self) -> NDArray[np.float64]:
        """Largest modal coordinate that it allows each mode alone, shape (modes,). [m sqrt(kg)]"""
        ...

    @property
    def mechanics(self) -> tuple[Stage, ...]:
        """What lies between its force and the sheet."""
        ...

    @property
    def heating(self) -> Heating:
        """How warm it gets and may get."""
        ...

    @property
    def electrical(self) -> dict[str, float]:
        """Its electrical figures at rest, by name with unit, SI."""
        ...

    def check_below(self, name: str, highest_hz: float) -> None:
        """Refuse modes so high that it has resonances of its own among them. [Hz]

        Raises
        ------
        TransducerError
            Names the driver.
        """
        ...

    def reactions(
        self, freq_hz: NDArray[np.float64], *, is_closed: bool
    ) -> dict[str, NDArray[np.complex128]]:
        """How the driver acts back on the modes.

        Parameters
        ----------
        freq_hz : float array, shape (modes,)
            [Hz]
        is_closed : bool
            Whether the amplifier sets the voltage; one that sets the current lets no motion change
            it.

        Returns
        -------
        dict of str to complex array, shape (modes, modes)
            Modal dynamic stiffness by cause, each entry at the geometric mean of its two modes'
            frequencies; symmetric. [1/s²]
        """
        ...

    def path(self, amplifier: Amplifier) -> tuple[Stage, ...]:
        """Drive per command. [A/V, A/A or V/V]"""
        ...

    def largest_drives(self, name: str, amplifier: Amplifier, freq_hz: float) -> dict[str, float]:
        """Peak of a steady sine that each cause allows. [A or V]

        Raises
        ------
        TransducerError
            If that amplifier cannot feed it, or nothing is left to it; begins with its name.
        """
        ...

    def command_per_drive(self, amplifier: Amplifier, freq_hz: float) -> float:
        """Peak command that makes a peak drive of one. [command unit per A or V]"""
        ...

    def heat_w(self, drive: float, freq_hz: float) -> float:
        """Heat while it bears a steady sine of this peak, once warm. [W]"""
        ...

    def cold_heat_w(self, freq_hz: NDArray[np.float64]) -> NDArray[np.float64]:
        """Heat for a peak drive of one while it is cold; grows with the square. [W]"""
        ...

    def warm_change(self, amplifier: Amplifier, freq_hz: float) -> complex:
        """Drive per command at the allowed rise of temperature, over that when cold."""
        ...

    def current_a(self, freq_hz: NDArray[np.float64]) -> NDArray[np.complex128]:
        """Current for a drive of one. [A]"""
        ...

    def voltage_v(self, freq_hz: NDArray[np.float64]) -> NDArray[np.complex128]:
        """Voltage across it for a drive of one. [V]"""
        ...
