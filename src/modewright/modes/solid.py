"""Modes of a sheet body by solid finite elements, with an error estimate from two solutions.

Why solid elements for sheet, and how the settings were found: docs/decisions, record 0003.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal

import numpy as np

from modewright.errors import SolveError
from modewright.modes.basis import Modes
from modewright.modes.labels import label_modes
from modewright.modes.one_thread import on_one_thread
from modewright.modes.sampling import bending_strain, sheet_shapes
from modewright.modes.solution import DOZEN, EXACT, MOST_ON_ONE_MESH, Step, solve_step
from modewright.modes.strain_energy import energy_share
from modewright.modes.subspace import ROUGH
from modewright.modes.volume import solve_volume

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    from modewright.geometry.blank import Blank
    from modewright.materials.solid import IsotropicSolid
    from modewright.modes.solution import Solution
    from modewright.modes.volume_solution import VolumeSolution

__all__ = ["ACCURACIES", "REVISION", "Accuracy", "solve_body", "solve_modes"]

Accuracy = Literal["draft", "normal", "fine"]

# Raised whenever the same body would come out differently: kept modes of older code are not read.
REVISION = 20


@dataclass(frozen=True, slots=True, kw_only=True)
class _Setting:
    """Steps to take, at least two, until the error of the first ten modes is as small as wanted.

    Of the difference to the step before, a share of ``error_shares`` is reported as the error.
    ``floor_cents`` is added to every error for what the steps have in common: the order through the
    thickness and the polygons that stand for arcs; ``sharp_cents`` is added where thickness or its
    slope jumps, all along which stress is singular, and where thickness itself jumps also the
    largest of the shares ``sharp_shares`` of all differences so far: there one step may hide what
    another shows. Shapes that are looked at and listened to are iterated down to ``shape_error``,
    whose square is that of ω².
    """

    steps: tuple[Step, ...]
    error_shares: tuple[float, ...]
    sharp_shares: tuple[float, ...]
    wanted_cents: float
    floor_cents: float
    sharp_cents: float
    shape_error: float


def _setting(
    *steps: tuple[tuple[int, int], float, float, float],
    corner_share: float,
    sagitta_share: float,
    has_layer: bool,
    wanted_cents: float,
    floor_cents: float,
    sharp_cents: float,
    shape_error: float,
) -> _Setting:
    """Of steps given by orders, share of edges, share of error and what jumps add to that."""
    return _Setting(
        steps=tuple(
            Step(
                orders=orders,
                edge_share=edge,
                corner_share=corner_share,
                sagitta_share=sagitta_share,
                has_layer=has_layer,
            )
            for orders, edge, _, _ in steps
        ),
        error_shares=tuple(share for _, _, share, _ in steps),
        sharp_shares=tuple(share for _, _, _, share in steps),
        wanted_cents=wanted_cents,
        floor_cents=floor_cents,
        sharp_cents=sharp_cents,
        shape_error=shape_error,
    )


ACCURACIES: dict[Accuracy, _Setting] = {
    "draft": _setting(
        ((2, 2), 1.2, 0.0, 0.0), ((3, 2), 1.2, 0.35, 0.0), ((4, 2), 0.8, 0.35, 0.0),
        corner_share=0.1, sagitta_share=0.02,
        has_layer=False, wanted_cents=150.0, floor_cents=10.0, sharp_cents=30.0,
        shape_error=ROUGH,
    ),
    "normal": _setting(
        ((2, 2), 0.9, 0.0, 0.0), ((3, 3), 0.9, 0.12, 0.2), ((4, 3), 0.9, 0.5, 1.8),
        ((4, 3), 0.5, 0.5, 1.8),
        corner_share=0.02, sagitta_share=0.012,
        has_layer=True, wanted_cents=10.0, floor_cents=1.5, sharp_cents=4.5,
        shape_error=2e-4,
    ),
    "fine": _setting(
        ((3, 3), 0.7, 0.0, 0.0), ((4, 4), 0.7, 0.3, 1.2), ((5, 4), 0.7, 0.5, 1.2),
        ((5, 4), 0.45, 0.5, 1.2),
        corner_share=0.005, sagitta_share=0.0015,
        has_layer=True, wanted_cents=1.5, floor_cents=0.3, sharp_cents=1.8,
        shape_error=2e-4,
    ),
}  # fmt: skip

_DEVIATION_SHARE = 1.5
_JUDGED_MODES = 10
_MOST_MODES = 1000
# Longer sheet: shear and stretching are so much stiffer that round-off of them rules bending.
_MOST_LENGTHS = 5000
# Of the floor, for a body as thick as the root of its area.
_HELD_SHARE = 7.0
# Error of a mode as a multiple of the share of its energy between rigid jaws, from an order through
# the thickness on: measured on strips 5 to 40 thicknesses long against plane solutions.
_JAWS_CENTS = ((5, 250.0), (3, 650.0))


def solve_modes(
    blank: Blank,
    material: IsotropicSolid,
    *,
    count: int,
    accuracy: Accuracy,
    progress: Callable[[str], None] | None = None,
) -> Modes:
    """Find the lowest modes of a body.

    Parameters
    ----------
    blank : Blank
    material : IsotropicSolid
    count : int
        How many elastic modes, 1 to 1000.
    accuracy : {"draft", "normal", "fine"}
    progress : callable, optional
        Told what is being done.

    Returns
    -------
    Modes
        Rigid-body motions of a free body are left out.

    Raises
    ------
    GeometryError
        If the outline cannot be meshed.
    SolveError
        If the modes cannot be found, or are too many.
    """
    modes, _ = _solve(blank, material, count, accuracy, progress)
    return modes


def solve_body(
    blank: Blank,
    material: IsotropicSolid,
    *,
    count: int,
    accuracy: Accuracy,
    progress: Callable[[str], None] | None = None,
) -> tuple[Modes, Solution | VolumeSolution]:
    """Find the lowest modes as `solve_modes` does, and keep the last solution with its matrices.

    Shapes are iterated until they are `EXACT`: their derivatives are as accurate as they are, where
    frequencies are as accurate as the square.

    Returns
    -------
    Modes
    Solution, or VolumeSolution of a solid
        From which the modes were read.
    """
    return _solve(blank, material, count, accuracy, progress, EXACT)


@on_one_thread
def _solve(
    blank: Blank,
    material: IsotropicSolid,
    count: int,
    accuracy: Accuracy,
    progress: Callable[[str], None] | None,
    shape_error: float | None = None,
) -> tuple[Modes, Solution | VolumeSolution]:
    """Take step after step until the error is small enough."""
    tell: Callable[[str], None] = progress if progress is not None else _silent
    setting = ACCURACIES[accuracy]
    _check_count(count)
    if blank.solid is not None:
        return solve_volume(blank, blank.solid, material, count=count, accuracy=accuracy, tell=tell)
    _check_thickness(blank)
    first, *others = setting.steps
    tell(f"solution 1 ({accuracy})")
    found = solve_step(blank, material, first, count, before=None)
    error_cents, jump_cents = np.full(count, np.inf), np.zeros(count)
    for number, step in enumerate(others, 1):
        if error_cents[:_JUDGED_MODES].max() <= setting.wanted_cents:
            break
        tell(f"solution {number + 1} ({accuracy})")
        before, found = (
            found,
            solve_step(
                blank,
                material,
                step,
                count,
                before=found,
                shape_error=shape_error or setting.shape_error,
            ),
        )
        gap_cents = np.abs(600 * np.log2(before.omega2[:count] / found.omega2[:count]))
        error_cents = setting.error_shares[number] * gap_cents + setting.floor_cents
        jump_cents = np.maximum(jump_cents, setting.sharp_shares[number] * gap_cents)
    tell("reading shapes")
    found = found.first(count)
    error_cents += _singular_cents(setting, found, jump_cents)
    found = replace(found, error_cents=error_cents)
    modes = _describe(found, error_cents, accuracy)
    if count <= MOST_ON_ONE_MESH:
        return modes, found
    few = solve_modes(blank, material, count=DOZEN, accuracy=accuracy, progress=progress)
    return _with_lowest_of(modes, few), found


def _check_count(count: int) -> None:
    if not 1 <= count <= _MOST_MODES:
        raise SolveError(
            f"modes: expected 1 to {_MOST_MODES}, got {count}.",
            hint="Ask for the modes that can be heard; a small reed has some tens.",
        )


def _check_thickness(blank: Blank) -> None:
    length_m = float(np.ptp(blank.outline.outer.vertices_m, axis=0).max())
    if length_m > _MOST_LENGTHS * blank.thickness_m:
        raise SolveError(
            f"modes: expected a body at most {_MOST_LENGTHS} times as long as thick, got "
            f"{length_m * 1e3:.4g} mm of {blank.thickness_m * 1e3:.4g} mm: too thin to solve.",
            hint="Take thicker sheet or a shorter body.",
        )


def _singular_cents(
    setting: _Setting, found: Solution, jump_cents: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Error that the steps have in common where thickness or its slope jumps and at holds.

    At a held side face stress is singular along the edges, within about a thickness. So it is along
    the end of rigid jaws, between which only that field reaches: a share of its energy is missing.
    """
    blank, body = found.blank, found.body
    stoutness = blank.thickness_m / np.sqrt(body.regions.area_m2) if blank.hold is not None else 0.0
    error_cents = np.full(len(jump_cents), _HELD_SHARE * stoutness * setting.floor_cents)
    held = _between_jaws(found)
    if held is not None:
        order = found.system.column.order
        error_cents += next(cents for least, cents in _JAWS_CENTS if order >= least) * held
    if body.is_stepped or blank.relief is not None or (held is None and body.has_held_area):
        error_cents += setting.sharp_cents
    return error_cents + jump_cents if body.is_stepped else error_cents


