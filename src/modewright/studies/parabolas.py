"""Parabolas for what tolerances do: by exact derivatives, or through solved pieces."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from modewright.chain.sensitivity import frequency_sensitivity
from modewright.errors import PieceError, Problem
from modewright.tolerances.response import Response

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from pathlib import Path

    from numpy.typing import NDArray

    from modewright.design.schema import Design
    from modewright.studies.inputs import Move
    from modewright.studies.trial import Tried

__all__ = [
    "LEAST_MODES",
    "REACH_SIGMA",
    "cents_by_address",
    "check_sound",
    "fitted_parabolas",
    "moves_beside_body",
    "power_law",
    "with_derivatives",
]

LEAST_MODES = 12
REACH_SIGMA = 1.5
"""Where the parabolas are fitted, in standard deviations."""


def check_sound(tried: Tried, what: str) -> None:
    """Raise the fault of a piece that has to be sound."""
    if tried.fault:
        fault = Problem(
            what="spread",
            expected=f"a sound piece of {what}",
            got=f'"{tried.fault}"',
            hint="Tighten the tolerance or change the design.",
        )
        raise PieceError([fault])


def cents_by_address(design: Design, folder: Path, modes: int) -> dict[str, NDArray[np.float64]]:
    """Cents per unit of every number of the body; NaN for one that cannot change by a little."""
    found = frequency_sensitivity(design, folder, count=max(LEAST_MODES, modes))
    slopes = {
        parameter.address.text: column[:modes]
        for parameter, column in zip(found.parameters, found.cents_per_unit.T, strict=True)
    }
    return {**slopes, **{u.address.text: np.full(modes, np.nan) for u in found.unfit}}


def power_law(
    slopes: dict[str, NDArray[np.float64]], moves: Sequence[Move], modes: int
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Slope and curve per share of the limit, every mode a power of every number that moves."""
    slope, curve = np.zeros((2, modes))
    for move in moves:
        part = move.limit * slopes.get(move.address, np.zeros(modes))
        slope = slope + part
        curve = curve - (part * move.limit / (2 * move.value) if move.value else 0.0)
    return slope, curve


def moves_beside_body(
    slopes: dict[str, NDArray[np.float64]], moves: Sequence[Move]
) -> tuple[Move, ...]:
    """Those of several numbers that do not act on the body alone, if others of them do."""
    beside = tuple(move for move in moves if not np.any(slopes.get(move.address, 0.0)))
    return beside if len(beside) < len(moves) else ()


def with_derivatives(
    fitted: Response,
    laws: Sequence[tuple[NDArray[np.float64], NDArray[np.float64]]],
    keeps_mesh: Sequence[bool],
    beside: Mapping[int, Response],
) -> Response:
    """Frequencies by exact derivatives where there are any and the meshes of two bodies differ.

    Parameters
    ----------
    fitted : Response
        Of every tolerance.
    laws : sequence of pairs of float arrays, shape (modes,)
        Slope and curve by the derivatives of the body alone.
    keeps_mesh : sequence of bool
    beside : mapping from int to Response
        Of tolerances that also move a gap or the like: what that part does by itself, as fitted.
    """
    slope, curve = fitted.slope.copy(), fitted.curve.copy()
    for number, ((law_slope, law_curve), same) in enumerate(zip(laws, keeps_mesh, strict=True)):
        if not same and np.isfinite(law_slope).all() and law_slope.any():
            modes = len(law_slope)
            slope[number, :modes] = law_slope
            curve[number, :modes] = law_curve
            if number in beside:
                slope[number, :modes] += beside[number].slope[0, :modes]
                curve[number, :modes] += beside[number].curve[0, :modes]
    return Response(slope=slope, curve=curve)


def fitted_parabolas(
    nominal: Tried, ends: Sequence[Tried], reach: NDArray[np.float64], names: Sequence[str]
) -> Response:
    """Parabolas through the design and the solved pieces below and above it."""
    for number, tried in enumerate(ends):
        check_sound(tried, names[number // 2])
    size = len(nominal.figures)
    moved = np.array([tried.figures - nominal.figures for tried in ends]).reshape(-1, 2, size)
    with np.errstate(invalid="ignore"):
        slope = (moved[:, 1] - moved[:, 0]) / (2 * reach[:, None])
        curve = (moved[:, 1] + moved[:, 0]) / (2 * reach[:, None] ** 2)
    return Response(slope=slope, curve=curve)
