"""The ground that inverse design walks on: bodies of one design with their free dimensions set."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from modewright.chain.mode_traces import recognise
from modewright.chain.tune_body import sample_body
from modewright.design.free_dimensions import written_position
from modewright.errors import ModewrightError
from modewright.tune.demands import Heading, demands, slopes_of, state_of

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from numpy.typing import NDArray

    from modewright.chain.tune_body import BodySample
    from modewright.chain.tune_task import TuneTask
    from modewright.design.schema import Design
    from modewright.modes.solid import Accuracy
    from modewright.tune.demands import Demand
    from modewright.tune.descent import Descent
    from modewright.tune.step import Slopes, State
    from modewright.tune.targets import ModeAddress

__all__ = ["BodyLandscape", "BodyTerrain", "TunedBody"]

_HALVINGS = 3


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TunedBody:
    """A visited place.

    Parameters
    ----------
    position : float array, shape (dimensions,)
        In the ranges of the free dimensions, 0 to 1.
    design : Design
        With them set.
    sample : BodySample
    places : mapping from int or str to int
        Position of each mode that the targets name.
    wanted : tuple of Demand
    state : State
    """

    position: NDArray[np.float64]
    design: Design
    sample: BodySample
    places: Mapping[ModeAddress, int]
    wanted: tuple[Demand, ...]
    state: State


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class BodyLandscape:
    """Bodies solved to one accuracy.

    Parameters
    ----------
    task : TuneTask
    accuracy : {"draft", "normal", "fine"}
    """

    task: TuneTask
    accuracy: Accuracy

    def visit(self, position: NDArray[np.float64], near: TunedBody) -> TunedBody | None:
        """Look at a body close to another; None if there is none or its modes are others."""
        position = written_position(self.task.dimensions, position)
        sample = self.sample(position)
        if sample is None:
            return None
        places = same_modes(near.sample, near.places, sample, self.task.progress)
        return None if places is None else self.body(position, sample, places)

    def sample(self, position: NDArray[np.float64]) -> BodySample | None:
        """Solve a body; None if the dimensions make none."""
        try:
            return sample_body(self.task, position, self.accuracy)
        except ModewrightError:
            # A corner of the ranges where no sheet, or no gap, is left: the search goes elsewhere.
            return None

    def body(
        self, position: NDArray[np.float64], sample: BodySample, places: Mapping[ModeAddress, int]
    ) -> TunedBody:
        """Put together what is known of a place."""
        task = self.task
        heading = Heading(note=task.design.design.note, a4_hz=task.design.design.a4_hz)
        wanted = demands(task.settings, heading, places, sample.labels, sample.quantities)
        return TunedBody(
            position=position,
            design=task.design_at(position),
            sample=sample,
            places=places,
            wanted=wanted,
            state=state_of(wanted, sample.quantities),
        )

    def slopes(self, place: TunedBody) -> Slopes:
        """Derivatives of misses and rooms at a place."""
        return slopes_of(place.wanted, place.sample.slopes)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class BodyTerrain:
    """Draft bodies to walk on, bodies of the wanted accuracy to arrive at.

    Parameters
    ----------
    task : TuneTask
    author : TunedBody
        The design as it is, to the wanted accuracy: what its modes are called holds everywhere.
    """

    task: TuneTask
    author: TunedBody

    @property
    def rough(self) -> BodyLandscape:
        """Draft bodies."""
        return BodyLandscape(task=self.task, accuracy="draft")

    def start(self, position: NDArray[np.float64]) -> TunedBody | None:
        """Solve a draft body far from any other and find the named modes there.

        By shape: at once or, if they have changed too much, through bodies half way; else by label.
        """
        position = written_position(self.task.dimensions, position)
        author = self.author
        walked = self._walked(author.sample, author.places, (author.position, position), _HALVINGS)
        if walked is not None:
            return self.rough.body(position, *walked)
        sample = self.rough.sample(position)
        places = None if sample is None else _alike_named(author.sample, author.places, sample)
        if sample is None or places is None:
            return None
        return self.rough.body(position, sample, places)

    def _walked(
        self,
        known: BodySample,
        places: Mapping[ModeAddress, int],
        way: tuple[NDArray[np.float64], NDArray[np.float64]],
        halvings: int,
    ) -> tuple[BodySample, Mapping[ModeAddress, int]] | None:
        """Body at the end of a way and the named modes there, followed from its beginning."""
        here, there = way
        sample = self.rough.sample(there)
        if sample is None:
            return None
        found = same_modes(known, places, sample, self.task.progress)
        if found is not None:
            return sample, found
        if halvings == 0:
            return None
        middle = written_position(self.task.dimensions, (here + there) / 2)
        half = self._walked(known, places, (here, middle), halvings - 1)
        return None if half is None else self._walked(*half, (middle, there), halvings - 1)

    def exact(self, end: Descent[TunedBody]) -> tuple[BodyLandscape, TunedBody] | None:
        """Solve to the wanted accuracy where a descent ended, its slopes taken along."""
        landscape = BodyLandscape(task=self.task, accuracy=self.task.settings.accuracy)
        entered = landscape.visit(end.place.position, end.place)
        return None if entered is None else (landscape, entered)


def same_modes(
    known: BodySample,
    places: Mapping[ModeAddress, int],
    found: BodySample,
    tell: Callable[[str], None],
) -> dict[ModeAddress, int] | None:
    """Positions of the named modes in another body, by shape; None if one is not recognised.

    Why not is told.
    """
    again = recognise(known.known_by, found.known_by)
    doubt = again.doubt(sorted(set(places.values())))
    if doubt:
        tell(doubt)
        return None
    return {name: int(again.pairs[place]) for name, place in places.items()}


def _alike_named(
    known: BodySample, places: Mapping[ModeAddress, int], found: BodySample
) -> dict[ModeAddress, int] | None:
    """Positions of the modes that bear the labels of the named ones; None if one is missing."""
    labels = {name: known.labels[place] for name, place in places.items()}
    if any(found.labels.count(label) != 1 for label in labels.values()):
        return None
    return {name: found.labels.index(label) for name, label in labels.items()}
