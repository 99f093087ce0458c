"""Which mode is which when a dimension has changed: shapes compared all over the body.

Shapes are compared by the modal assurance criterion, weighted by the mass, at places that move
with the body. Modes of almost one frequency come out turned among themselves; being equals, they
are turned to fit before they are compared. A mode counts as recognised if it is like one mode of
the other body, and like no second one.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from modewright.checks import check_shape, frozen_array
from modewright.modes.derivatives import clusters
from modewright.modes.tracking import paired, turn_to_fit

if TYPE_CHECKING:
    from collections.abc import Iterable

    from numpy.typing import NDArray

    from modewright.chain.mode_places import ModePlaces
    from modewright.geometry.blank import Blank
    from modewright.modes.basis import ModeShapes

__all__ = ["ModeTraces", "Recognised", "mode_traces", "recognise"]

# Shapes less alike than this are not taken for the same mode, nor those that are alike to two by
# almost as much.
_ALIKE, _LEAST_LEAD = 0.5, 0.1
# Modes count as equals if they are nearer than their error, or than what a small change turns; what
# is farther apart is told apart. [cents]
_LEAST_EQUAL_CENTS, _MOST_EQUAL_CENTS = 3.0, 5.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ModeTraces:
    """What modes are recognised by.

    Parameters
    ----------
    shapes : float array, shape (places, modes)
        Of unit length each; from `mode_traces`.
    freq_hz : float array, shape (modes,)
        Rising. [Hz]
    error_cents : float array, shape (modes,)
        Estimate of the discretisation error. [cents]
    """

    shapes: NDArray[np.float64]
    freq_hz: NDArray[np.float64]
    error_cents: NDArray[np.float64]

    def __post_init__(self) -> None:
        for name in ("shapes", "freq_hz", "error_cents"):
            object.__setattr__(self, name, frozen_array(getattr(self, name)))
        check_shape(self.shapes, "shapes", (None, len(self.freq_hz)))
        check_shape(self.error_cents, "error_cents", (len(self.freq_hz),))

    @property
    def equals(self) -> list[NDArray[np.int64]]:
        """Places of modes that cannot be told from equals, cluster by cluster."""
        error = np.minimum(self.error_cents[1:], self.error_cents[:-1])
        return clusters(self.freq_hz, np.clip(error, _LEAST_EQUAL_CENTS, _MOST_EQUAL_CENTS))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Recognised:
    """Modes of one body found again in another.

    Parameters
    ----------
    pairs : int array, shape (modes,)
        Place in the other body of each mode; each at most once.
    likeness : float array, shape (modes,)
        Modal assurance criterion of each pair, equals turned to fit. 0 to 1
    lead : float array, shape (modes,)
        By how much it is more than that of the next best pair with one of the two.
    """

    pairs: NDArray[np.int64]
    likeness: NDArray[np.float64]
    lead: NDArray[np.float64]

    @property
    def is_sure(self) -> NDArray[np.bool_]:
        """Which modes are recognised, shape (modes,)."""
        return (self.likeness >= _ALIKE) & (self.lead >= _LEAST_LEAD)

    def doubt(self, modes: Iterable[int]) -> str:
        """What is wrong with the first of some modes that is not sure; empty if all of them are."""
        is_sure = self.is_sure
        for mode in modes:
            if not is_sure[mode]:
                return (
                    f"mode {mode + 1} is not found again"
                    if self.likeness[mode] < _ALIKE
                    else f"mode {mode + 1} cannot be told from another one"
                )
        return ""


def mode_traces(places: ModePlaces, blank: Blank, shapes: ModeShapes) -> NDArray[np.float64]:
    """Displacements of the middle plane all over a body, each mode of unit length as a vector.

    Parameters
    ----------
    places : ModePlaces
        Of a body of the same kind.
    blank : Blank
    shapes : ModeShapes
        Of that body.

    Returns
    -------
    float array, shape (places, modes)
        Three components after each other, scaled by the square root of the mass that a place
        stands for; no places if the body is of another kind.
    """
    points = places.on(blank)
    if points is None:
        return np.zeros((0, shapes.mode_count))
    moved = shapes.middle.displacement(points) * np.sqrt(places.mass_kg)[:, None, None]
    flat = moved.reshape(-1, moved.shape[-1])
    return flat / np.linalg.norm(flat, axis=0)


def recognise(known: ModeTraces, found: ModeTraces) -> Recognised:
    """Find the modes of one body again in another one.

    Parameters
    ----------
    known, found : ModeTraces
        The second one with at least as many modes. Traces with other numbers of places have nothing
        in common.

    Returns
    -------
    Recognised
        For every mode of the first body.

    References
    ----------
    R. J. Allemang and D. L. Brown, A correlation coefficient for modal vector analysis, Proc. 1st
    International Modal Analysis Conference (1982), 110-116; from memory.
    """
    if len(known.shapes) != len(found.shapes):
        overlap = np.zeros((len(known.freq_hz), len(found.freq_hz)))
    else:
        overlap = known.shapes.T @ found.shapes
        overlap = overlap @ turn_to_fit(overlap.T, found.equals).T
        overlap = turn_to_fit(overlap, known.equals) @ overlap
    # Turned shapes of a cluster are only almost of unit length.
    criterion = np.minimum(overlap**2, 1.0)
    pairs, likeness = paired(criterion)
    rivals = criterion.copy()
    rivals[np.arange(len(pairs)), pairs] = 0.0
    next_best = np.maximum(rivals.max(axis=1), rivals.max(axis=0)[pairs])
    return Recognised(pairs=pairs, likeness=likeness, lead=likeness - next_best)