def _between_jaws(found: Solution) -> NDArray[np.float64] | None:
    """Share of each mode's energy between rigid jaws; None where it tells nothing.

    Sideways motion is odd through the thickness: with parabolas there is none between the jaws.
    """
    hold, body, system = found.blank.hold, found.body, found.system
    if hold is None or hold.stiffness_n_per_m3 is not None or not body.has_held_area:
        return None
    if not system.is_flat or system.column.order < _JAWS_CENTS[-1][0]:
        return None
    is_held = np.array([region.is_held for region in body.regions.regions])[body.plane.region]
    return energy_share(system, found.material, found.omega2, found.shapes, is_held)


def _with_lowest_of(modes: Modes, few: Modes) -> Modes:
    """Take the lowest frequencies from another solution, so that tables of any length agree."""
    taken = len(few.freq_hz)
    while taken > 0 and few.freq_hz[taken - 1] > modes.freq_hz[taken]:
        taken -= 1
    return replace(
        modes,
        freq_hz=np.concatenate([few.freq_hz[:taken], modes.freq_hz[taken:]]),
        error_cents=np.concatenate([few.error_cents[:taken], modes.error_cents[taken:]]),
    )


def _silent(_: str) -> None:
    """Progress that nobody asked for."""


def _describe(found: Solution, error_cents: NDArray[np.float64], accuracy: str) -> Modes:
    regions, blank = found.body.regions, found.blank
    shapes = sheet_shapes(found.system, found.shapes)
    # Chords cut off what lies under their arcs; places there are on the sheet all the same.
    deviation_m = _DEVIATION_SHARE * found.step.sagitta_m(blank)
    shapes = replace(shapes, edge_tolerance_m=max(shapes.edge_tolerance_m, deviation_m))
    return Modes(
        freq_hz=np.sqrt(found.omega2) / (2 * np.pi),
        error_cents=error_cents,
        labels=label_modes(shapes, regions, is_held=blank.hold is not None),
        shapes=shapes,
        bending=bending_strain(found.system, found.shapes, found.omega2),
        body_mass_kg=found.system.mass_kg + sum(mass.mass_kg for mass in blank.masses),
        source=f"solid elements, {accuracy}",
    )
