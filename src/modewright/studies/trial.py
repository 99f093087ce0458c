"""One made piece, solved in earnest: what a process or a machine of a cluster is asked to do."""

from __future__ import annotations

import threading
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from modewright.cache import fingerprint, is_damaged, keep_arrays, kept_arrays
from modewright.chain.body import body_of_modes
from modewright.chain.closed_loop import analyse_loop, chosen_pickup
from modewright.chain.hearing import analyse_hearing
from modewright.chain.mode_places import mode_places
from modewright.chain.mode_traces import ModeTraces, mode_traces, recognise
from modewright.chain.places import place_design
from modewright.design.address import check_design, replaced
from modewright.design.schema import DesignHeading
from modewright.errors import ModewrightError
from modewright.materials.choice import chosen_material
from modewright.modes.one_thread import on_one_thread
from modewright.modes.solid import REVISION, solve_modes
from modewright.parallel import map_tasks
from modewright.sound.settings import ListeningSettings

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from pathlib import Path

    from numpy.typing import NDArray

    from modewright.chain.body import Body
    from modewright.chain.hearing import Hearing
    from modewright.design.schema import Design
    from modewright.loop.margins import Margins
    from modewright.modes.solid import Accuracy

__all__ = [
    "MARGINS",
    "UNSTABLE",
    "Trial",
    "Tried",
    "least_margins",
    "run_trials",
    "solve_trial",
]

