"""A driver with a spring of its own, seen from both of its ports.

A moving part of mass m, spring k and friction c is pushed by the coil, ``T i``, and makes the
voltage ``T v`` in it. Both ways have the same T but, the voltages being counted against the
current, opposite signs: a gyrator, as every magnetic transducer is. The part is fixed to the sheet,
or reaches it through a link, such as a stinger: a spring that has a friction of its own.

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

__all__ = ["Link", "Mover", "TwoPort", "check_link"]

# Nearer to it, the resonance of a moving part on its link would be a mode of its own.
_LEAST_ABOVE = 1.2


@dataclass(frozen=True, slots=True, kw_only=True)
class Link:
    """Spring between a moving part and the sheet.

    Parameters
    ----------
    stiffness_n_per_m : float
        > 0. [N/m]
    loss_factor : float
        >= 0; of solids that are joined, about the same at all frequencies.
    largest_push_n : float
        Amplitude of force that it bears. [N]
    """

    stiffness_n_per_m: float
    loss_factor: float
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
    link : Link or None
        None if it is fixed to the sheet.
    stroke_m : float
        Peak travel that it allows. [m]
    """

    mass_kg: float
    stiffness_n_per_m: float
    friction_ns_per_m: float
    link: Link | None = None
    stroke_m: float = float("inf")

    @property
    def _link_friction_ns_per_m(self) -> float:
        """That has the loss factor of the link at the resonance on it, for poles. [N s/m]"""
        if self.link is None:
            return 0.0
        swing_rad_s = 2 * np.pi * self.link_resonance_hz
        return self.link.loss_factor * self.link.stiffness_n_per_m / swing_rad_s

    @property
    def link_resonance_hz(self) -> float:
        """Resonance with the sheet standing still; infinite if fixed to it. [Hz]"""
        if self.link is None:
            return float("inf")
        both = self.stiffness_n_per_m + self.link.stiffness_n_per_m
        return float(np.sqrt(both / self.mass_kg)) / (2 * np.pi)

    def stages(self) -> tuple[Stage, ...]:
        """Force on a sheet that stands still per force of the coil; none if fixed to it."""
        if self.link is None:
            return ()
        friction = self._link_friction_ns_per_m
        zeros = [-self.link.stiffness_n_per_m / friction] if friction else []
        stage = Stage(
            name="attachment",
            zeros_rad_s=np.array(zeros, dtype=np.complex128),
            poles_rad_s=self.poles_rad_s,
            gain=(friction or self.link.stiffness_n_per_m) / self.mass_kg,
        )
        return (stage,)

    @property
    def poles_rad_s(self) -> NDArray[np.complex128]:
        """Of the part between its own spring and the link, the sheet standing still. [rad/s]

        Raises
        ------
        ValueError
            If there is no link.
        """
        if self.link is None:
            raise ValueError("expected a link, got a part fixed to the sheet")
        friction = self.friction_ns_per_m + self._link_friction_ns_per_m
        stiffness = self.stiffness_n_per_m + self.link.stiffness_n_per_m
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
        None for a driver without spring and link.
    """

    coil: Coil
    force_factor_n_per_a: float
    mover: Mover | None

    @property
    def acts_by(self) -> str:
        """See `modewright.transducers.coil_action.CoilPort`."""
        return "force on the sheet"

    @property
    def mechanics(self) -> tuple[Stage, ...]:
        """See `modewright.transducers.coil_action.CoilPort`."""
        return () if self.mover is None else self.mover.stages()

    @property
    def holds_open(self) -> bool:
        """See `modewright.transducers.coil_action.CoilPort`."""
        return self.mover is not None

    @property
    def stroke_m(self) -> float:
        """See `modewright.transducers.coil_action.CoilPort`."""
        return float("inf") if self.mover is None else self.mover.stroke_m

    def largest_forces_n(self, freq_hz: float) -> dict[str, float]:  # noqa: ARG002
        """See `modewright.transducers.coil_action.CoilPort`."""
        if self.mover is None or self.mover.link is None:
            return {}
        return {"attachment": self.mover.link.largest_push_n}

    def check_below(self, name: str, highest_hz: float) -> None:
        """See `modewright.transducers.coil_action.CoilPort`."""
        check_link(name, self.mover, highest_hz)

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
        if mover.link is None:
            return stiffness
        rigid = mover.mass_kg * s**2
        link = mover.link.stiffness_n_per_m * (1 + 1j * mover.link.loss_factor)
        free = stiffness + rigid
        return np.asarray(link * free / (link + free) - rigid, dtype=np.complex128)

    def current_stages(self) -> tuple[Stage, ...]:
        """Current per volt with the sheet standing still, though the link may give way. [A/V]"""
        if self.mover is None or self.mover.link is None:
            return coil_current_stages(self.coil)
        mover, link = self.mover, self.mover.link
        ladder = coil_ladder(self.coil)
        count = len(ladder.rate_rad_s) + 1
        # Energy coordinates: those of the ladder, √m times velocity, √stiffness times displacement.
        gyrator = self.force_factor_n_per_a / np.sqrt(ladder.inductance_h * mover.mass_kg)
        swing = np.sqrt((mover.stiffness_n_per_m + link.stiffness_n_per_m) / mover.mass_kg)
        matrix = np.zeros((count + 2, count + 2))
        matrix[:count, :count] = ladder.states
        matrix[0, count], matrix[count, 0] = -gyrator, gyrator
        matrix[count, count] = float(np.sum(mover.poles_rad_s.real))
        matrix[count, count + 1], matrix[count + 1, count] = -swing, swing
        return slow_apart(
            np.concatenate([-ladder.rate_rad_s.astype(np.complex128), mover.poles_rad_s]),
            np.linalg.eigvals(matrix).astype(np.complex128),
            1 / ladder.inductance_h,
        )


def check_link(name: str, mover: Mover | None, highest_hz: float) -> None:
    """Refuse a link so soft that its resonance lies among the modes.

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
    if mover is None or mover.link_resonance_hz >= _LEAST_ABOVE * highest_hz:
        return
    raise TransducerError(
        f"{name}: expected an attachment whose resonance lies a fifth above the highest mode "
        f"that is asked for ({highest_hz:.0f} Hz) or higher, got {mover.link_resonance_hz:.0f} Hz.",
        hint="Take a shorter or thicker stinger, a thinner pad or a lighter moving part, fix it "
        "to the sheet without, or ask for fewer modes.",
        key="attachment",
    )
