"""A driver with a spring of its own, seen from both of its ports.

A moving part of mass m, spring k and friction c is pushed by the coil, ``T i``, and makes the
voltage ``T v`` in it. Both ways have the same T but, the voltages being counted against the
current, opposite signs: a gyrator, as every magnetic transducer is. The part is fixed to the sheet,
or reaches it through a stinger, a spring that has a friction of its own.

What is rigid in this is solved with the body: the mass m. What is left acts back on the modes as a
dynamic stiffness.

References
----------
F. V. Hunt, Electroacoustics, 1954, ch. 4 (antireciprocity; from memory). N. Kim & J. B. Allen,
Two-port network analysis and modeling of a balanced armature receiver, Hearing Research 301 (2013)
156: gyrator and semi-inductance. L. L. Beranek & T. J. Mellow, Acoustics: Sound Fields, Transducers
and Vibration, ch. 6.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from modewright.errors import TransducerError
from modewright.transducers.coil import coil_current_stages, coil_ladder, slow_apart
from modewright.transducers.stage import Stage

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.transducers.coil import Coil

__all__ = ["Mover", "Stinger", "TwoPort", "check_stinger"]

# Nearer to it, the resonance of a moving part on its stinger would be a mode of its own.
_LEAST_ABOVE = 1.2


@dataclass(frozen=True, slots=True, kw_only=True)
class Stinger:
    """Spring between a moving part and the sheet.

    Parameters
    ----------
    stiffness_n_per_m : float
        > 0. [N/m]
    friction_ns_per_m : float
        >= 0. [N s/m]
    largest_push_n : float
        Amplitude of force that it bears. [N]
    """

    stiffness_n_per_m: float
    friction_ns_per_m: float
    largest_push_n: float = float("inf")


@dataclass(frozen=True, slots=True, kw_only=True)
class Mover:
    """Moving part of a driver.

    Parameters
    ----------
    mass_kg : float
        > 0; it rides on the sheet when the modes are solved. [kg]
    stiffness_n_per_m : float
        Of its spring against the frame, magnetic stiffness included. [N/m]
    friction_ns_per_m : float
        >= 0. [N s/m]
    stinger : Stinger or None
        None if it is fixed to the sheet.
    """

    mass_kg: float
    stiffness_n_per_m: float
    friction_ns_per_m: float
    stinger: Stinger | None = None

    @property
    def stinger_resonance_hz(self) -> float:
        """Resonance with the sheet standing still; infinite if fixed to it. [Hz]"""
        if self.stinger is None:
            return float("inf")
        both = self.stiffness_n_per_m + self.stinger.stiffness_n_per_m
        return float(np.sqrt(both / self.mass_kg)) / (2 * np.pi)

    def stages(self) -> tuple[Stage, ...]:
        """Force on a sheet that stands still per force of the coil; none if fixed to it."""
        if self.stinger is None:
            return ()
        link = self.stinger
        poles = self.poles_rad_s
        zeros = (
            np.array([-link.stiffness_n_per_m / link.friction_ns_per_m], dtype=np.complex128)
            if link.friction_ns_per_m
            else np.zeros(0, dtype=np.complex128)
        )
        first = link.friction_ns_per_m or link.stiffness_n_per_m
        return (
            Stage(name="stinger", zeros_rad_s=zeros, poles_rad_s=poles, gain=first / self.mass_kg),
        )

    @property
    def poles_rad_s(self) -> NDArray[np.complex128]:
        """Of the part between its own spring and the stinger, the sheet standing still. [rad/s]

        Raises
        ------
        ValueError
            If there is no stinger.
        """
        if self.stinger is None:
            raise ValueError("expected a stinger, got a part fixed to the sheet")
        friction = self.friction_ns_per_m + self.stinger.friction_ns_per_m
        stiffness = self.stiffness_n_per_m + self.stinger.stiffness_n_per_m
        return np.roots([self.mass_kg, friction, stiffness]).astype(np.complex128)


@dataclass(frozen=True, slots=True, kw_only=True)
class TwoPort:
    """Coil and moving part.

    Parameters
    ----------
    coil : Coil
    force_factor_n_per_a : float
        T. [N/A]
    mover : Mover or None
        None for a driver without spring and stinger.
    """

    coil: Coil
    force_factor_n_per_a: float
    mover: Mover | None

    def stiffness_n_per_m(
        self, freq_hz: NDArray[np.float64], *, is_closed: bool
    ) -> NDArray[np.complex128]:
        """Dynamic stiffness that the sheet feels at the place of the driver.

        Parameters
        ----------
        freq_hz : float array, any shape
            [Hz]
        is_closed : bool
            Whether the coil is closed by an amplifier without resistance, or open.

        Returns
        -------
        complex array of that shape
            Force that holds against a motion, over it, without that of the rigid mass. Its
            imaginary part is never negative. [N/m]
        """
        s = 2j * np.pi * np.asarray(freq_hz, dtype=np.float64)
        stiffness = np.zeros(s.shape, dtype=np.complex128)
        if is_closed:
            stiffness += self.force_factor_n_per_a**2 * s / self.coil.impedance_ohm(freq_hz)
        if self.mover is None:
            return stiffness
        mover = self.mover
        stiffness += mover.stiffness_n_per_m + s * mover.friction_ns_per_m
        if mover.stinger is None:
            return stiffness
        rigid = mover.mass_kg * s**2
        link = mover.stinger.stiffness_n_per_m + s * mover.stinger.friction_ns_per_m
        free = stiffness + rigid
        return np.asarray(link * free / (link + free) - rigid, dtype=np.complex128)

    def current_stages(self) -> tuple[Stage, ...]:
        """Current per volt with the sheet standing still, though the stinger may give way. [A/V]"""
        if self.mover is None or self.mover.stinger is None:
            return coil_current_stages(self.coil)
        mover, link = self.mover, self.mover.stinger
        ladder = coil_ladder(self.coil)
        count = len(ladder.rate_rad_s) + 1
        # Energy coordinates: those of the ladder, √m times velocity, √stiffness times displacement.
        gyrator = self.force_factor_n_per_a / np.sqrt(ladder.inductance_h * mover.mass_kg)
        swing = np.sqrt((mover.stiffness_n_per_m + link.stiffness_n_per_m) / mover.mass_kg)
        matrix = np.zeros((count + 2, count + 2))
        matrix[:count, :count] = ladder.states
        matrix[0, count], matrix[count, 0] = -gyrator, gyrator
        matrix[count, count] = -(mover.friction_ns_per_m + link.friction_ns_per_m) / mover.mass_kg
        matrix[count, count + 1], matrix[count + 1, count] = -swing, swing
        return slow_apart(
            np.concatenate([-ladder.rate_rad_s.astype(np.complex128), mover.poles_rad_s]),
            np.linalg.eigvals(matrix).astype(np.complex128),
            1 / ladder.inductance_h,
        )


def check_stinger(name: str, mover: Mover | None, highest_hz: float) -> None:
    """Refuse a stinger so soft that its resonance lies among the modes.

    Parameters
    ----------
    name : str
        Of the driver.
    mover : Mover or None
    highest_hz : float
        Highest mode of the body. [Hz]

    Raises
    ------
    TransducerError
        The reaction is taken at the frequency of each mode, which hides a resonance near one.
    """
    if mover is None or mover.stinger_resonance_hz >= _LEAST_ABOVE * highest_hz:
        return
    raise TransducerError(
        f"{name}: expected a stinger whose resonance lies a fifth above the highest mode that is "
        f"asked for ({highest_hz:.0f} Hz) or higher, got {mover.stinger_resonance_hz:.0f} Hz.",
        hint="Take a shorter or thicker stinger or a lighter moving part, fix it to the sheet "
        "without one, or ask for fewer modes.",
        key="stinger",
    )