MARGINS = ("gain margin dB", "phase margin deg", "delay margin ms")
_KEPT = 5000
# Raised whenever the same piece would come out differently here: kept results are not read then.
_TRIAL_REVISION = 4
# A loop without a limit has these margins, one that is unstable has them below 0: parabolas need
# figures that are finite.
_MOST = np.array([60.0, 180.0, 100.0])
UNSTABLE = -_MOST
"""Margins that stand for an unstable loop."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Trial:
    """A design with some numbers changed.

    Parameters
    ----------
    design : Design
        With every treated mode by its number.
    folder : Path
    moves : tuple of (str, float)
        Addresses and values.
    solved_modes, followed_modes : int
    accuracy : str
    traces : ModeTraces or None
        Of the design itself, by which modes are recognised; None for that design.
    """

    design: Design
    folder: Path
    moves: tuple[tuple[str, float], ...]
    solved_modes: int
    followed_modes: int
    accuracy: Accuracy
    traces: ModeTraces | None

    @property
    def piece(self) -> Design:
        """The design without what no piece depends on, so that it may be changed afterwards."""
        return replace(
            self.design,
            design=DesignHeading(),
            listening=ListeningSettings(),
            tune=None,
            spread=None,
        )

    def key(self) -> str:
        """Under which the result is kept."""
        placed = place_design(self.piece, self.folder)
        size = (self.solved_modes, self.followed_modes, self.accuracy, REVISION, _TRIAL_REVISION)
        return fingerprint(placed, self.moves, size, self.traces)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Tried:
    """What came out.

    Parameters
    ----------
    fault : str
        Why there is no such piece; empty if there is.
    arrays : dict
        ``freq_hz``, ``sensitivity_db``, one for each followed mode; ``margins``. Of the design
        itself also what its modes are recognised by.
    was_damaged : bool
        Whether an earlier run had kept it in a file that can no longer be read.
    """

    fault: str
    arrays: dict[str, NDArray[np.float64]]
    was_damaged: bool = False

    @property
    def traces(self) -> ModeTraces:
        """What the modes of the design itself are recognised by."""
        return ModeTraces(
            shapes=self.arrays["traces"],
            freq_hz=self.arrays["traced_hz"],
            error_cents=self.arrays["traced_error_cents"],
        )

    @property
    def figures(self) -> NDArray[np.float64]:
        """Cents over 1 Hz and dB of every followed mode, then the margins."""
        pitch = 1200 * np.log2(self.arrays["freq_hz"])
        return np.concatenate([pitch, self.arrays["sensitivity_db"], self.arrays["margins"]])


def run_trials(
    trials: Sequence[Trial], scheduler: str, progress: Callable[[str], None]
) -> list[Tried]:
    """Solve trials, or read what an earlier run has kept of them.

    Every result is kept as soon as it is there: a run that is stopped goes on from it.
    """
    keys = [trial.key() for trial in trials]
    found: dict[int, Tried] = {}
    damaged = {number for number, key in enumerate(keys) if is_damaged("spread", key)}
    for number, key in enumerate(keys):
        kept = kept_arrays("spread", key)
        if kept is not None:
            found[number] = _unpacked(kept)
    open_numbers = [number for number in range(len(trials)) if number not in found]
    tasks = [trials[number] for number in open_numbers]
    for place, tried in map_tasks(solve_trial, tasks, scheduler):
        number = open_numbers[place]
        found[number] = replace(tried, was_damaged=number in damaged)
        keep_arrays("spread", keys[number], _packed(tried), at_most=_KEPT)
        progress(f"solved {len(found)} of {len(trials)} pieces")
    return [found[number] for number in range(len(trials))]


def _packed(tried: Tried) -> dict[str, NDArray[np.float64]]:
    text = np.frombuffer(tried.fault.encode(), dtype=np.uint8).astype(float)
    return {**tried.arrays, "fault": text}


def _unpacked(kept: dict[str, NDArray[np.float64]]) -> Tried:
    text = bytes(kept["fault"].astype(np.uint8)).decode()
    return Tried(fault=text, arrays={k: v for k, v in kept.items() if k != "fault"})


# The field solver works in one thread of a process at a time; a cluster's worker may have more.
_SOLVER = threading.Lock()


def solve_trial(trial: Trial) -> Tried:
    """Solve one piece; a fault of it is a result like any other."""
    try:
        with _SOLVER:
            return Tried(fault="", arrays=_solved(trial))
    except ModewrightError as error:
        return Tried(fault=str(error), arrays={})


# On several threads sums come out in another order, and elsewhere in another number of threads.
@on_one_thread
def _solved(trial: Trial) -> dict[str, NDArray[np.float64]]:
    design = trial.piece
    for address, value in trial.moves:
        design = replaced(design, address, value)
    check_design(design)
    placed = place_design(design, trial.folder)
    solid = chosen_material(placed.design.material).solid
    modes = solve_modes(placed.blank, solid, count=trial.solved_modes, accuracy=trial.accuracy)
    body = body_of_modes(placed, modes)
    hearing = analyse_hearing(placed.design, body)
    traces = _traces(trial, body, hearing)
    pairs = _pairs(trial, traces)
    followed = pairs[: trial.followed_modes]
    return {
        "freq_hz": hearing.operating_point.basis.freq_hz[followed],
        "sensitivity_db": _sensitivity_db(placed.design, hearing, followed),
        "margins": _margins(placed.design, body, hearing, pairs),
        **({} if trial.traces is not None else _kept(traces)),
    }


def _traces(trial: Trial, body: Body, hearing: Hearing) -> ModeTraces:
    """Of the modes with bias and magnets acting, which may come in another order than without."""
    basis = hearing.operating_point.basis
    order = [body.modes.labels.index(label) for label in basis.labels]
    places = mode_places(place_design(trial.design, trial.folder))
    return ModeTraces(
        shapes=mode_traces(places, body.blank, basis.shapes),
        freq_hz=basis.freq_hz,
        error_cents=body.modes.error_cents[order],
    )


def _kept(traces: ModeTraces) -> dict[str, NDArray[np.float64]]:
    return {
        "traces": traces.shapes,
        "traced_hz": traces.freq_hz,
        "traced_error_cents": traces.error_cents,
    }


def _pairs(trial: Trial, traces: ModeTraces) -> NDArray[np.int64]:
    """Where each mode of the design stands among those of the piece."""
    if trial.traces is None:
        return np.arange(trial.solved_modes)
    again = recognise(trial.traces, traces)
    treated = (control.number - 1 for control in trial.design.loop.modes)
    doubt = again.doubt([*range(trial.followed_modes), *treated])
    if doubt:
        raise ModewrightError(
            f"spread: expected the modes of the design, got a piece of which {doubt}.",
            hint="Follow fewer modes or tighten the tolerances.",
        )
    return again.pairs


def _sensitivity_db(
    design: Design, hearing: Hearing, followed: NDArray[np.int64]
) -> NDArray[np.float64]:
    """Of the pickup that feeds the loop, or the first; not a number for what it does not hear."""
    sensitivity = np.full(len(hearing.reference_per_sqrt_kg), np.nan)
    if hearing.pickups:
        port = chosen_pickup(design, hearing).port
        volts = np.abs(port.volts_per_coordinate / hearing.reference_per_sqrt_kg)
        audible = hearing.moves_at_reference & (volts > 0)
        sensitivity[audible] = 20 * np.log10(volts[audible])
    return sensitivity[followed]


def _margins(
    design: Design, body: Body, hearing: Hearing, pairs: NDArray[np.int64]
) -> NDArray[np.float64]:
    """Smaller of the margins as stated and with everything damped."""
    if not (hearing.pickups and hearing.drivers and design.loop.modes):
        return np.full(len(MARGINS), np.nan)
    controls = tuple(
        replace(control, mode=int(pairs[control.number - 1]) + 1) for control in design.loop.modes
    )
    loop = analyse_loop(replace(design, loop=replace(design.loop, modes=controls)), body, hearing)
    if not loop.is_stable:
        return UNSTABLE
    return least_margins(loop.stated.margins, loop.all_damped.margins)


def least_margins(*cases: Margins) -> NDArray[np.float64]:
    """Smallest of the margins of several states, as `MARGINS`, none above what is counted."""
    least = [[m.gain_db, m.phase_deg, m.delay_s * 1e3] for m in cases]
    return np.minimum(np.min(least, axis=0), _MOST)
