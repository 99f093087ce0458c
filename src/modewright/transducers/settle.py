"""Static position of a body under biased gaps, and the bias at which it gives way.

Newton's method in modal coordinates. The body is represented by the modes it is given; what the
left-out modes would yield statically is not counted, so that many modes give a better answer.
"""

from __future__ import annotations

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
_CLOSURES = 400
_NEARLY_SHUT = 0.98


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
        Magnitude. [V or A]

    Raises
    ------
    TransducerError
        If the equilibrium cannot be followed, because another gap snaps first.

    Notes
    -----
    The mean closure of the gap is prescribed and the bias that holds it is solved for, because
    the closure grows steadily through the fold where the bias has its maximum. A rigid body on
    one spring gives way at sqrt(8 k g³/(27 ε0 A)): Senturia, Microsystem Design, 2001, eq. 6.31.
    """
    chosen = gaps[which].with_bias(1.0)
    others = tuple(gap for index, gap in enumerate(gaps) if index != which)
    state = np.append(settle(omega_rad_s, others), 0.0)
    rest_m = float(chosen.gap.mean_opening @ state[:-1])
    step_m = float(chosen.gap.gap_m.min()) / _CLOSURES
    previous_slope, previous_m = 1.0, 0.0
    for count in range(1, _CLOSURES):
        closure_m = count * step_m
        state = _held_at(omega_rad_s, chosen, others, state, rest_m - closure_m)
        slope = _square_per_closure(omega_rad_s, chosen, others, state)
        if slope <= 0:
            break
        previous_slope, previous_m = slope, closure_m
    else:
        raise TransducerError(
            f"{chosen.name}: expected a bias at which the sheet snaps over, found none before the "
            "gap is shut.",
        )
    start = state

    def slope_at(closure_m: float) -> float:
        there = _held_at(omega_rad_s, chosen, others, start, rest_m - closure_m)
        return _square_per_closure(omega_rad_s, chosen, others, there)

    if previous_slope > 0 and previous_m > 0:
        closure_m = float(brentq(slope_at, previous_m, closure_m, xtol=1e-9 * step_m, rtol=1e-12))
    fold = _held_at(omega_rad_s, chosen, others, start, rest_m - closure_m)
    return float(np.sqrt(fold[-1]))


def _bordered(
    omega_rad_s: NDArray[np.float64],
    chosen: BiasedGap,
    others: tuple[BiasedGap, ...],
    state: NDArray[np.float64],
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Residual of equilibrium and its matrix bordered by the prescribed opening."""
    coordinate, square = state[:-1], state[-1]
    unit_force, unit_slope = _forces((chosen,), coordinate)
    residual = omega_rad_s**2 * coordinate - square * unit_force
    matrix = np.diag(omega_rad_s**2) - square * unit_slope
    if others:
        force, slope = _forces(others, coordinate)
        residual, matrix = residual - force, matrix - slope
    border = chosen.gap.mean_opening
    full = np.block([[matrix, -unit_force[:, None]], [border[None, :], np.zeros((1, 1))]])
    return residual, full


def _held_at(
    omega_rad_s: NDArray[np.float64],
    chosen: BiasedGap,
    others: tuple[BiasedGap, ...],
    state: NDArray[np.float64],
    opening_m: float,
) -> NDArray[np.float64]:
    """Coordinates and squared bias that hold the gap at a mean opening."""
    border = chosen.gap.mean_opening
    scale = float(chosen.gap.gap_m.min())
    for _ in range(_STEPS):
        residual, full = _bordered(omega_rad_s, chosen, others, state)
        miss = border @ state[:-1] - opening_m
        step = _solved(full, -np.append(residual, miss))
        moved = _open_step((chosen, *others), state[:-1], step[:-1])
        state = np.append(moved, state[-1] + step[-1])
        if float(np.abs(chosen.gap.opening @ step[:-1]).max()) < _TOLERANCE * scale:
            return state
    raise TransducerError(
        f"{chosen.name}: expected a position at rest with the gap closed by "
        f"{-opening_m * 1e6:.3g} µm, found none.",
        hint="Lower the bias of the other gaps.",
    )


def _square_per_closure(
    omega_rad_s: NDArray[np.float64],
    chosen: BiasedGap,
    others: tuple[BiasedGap, ...],
    state: NDArray[np.float64],
) -> float:
    """How the squared bias grows with the closure; zero at the fold."""
    _, full = _bordered(omega_rad_s, chosen, others, state)
    direction = np.append(np.zeros(len(state) - 1), -1.0)
    return float(np.linalg.solve(full, direction)[-1])
