"""How the frequencies of a body follow its dimensions, its material and what is fixed to it.

A parameter is a `BodyChange`: the body drawn a little below and a little above its value. Its
derivative is exact for the discretised body, on a mesh that moves with the body:

    dλ/dp = φᵀ (dK/dp - λ dM/dp) φ,   λ = ω²,   φᵀMφ = 1

(Fox & Kapoor, AIAA J. 6 (1968) 2426). Modes of one frequency, or so near that a small change mixes
them, belong together: there the derivatives are the eigenvalues of the small matrix
Φᵀ (dK/dp - λ dM/dp) Φ (Ojalvo, AIAA J. 26 (1988) 361; both from memory). Each is given to the mode
that is most like its eigenvector, so that modes that do not mix keep their own.

Equals of the true body are apart on a mesh, which is not as symmetric as the body is: what is
nearer than the error of the frequencies belongs together.

    modes, solution = solve_body(blank, material, count=12, accuracy="normal")
    slopes = frequency_derivatives(solution, [change, ...])   # (modes, parameters), Hz per unit

The work for the modes is done once and is less than that of finding them; a parameter adds little.
Shapes: `modewright.modes.shape_derivatives`.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from scipy.optimize import linear_sum_assignment

from modewright.modes.body_rate import body_rates
from modewright.modes.curve_motion import corner_rates
from modewright.modes.matrix_rate import matrix_rates
from modewright.modes.mesh_motion import level_rates
from modewright.modes.mode_forms import pair_form, rate_of_form
from modewright.modes.one_thread import on_one_thread
from modewright.modes.volume_rate import check_volume_change, volume_matrices_of, volume_rates
from modewright.modes.volume_solution import VolumeSolution

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from numpy.typing import NDArray

    from modewright.modes.body_change import BodyChange
    from modewright.modes.body_rate import BodyRate
    from modewright.modes.solution import Solution

__all__ = ["belonging_together", "check_change", "clusters", "frequency_derivatives"]

# Round-off and the search for modes do not tell nearer ones apart.
_LEAST_CENTS = 0.1
# Meshes split the pairs of discs and squares by less, by at most 0.4 of the error estimate, also
# where that has become many cents: farther ones are different modes. [cents]
_MOST_CENTS = 5.0
_TIE_SHARE = 0.1


@on_one_thread
def frequency_derivatives(
    solution: Solution | VolumeSolution,
    changes: Sequence[BodyChange],
    *,
    near_cents: float | None = None,
) -> NDArray[np.float64]:
    """Derivative of every frequency by every parameter.

    Parameters
    ----------
    solution : Solution
        From `modewright.modes.solid.solve_body`.
    changes : sequence of BodyChange
        One for each parameter, of the solution's blank and material.
    near_cents : float, optional
        Modes nearer than this belong together; if left out, modes nearer than the error estimate of
        either, but for those more than 5 cents apart.

    Returns
    -------
    float array, shape (modes, parameters)
        dfreq_hz/dp. [Hz per unit of the parameter]

    Raises
    ------
    GeometryError
        If a change alters the sequence of lines and arcs.
    SolveError
        If faces of the same height move apart.

    Notes
    -----
    Exact for the given mesh and order. What it differs from the derivative of the true body is of
    the order of the error of the frequency itself.
    """
    freq_hz = _freq_hz(solution)
    slopes = np.zeros((len(solution.omega2), len(changes)))
    matrices_of = _cluster_matrices(solution, changes)
    for members in belonging_together(solution, near_cents):
        for number, matrix in enumerate(matrices_of(members)):
            slopes[members, number] = _own_slopes(matrix)
    return slopes / (8 * np.pi**2 * freq_hz[:, None])


def _own_slopes(matrix: NDArray[np.float64]) -> NDArray[np.float64]:
    """Eigenvalues, each in the place of the mode that has the largest part in its vector."""
    values, vectors = np.linalg.eigh(matrix)
    # Where modes are turned half way, either order is right: rising, as they come out with more.
    number = np.arange(len(values))
    out_of_order = _TIE_SHARE * np.abs(number[:, None] - number)
    _, places = linear_sum_assignment(out_of_order - vectors**2)
    return values[places]


def belonging_together(
    solution: Solution | VolumeSolution, near_cents: float | None = None
) -> list[NDArray[np.int64]]:
    """Places of modes that cannot be told from equals, cluster by cluster.

    Parameters
    ----------
    solution : Solution or VolumeSolution
    near_cents : float, optional
        As for `frequency_derivatives`.

    Returns
    -------
    list of int arrays
        Together all modes, in rising order.
    """
    if near_cents is not None:
        return clusters(_freq_hz(solution), near_cents)
    error_cents = np.clip(solution.error_cents, _LEAST_CENTS, _MOST_CENTS)
    return clusters(_freq_hz(solution), np.minimum(error_cents[1:], error_cents[:-1]))


def _freq_hz(solution: Solution | VolumeSolution) -> NDArray[np.float64]:
    return np.sqrt(solution.omega2) / (2 * np.pi)


def _cluster_matrices(
    solution: Solution | VolumeSolution, changes: Sequence[BodyChange]
) -> Callable[[NDArray[np.int64]], NDArray[np.float64]]:
    """What gives the small matrices of a cluster, (parameters, members, members)."""
    if isinstance(solution, VolumeSolution):
        return volume_matrices_of(solution, volume_rates(solution, changes))
    if solution.system.is_flat:
        rates = body_rates(solution, changes)
        return lambda members: cluster_matrices(solution, members, rates)
    matrices = matrix_rates(solution, changes)
    fields = solution.shapes.reshape(-1, solution.shapes.shape[-1])

    def projected(members: NDArray[np.int64]) -> NDArray[np.float64]:
        eigenvalue = float(solution.omega2[members].mean())
        some = fields[:, members]
        return np.array([some.T @ rate.applied(some, eigenvalue) for rate in matrices])

    return projected


def check_change(solution: Solution | VolumeSolution, change: BodyChange) -> None:
    """See whether there are derivatives by a change, without working them out.

    Raises
    ------
    GeometryError
        If the change alters the sequence of lines and arcs.
    SolveError
        If faces of the same height move apart, or a box moves that chooses held faces of a solid.
    """
    if isinstance(solution, VolumeSolution):
        check_volume_change(solution, change)
        return
    body, sagitta_m = solution.body, solution.step.sagitta_m(solution.blank)
    corner_rates(body.regions, solution.blank, [change], sagitta_m)
    level_rates(body.levels_m, body.regions, solution.blank, [change], sagitta_m)


def clusters(
    freq_hz: NDArray[np.float64], near_cents: float | NDArray[np.float64]
) -> list[NDArray[np.int64]]:
    """Places of modes that follow each other within so many cents, cluster by cluster.

    ``near_cents`` may be given for every step from a mode to the next.
    """
    apart = 1200 * np.diff(np.log2(freq_hz)) > near_cents
    return np.split(np.arange(len(freq_hz)), np.nonzero(apart)[0] + 1)


def cluster_matrices(
    solution: Solution, members: NDArray[np.int64], rates: Sequence[BodyRate]
) -> NDArray[np.float64]:
    """Φᵀ (dK/dp - λ dM/dp) Φ of a cluster, shape (parameters, members, members)."""
    size = len(members)
    found = np.zeros((len(rates), size, size))
    for i in range(size):
        for j in range(i + 1):
            form = pair_form(solution, int(members[i]), int(members[j]))
            found[:, i, j] = found[:, j, i] = [
                rate_of_form(solution.system, solution.added, form, rate) for rate in rates
            ]
    return found
