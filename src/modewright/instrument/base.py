"""The ``[base]`` section: what all notes are clamped to, and how it moves.

A base is a set of modes of its own, each a mass on a spring, and the motion that each gives to the
root of a note: up and down, and turning about the two axes of the sheet.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

import numpy as np

from modewright.checks import frozen_array
from modewright.parameters import Fault, quantities, quantity, sections

if TYPE_CHECKING:
    from collections.abc import Iterable

    from numpy.typing import NDArray

__all__ = ["Base", "BaseModes", "MeasuredBase", "MeasuredBaseMode", "RigidBase"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class BaseModes:
    """Modes of a base without notes, and the motion of every root in them.

    Parameters
    ----------
    freq_hz, q : float array, shape (base modes,)
        [Hz], dimensionless
    mass : float array, shape (base modes,)
        Modal mass; [kg], or [kg m²] for a turning.
    root_motion : float array, shape (notes, 3, base modes)
        Rise along z, turning about x and turning about y of each root per coordinate.
    """

    freq_hz: NDArray[np.float64]
    q: NDArray[np.float64]
    mass: NDArray[np.float64]
    root_motion: NDArray[np.float64]

    def __post_init__(self) -> None:
        for name in ("freq_hz", "q", "mass", "root_motion"):
            object.__setattr__(self, name, frozen_array(getattr(self, name)))


_Q_DOC = "Quality factor of this mode by itself."
_MASS_DOC = "Mass of the base without the notes."


@dataclass(frozen=True, slots=True, kw_only=True)
class RigidBase:
    """A stiff block on soft feet under its corners."""

    kind: ClassVar[str] = "rigid block"

    mass_kg: float = quantity("kg", _MASS_DOC, above=0.0, plausible=(0.05, 500.0))
    length_m: float = quantity(
        "m", "Length, along the row of roots.", show="mm", above=0.0, plausible=(0.03, 5.0)
    )
    width_m: float = quantity(
        "m", "Width, across the row.", show="mm", above=0.0, plausible=(0.01, 3.0)
    )
    root_line_m: float = quantity(
        "m", "Where the line of the roots lies, across the row from the middle of the block.",
        default=0.0, show="mm", plausible=(-1.5, 1.5),
    )  # fmt: skip
    feet_freq_hz: float = quantity(
        "Hz", "Natural frequency of the block without notes, up and down on its feet.",
        default=20.0, above=0.0, plausible=(1.0, 500.0),
    )  # fmt: skip
    feet_q: float = quantity(
        "1",
        "Quality factor of the feet. Their loss is that of rubber, the same share of each swing at "
        "every frequency.",
        default=5.0,
        above=0.0,
        plausible=(0.6, 500.0),
    )

    def modes_at(self, places_m: NDArray[np.float64]) -> BaseModes:
        """Modes of the block: rise, turning about x, turning about y.

        Parameters
        ----------
        places_m : float array, shape (notes,)
            Place of each root along the row, from the middle of the block. [m]

        Returns
        -------
        BaseModes

        Notes
        -----
        A uniform plate: inertia M l²/12 about each axis. Four equal springs under its corners give
        turning K l²/4, so that both turnings lie √3 times above the rise.
        """
        inertia = self.mass_kg * np.array([self.length_m, self.width_m]) ** 2 / 12
        motion = np.zeros((len(places_m), 3, 3))
        # A turning θx lifts what stands at y by θx y; θy sinks what stands at x by θy x.
        motion[:, 0] = np.stack(
            [np.ones_like(places_m), places_m, np.full_like(places_m, -self.root_line_m)], axis=-1
        )
        motion[:, 1, 1] = motion[:, 2, 2] = 1.0
        return BaseModes(
            freq_hz=self.feet_freq_hz * np.sqrt([1.0, 3.0, 3.0]),
            q=np.full(3, self.feet_q),
            mass=np.array([self.mass_kg, *inertia]),
            root_motion=motion,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasuredBaseMode:
    """One mode of a base as measured or computed elsewhere."""

    freq_hz: float = quantity("Hz", "Natural frequency.", above=0.0, plausible=(1.0, 2e4))
    q: float = quantity("1", _Q_DOC, default=50.0, above=0.0, plausible=(0.6, 1e5))
    mass_kg: float = quantity(
        "kg", "Modal mass where the motion is 1.", above=0.0, plausible=(0.01, 500.0)
    )
    places_m: tuple[float, ...] = quantities(
        "m", "Places along the row, rising, from the middle.", show="mm", plausible=(-3.0, 3.0)
    )
    motion: tuple[float, ...] = quantities("1", "Rise at each of these places.")

    def problems(self) -> Iterable[Fault]:
        """Return faults of places and motion."""
        if len(self.places_m) < 2:
            yield Fault(key="places", expected="two or more places", got=str(len(self.places_m)))
        elif len(self.motion) != len(self.places_m):
            yield Fault(
                key="motion",
                expected=f"{len(self.places_m)} numbers, one for each place",
                got=str(len(self.motion)),
            )
        elif np.any(np.diff(self.places_m) <= 0):
            yield Fault(key="places", expected="places that rise", got=str(list(self.places_m)))


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasuredBase:
    """A base with modes of its own, each known by its motion along the row of roots."""

    kind: ClassVar[str] = "measured modes"

    mass_kg: float = quantity("kg", _MASS_DOC, above=0.0, plausible=(0.05, 500.0))
    length_m: float = quantity(
        "m", "Length, along the row of roots.", show="mm", above=0.0, plausible=(0.03, 5.0)
    )
    modes: tuple[MeasuredBaseMode, ...] = sections("A mode of the base.", MeasuredBaseMode)

    def modes_at(self, places_m: NDArray[np.float64]) -> BaseModes:
        """Modes with the rise of each root, straight between the places given.

        Notes
        -----
        Turning of the roots is left out: it was not measured.
        """
        rise = np.stack([np.interp(places_m, m.places_m, m.motion) for m in self.modes], axis=-1)
        motion = np.zeros((len(places_m), 3, len(self.modes)))
        motion[:, 0] = rise
        return BaseModes(
            freq_hz=np.array([m.freq_hz for m in self.modes]),
            q=np.array([m.q for m in self.modes]),
            mass=np.array([m.mass_kg for m in self.modes]),
            root_motion=motion,
        )


Base = RigidBase | MeasuredBase
