"""One number of a design varied over a range, every mode followed by its shape."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from modewright.chain.places import place_design
from modewright.design.address import check_design, find_number, replaced
from modewright.errors import GeometryError, SolveError
from modewright.materials.choice import chosen_material
from modewright.materials.model import expansion_freq_ratio
from modewright.modes.approaches import find_approaches
from modewright.modes.moved import solve_moved
from modewright.modes.solid import solve_body
from modewright.modes.tracking import Followed, follow_across, follow_modes, shape_traces
from modewright.modes.volume_moved import solve_volume_moved
from modewright.modes.volume_solution import VolumeSolution

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from pathlib import Path

    from numpy.typing import NDArray

    from modewright.design.address import Address
    from modewright.design.schema import Design
    from modewright.geometry.blank import Blank
    from modewright.materials.solid import IsotropicSolid
    from modewright.modes.approaches import Approach
    from modewright.modes.solid import Accuracy
    from modewright.modes.tracking import AnySolution

__all__ = ["Sweep", "sweep_number"]

# Below this a step is halved to see how the shapes get there.
_SURE = 0.8
_MOST_HALVINGS = 7
# Modes above those followed, since others come down between them.
_LEAST_MORE, _MORE_SHARE = 4, 0.5
_LOST = 0.2


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Sweep:
    """Undamped modes over a range of one number, at the design's temperature.

    Parameters
    ----------
    address : Address
    values : float array, shape (steps,)
        [SI unit of the number]
    labels : tuple of str, length modes
        At the first value, where the modes stand in rising order.
    freq_hz : float array, shape (steps, modes)
        Each column is one mode, followed. [Hz]
    assurance : float array, shape (steps, modes)
        Least modal assurance criterion on the way from the step before, 0 to 1; 1 in the first.
    approaches : tuple of Approach
        Where two modes cross or veer.
    """

    address: Address
    values: NDArray[np.float64]
    labels: tuple[str, ...]
    freq_hz: NDArray[np.float64]
    assurance: NDArray[np.float64]
    approaches: tuple[Approach, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Course:
    """What is varied and how it is solved."""

    design: Design
    folder: Path
    text: str
    solved_modes: int
    accuracy: Accuracy


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Body:
    blank: Blank
    solid: IsotropicSolid
    growth_ratio: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _State:
    """One body on the way: its solution, the mesh it moved from, where the modes stand in it."""

    value: float
    mesh: AnySolution
    solution: AnySolution
    growth_ratio: float
    places: NDArray[np.int64]
    assurance: NDArray[np.float64]

    @property
    def freq_hz(self) -> NDArray[np.float64]:
        omega = np.sqrt(self.solution.omega2[self.places])
        return omega / (2 * np.pi) * self.growth_ratio


def sweep_number(
    design: Design,
    folder: Path,
    text: str,
    values: Sequence[float],
    *,
    count: int = 8,
    accuracy: Accuracy = "draft",
    progress: Callable[[str], None] | None = None,
) -> Sweep:
    """Vary a number of a design and follow its modes.

    Parameters
    ----------
    design : Design
    folder : Path
        Folder of the design file.
    text : str
        Address of the number.
    values : sequence of float
        At least two, in order, in SI units.
    count : int
        How many modes are followed, from the lowest at the first value.
    accuracy : {"draft", "normal", "fine"}
    progress : callable, optional
        Told what is being done.

    Returns
    -------
    Sweep

    Raises
    ------
    DesignError
        If there is no such number, or a value is beyond its limits.
    ModewrightError
        If a value makes no body, or a mode rises out of all that are solved for.

    Notes
    -----
    The mesh of the first body moves along, so that curves are smooth; it is made anew where it
    would be spoilt. From step to step a mode is the one whose shape is most alike; a step in which
    that is not clear, or in which two modes change places, is halved, seven times at most. So a
    veering is followed along its branches, and one too narrow for that passes for a crossing.
    """
    if len(values) < 2:
        raise ValueError(f"values: expected at least two, got {len(values)}")
    course = _Course(
        design=design,
        folder=folder,
        text=text,
        solved_modes=count + max(_LEAST_MORE, int(_MORE_SHARE * count)),
        accuracy=accuracy,
    )
    state, labels = _started(course, float(values[0]), count)
    freq, assurance = [state.freq_hz], [state.assurance]
    runs: list[list[NDArray[np.float64]]] = [[_traces(state)]]
    for number, value in enumerate(values[1:], 2):
        if progress is not None:
            progress(f"value {number} of {len(values)}")
        before, state = state, _advanced(course, state, float(value), 0)
        freq.append(state.freq_hz)
        assurance.append(state.assurance)
        # Traces of different meshes belong to different places.
        if state.mesh is before.mesh:
            runs[-1].append(_traces(state))
        else:
            runs.append([_traces(state)])
    all_values, all_freq = np.array(values, dtype=np.float64), np.array(freq)
    return Sweep(
        address=find_number(design, text),
        values=all_values,
        labels=labels,
        freq_hz=all_freq,
        assurance=np.array(assurance),
        approaches=_approaches(all_values, all_freq, runs),
    )


def _approaches(
    values: NDArray[np.float64],
    freq_hz: NDArray[np.float64],
    runs: list[list[NDArray[np.float64]]],
) -> tuple[Approach, ...]:
    found: list[Approach] = []
    start = 0
    for run in runs:
        steps = slice(start, start + len(run))
        found += find_approaches(values[steps], freq_hz[steps], np.array(run))
        start += len(run)
    return tuple(found)


def _body_at(course: _Course, value: float) -> _Body:
    design = replaced(course.design, course.text, value)
    check_design(design)
    material = chosen_material(design.material)
    return _Body(
        blank=place_design(design, course.folder).blank,
        solid=material.solid,
        growth_ratio=expansion_freq_ratio(material, material.temperature_k),
    )


def _started(course: _Course, value: float, count: int) -> tuple[_State, tuple[str, ...]]:
    body = _body_at(course, value)
    modes, solution = solve_body(
        body.blank, body.solid, count=course.solved_modes, accuracy=course.accuracy
    )
    state = _State(
        value=value,
        mesh=solution,
        solution=solution,
        growth_ratio=body.growth_ratio,
        places=np.arange(count),
        assurance=np.ones(count),
    )
    return state, modes.labels[:count]


def _advanced(course: _Course, state: _State, value: float, halvings: int) -> _State:
    """Go on to a value, by halves where one step leaves doubt."""
    body = _body_at(course, value)
    mesh, followed = _followed(course, state, body)
    if halvings < _MOST_HALVINGS and not _is_clear(state, followed):
        half = _advanced(course, state, (state.value + value) / 2, halvings + 1)
        rest = _advanced(course, half, value, halvings + 1)
        return replace(rest, assurance=np.minimum(half.assurance, rest.assurance))
    if followed.assurance.min() < _LOST:
        raise SolveError(
            f"modes: expected {len(state.places)} modes to stay among the lowest "
            f"{course.solved_modes}, got one that is lost at {value:g}.",
            hint="Follow more modes, so that more are solved for, or a shorter range.",
        )
    return _State(
        value=value,
        mesh=mesh,
        solution=followed.solution,
        growth_ratio=body.growth_ratio,
        places=followed.places,
        assurance=followed.assurance,
    )


def _is_clear(state: _State, followed: Followed) -> bool:
    """Whether all shapes are found again, in the same order of frequency.

    Where the order changes, the modes may have crossed, or taken on each other's shapes within the
    step; smaller steps tell.
    """
    order = np.argsort(state.places)
    is_ordered = bool(np.all(np.diff(followed.places[order]) > 0))
    return is_ordered and float(followed.assurance.min()) >= _SURE


def _followed(course: _Course, state: _State, body: _Body) -> tuple[AnySolution, Followed]:
    """Modes of the next body, on the same mesh if that can be."""
    try:
        moved = _solved_moved(state.mesh, body)
    except (GeometryError, SolveError):
        _, anew = solve_body(
            body.blank, body.solid, count=course.solved_modes, accuracy=course.accuracy
        )
        return anew, follow_across(state.solution, anew, state.places)
    return state.mesh, follow_modes(state.solution, moved, state.places)


def _solved_moved(mesh: AnySolution, body: _Body) -> AnySolution:
    if isinstance(mesh, VolumeSolution):
        return solve_volume_moved(mesh, body.blank, body.solid, count=len(mesh.omega2))
    return solve_moved(mesh, body.blank, body.solid)


def _traces(state: _State) -> NDArray[np.float64]:
    return shape_traces(state.solution)[:, state.places]
