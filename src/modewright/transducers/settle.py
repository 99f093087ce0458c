"""Static position of a body under biased gaps, and the bias at which it gives way.

Newton's method in modal coordinates. The body is represented by the modes it is given; what the
left-out modes would yield statically is not counted, so that many modes give a better answer.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy.optimize import brentq

from modewright.errors import TransducerError

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.transducers.gap import BiasedGap

__all__ = ["critical_bias", "settle"]

_STEPS = 60
_TOLERANCE = 1e-12
_CLOSURES = 100
_REFINEMENTS = 8


def _forces(
    gaps: tuple[BiasedGap, ...], coordinate: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Force of all gaps and its derivative."""
    moved = [gap.moved(coordinate) for gap in gaps]
    force = np.sum([gap.force for gap in moved], axis=0)
    return force, -np.sum([gap.stiffness for gap in moved], axis=0)


def _is_open(gaps: tuple[BiasedGap, ...], coordinate: NDArray[np.float64]) -> bool:
    return all(np.all(g.gap.gap_m + g.gap.opening @ coordinate > 0) for g in gaps)


def _solved(matrix: NDArray[np.float64], right: NDArray[np.float64]) -> NDArray[np.float64]:
    return np.asarray(np.linalg.solve(matrix, right), dtype=np.float64)


def _open_step(
    gaps: tuple[BiasedGap, ...], start: NDArray[np.float64], step: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Largest halving of a step that touches nothing."""
    for _ in range(_STEPS):
        if _is_open(gaps, start + step):
            return start + step
        step = step / 2
    return start


def settle(omega_rad_s: NDArray[np.float64], gaps: tuple[BiasedGap, ...]) -> NDArray[np.float64]:
    """Modal coordinates at which the body rests.

    Parameters
    ----------
    omega_rad_s : float array, shape (modes,)
        Undamped angular frequencies without bias. [rad/s]
    gaps : tuple of BiasedGap
        In the same modes, at the unbiased position.

    Returns
    -------
    float array, shape (modes,)
        [m sqrt(kg)]

    Raises
    ------
    TransducerError
        If there is no stable position: the sheet snaps onto a plate or pole.
    """
    coordinate = np.zeros(len(omega_rad_s))
    if not gaps:
        return coordinate
    scale = min(float(g.gap.gap_m.min() / np.abs(g.gap.opening).max()) for g in gaps)
    for _ in range(_STEPS):
        force, slope = _forces(gaps, coordinate)
        stiffness = np.diag(omega_rad_s**2) - slope
        if np.linalg.eigvalsh(stiffness)[0] <= 0:
            break
        step = _solved(stiffness, force - omega_rad_s**2 * coordinate)
        coordinate = _open_step(gaps, coordinate, step)
        if np.abs(step).max() < _TOLERANCE * scale:
            return coordinate
    strongest = max(gaps, key=lambda gap: gap.pull_n)
    raise TransducerError(
        f"{strongest.name}: expected a stable position at rest, got a pull of "
        f"{strongest.pull_n * 1e3:.3g} mN that the body cannot hold; it snaps over.",
        hint="Lower the bias, widen the gap, or move it nearer to the hold.",
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Fold:
    """Equilibria with one gap held at a prescribed mean opening, its bias being the unknown.

    A state is the modal coordinates followed by the squared bias.
    """

    omega_rad_s: NDArray[np.float64]
    chosen: BiasedGap
    others: tuple[BiasedGap, ...]

    def _bordered(
        self, state: NDArray[np.float64]
    ) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Residual of equilibrium and its matrix bordered by the prescribed opening."""
        coordinate, square = state[:-1], state[-1]
        unit_force, unit_slope = _forces((self.chosen,), coordinate)
        residual = self.omega_rad_s**2 * coordinate - square * unit_force
        matrix = np.diag(self.omega_rad_s**2) - square * unit_slope
        if self.others:
            force, slope = _forces(self.others, coordinate)
            residual, matrix = residual - force, matrix - slope
        border = self.chosen.gap.mean_opening
        full = np.block([[matrix, -unit_force[:, None]], [border[None, :], np.zeros((1, 1))]])
        return residual, full

    def held_at(self, start: NDArray[np.float64], opening_m: float) -> NDArray[np.float64] | None:
        """State with the gap at a mean opening, reached from a state nearby; None if there is none.

        There is none where another pair of faces would touch, or lies too far from `start`.
        """
        border = self.chosen.gap.mean_opening
        scale_m = float(self.chosen.gap.gap_m.min())
        state = start
        for _ in range(_STEPS):
            residual, full = self._bordered(state)
            miss = border @ state[:-1] - opening_m
            step = _solved(full, -np.append(residual, miss))
            moved = _open_step((self.chosen, *self.others), state[:-1], step[:-1])
            state = np.append(moved, state[-1] + step[-1])
            if float(np.abs(self.chosen.gap.opening @ step[:-1]).max()) < _TOLERANCE * scale_m:
                return state
        return None

    def growth(self, state: NDArray[np.float64]) -> float:
        """How the squared bias grows with the closure; zero at the fold."""
        _, full = self._bordered(state)
        direction = np.append(np.zeros(len(state) - 1), -1.0)
        return float(_solved(full, direction)[-1])


def critical_bias(
    omega_rad_s: NDArray[np.float64], gaps: tuple[BiasedGap, ...], which: int
) -> float:
    """Bias of one gap at which the body gives way, the other gaps keeping theirs.

    Parameters
    ----------
    omega_rad_s : float array, shape (modes,)
        Undamped angular frequencies without bias. [rad/s]
    gaps : tuple of BiasedGap
        In the same modes, at the unbiased position.
    which : int
        Index of the gap whose bias is raised.

    Returns
    -------
    float
        Magnitude; where faces touch before anything snaps, the bias at which they do. [V or A]

    Notes
    -----
    The closure of the gap is prescribed and the bias that holds it solved for, because the closure
    grows steadily through the fold where the bias is largest. A rigid body on one spring gives way
    at sqrt(8 k g³/(27 ε0 A)): Senturia, Microsystem Design, 2001, eq. 6.31.
    """
    others = tuple(gap for index, gap in enumerate(gaps) if index != which)
    fold = _Fold(omega_rad_s=omega_rad_s, chosen=gaps[which].with_bias(1.0), others=others)
    state = np.append(settle(omega_rad_s, others), 0.0)
    opening_m = float(fold.chosen.gap.mean_opening @ state[:-1])
    step_m = float(fold.chosen.gap.gap_m.min()) / _CLOSURES
    smallest_m = step_m / 2**_REFINEMENTS
    while step_m >= smallest_m:
        following = fold.held_at(state, opening_m - step_m)
        if following is None:
            step_m /= 2
        elif fold.growth(following) <= 0:
            return _bias_at_fold(fold, state, opening_m, step_m)
        else:
            state, opening_m = following, opening_m - step_m
    return float(np.sqrt(state[-1]))


def _bias_at_fold(
    fold: _Fold, state: NDArray[np.float64], opening_m: float, step_m: float
) -> float:
    """Bias at the fold, which lies within one step of closure."""
    reached = state

    def growth_at(opening: float) -> float:
        nonlocal reached
        found = fold.held_at(state, opening)
        reached = state if found is None else found
        return fold.growth(reached)

    if fold.growth(state) > 0:
        brentq(growth_at, opening_m - step_m, opening_m, xtol=1e-9 * step_m, rtol=1e-12)
    return float(np.sqrt(max(reached[-1], 0.0)))
