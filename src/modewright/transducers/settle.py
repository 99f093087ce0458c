"""Static position of a body under biased gaps, and the bias at which it gives way or touches.

Newton's method in modal coordinates. The body is represented by the modes it is given; what the
left-out modes would yield statically is not counted, so that many modes give a better answer.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from modewright.errors import TransducerError

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.transducers.gap import BiasedGap

__all__ = ["critical_bias", "settle"]

_STEPS = 60
_TOLERANCE = 1e-12
_STUCK = 1e-6
_FIRST_STEP = 1.5
_RESOLUTION = 1e-8
_NEVER = 1e6


def _forces(
    gaps: tuple[BiasedGap, ...], coordinate: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Force of all gaps and its derivative."""
    moved = [gap.moved(coordinate) for gap in gaps]
    force = np.sum([gap.force for gap in moved], axis=0)
    return force, -np.sum([gap.stiffness for gap in moved], axis=0)


def _is_open(gaps: tuple[BiasedGap, ...], coordinate: NDArray[np.float64]) -> bool:
    return all(np.all(g.gap.air_m + g.gap.opening @ coordinate > 0) for g in gaps)


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
        If there is no stable position clear of plates and poles: the sheet snaps over or touches.
    """
    found = _rest(omega_rad_s, gaps, np.zeros(len(omega_rad_s)))
    if found is not None:
        return found
    strongest = max(gaps, key=lambda gap: gap.pull_n)
    unfilled = tuple(replace(g, gap=replace(g.gap, filled_m=0.0)) for g in gaps)
    if _rest(omega_rad_s, unfilled, np.zeros(len(omega_rad_s))) is not None:
        raise TransducerError(
            f"{strongest.name}: expected air between pole and iron at rest, got a pull of "
            f"{strongest.pull_n * 1e3:.3g} mN as drawn, which closes the gap.",
            hint="Weaken the bias or widen the gap.",
            key=strongest.key,
        )
    raise TransducerError(
        f"{strongest.name}: expected a stable position at rest, got a pull of "
        f"{strongest.pull_n * 1e3:.3g} mN that the body cannot hold; it snaps over.",
        hint="Lower the bias, widen the gap, or move it nearer to the hold.",
        key=strongest.key,
    )


def _rest(
    omega_rad_s: NDArray[np.float64], gaps: tuple[BiasedGap, ...], start: NDArray[np.float64]
) -> NDArray[np.float64] | None:
    """Stable position reached from `start`, None if there is none before something touches.

    The pull grows faster than any spring, so that Newton's steps from a place short of the stable
    position never overshoot it: they either arrive, run into negative stiffness, or are cut
    shorter and shorter where something touches.
    """
    if not gaps:
        return np.zeros(len(omega_rad_s))
    scale = min(float(g.gap.gap_m.min() / np.abs(g.gap.opening).max()) for g in gaps)
    coordinate = start
    for _ in range(_STEPS):
        force, slope = _forces(gaps, coordinate)
        stiffness = np.diag(omega_rad_s**2) - slope
        if np.linalg.eigvalsh(stiffness)[0] <= 0:
            return None
        step = _solved(stiffness, force - omega_rad_s**2 * coordinate)
        before, coordinate = coordinate, _open_step(gaps, coordinate, step)
        if np.abs(step).max() < _TOLERANCE * scale:
            return coordinate
        moved = np.abs(coordinate - before).max()
        if moved < _STUCK * scale and moved < np.abs(step).max() * 0.9:
            return None
    return None


def critical_bias(
    omega_rad_s: NDArray[np.float64], gaps: tuple[BiasedGap, ...], which: int
) -> float:
    """Bias of one gap above which the body snaps over or touches, the others keeping theirs.

    Parameters
    ----------
    omega_rad_s : float array, shape (modes,)
        Undamped angular frequencies without bias. [rad/s]
    gaps : tuple of BiasedGap
        In the same modes, at the unbiased position; the body rests stably under them.
    which : int
        Index of the gap whose bias is raised.

    Returns
    -------
    float
        Magnitude, found by bisection to 1e-8 of itself; infinite if a million times the actual
        bias does nothing, as under a held part of the sheet. [V or A]

    Notes
    -----
    A rigid body on one spring gives way at sqrt(8 k g³/(27 ε0 A)): Senturia, Microsystem Design,
    2001, eq. 6.31. Motion that overshoots the position at rest snaps earlier than this.
    """
    actual = gaps[which].bias
    low, high, state = actual, actual * _FIRST_STEP, settle(omega_rad_s, gaps)
    is_bracketed = False
    while not is_bracketed or high > low * (1 + _RESOLUTION):
        trial = (low + high) / 2 if is_bracketed else high
        raised = (*gaps[:which], gaps[which].with_bias(trial), *gaps[which + 1 :])
        found = _rest(omega_rad_s, raised, state)
        if found is None:
            high, is_bracketed = trial, True
            continue
        low, state = trial, found
        if not is_bracketed:
            high = trial * _FIRST_STEP
        if low > actual * _NEVER:
            return float(np.inf)
    return low
