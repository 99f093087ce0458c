"""What tolerances do to a note: a parabola for each, checked on pieces that are solved."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from modewright.chain.body import analyse_placed
from modewright.chain.hearing import analyse_hearing
from modewright.chain.mode_numbers import numbered_loop
from modewright.chain.places import place_design
from modewright.errors import DesignError, Problem
from modewright.studies.inputs import inputs_of, trim_move
from modewright.studies.parabolas import (
    LEAST_MODES,
    REACH_SIGMA,
    cents_by_address,
    check_sound,
    fitted_parabolas,
    moves_beside_body,
    power_law,
    with_derivatives,
)
from modewright.studies.trial import MARGINS, Trial, run_trials
from modewright.studies.trim_range import trim_range
from modewright.studies.workshop import Workshop, missed_cents
from modewright.tolerances.draws import draw_shares
from modewright.tolerances.settings import MarginLimit, SensitivityLimit

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from pathlib import Path

    from numpy.typing import NDArray

    from modewright.design.schema import Design
    from modewright.modes.solid import Accuracy
    from modewright.studies.inputs import Input
    from modewright.studies.trial import Tried
    from modewright.tolerances.response import Response
    from modewright.tolerances.settings import SpreadSettings
    from modewright.tolerances.verdict import Yield

__all__ = ["Spread", "spread_design"]

_MARGIN_MODES = 2


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Spread:
    """Made pieces of one design. Figures: cents of the modes, dB of sensitivity, margins.

    Parameters
    ----------
    settings : SpreadSettings
    inputs : tuple of Input
    nominal : Tried
        The design itself.
    derivative_cents : float array, shape (inputs, modes)
        One standard deviation, by the exact derivatives of the modes in vacuum; 0 for what does not
        act on the body.
    response : Response
        Of each input, per share of its limit.
    changes, left : float array, shape (pieces, figures)
        As cut, and after the pitch is trimmed; `left` is `changes` without a trim.
    trim : float array, shape (pieces,)
        By how much the trimmed number was changed, relative to it. This and `left` are not a number
        for pieces that cannot be trimmed.
    missed_cents : float array, shape (pieces,)
        By how much the trimming left the pitch off; 0 without a trim. [cents]
    checked : int array, shape (solved,)
        Pieces that were solved in earnest.
    errors : float array, shape (solved, figures)
        Parabolas less solver.
    truth : float array, shape (solved, figures)
        Changes by the solver.
    faults : tuple of str
        Checked pieces that could not be.
    damaged : int
        Results of an earlier run that could not be read and were solved anew.
    as_cut, as_trimmed : Yield
    bought : tuple of (Yield, Yield)
        With each tolerance halved: as cut, and as trimmed.
    bought_by_trim : Yield
        As trimmed, with half the error of trimming.
    """

    settings: SpreadSettings
    inputs: tuple[Input, ...]
    nominal: Tried
    derivative_cents: NDArray[np.float64]
    response: Response
    changes: NDArray[np.float64]
    left: NDArray[np.float64]
    trim: NDArray[np.float64]
    missed_cents: NDArray[np.float64]
    checked: NDArray[np.int64]
    errors: NDArray[np.float64]
    truth: NDArray[np.float64]
    faults: tuple[str, ...]
    damaged: int
    as_cut: Yield
    as_trimmed: Yield
    bought: tuple[tuple[Yield, Yield], ...]
    bought_by_trim: Yield

    @property
    def sigma(self) -> NDArray[np.float64]:
        """One standard deviation of each input, per figure, shape (inputs, figures)."""
        shares = np.array([entry.sigma_share for entry in self.inputs])
        return self.response.slope * shares[:, None]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Study:
    """Everything that all trials have in common."""

    base: Trial
    scheduler: str
    progress: Callable[[str], None]

    def solve(self, moves: Sequence[tuple[tuple[str, float], ...]]) -> list[Tried]:
        trials = [replace(self.base, moves=some) for some in moves]
        return run_trials(trials, self.scheduler, self.progress)


def spread_design(
    design: Design,
    folder: Path,
    *,
    samples: int = 2000,
    scheduler: str = "processes",
    accuracy: Accuracy = "normal",
    progress: Callable[[str], None] = lambda _: None,
) -> Spread:
    """Find how far pieces of a design are off.

    Parameters
    ----------
    design : Design
        With a section ``[spread]``.
    folder : Path
        Folder of the design file.
    samples : int
        Pieces drawn.
    scheduler : str
        As for `modewright.parallel.map_tasks`; the numbers are the same with any.
    accuracy : {"draft", "normal", "fine"}
        Of the solved pieces.
    progress : callable
        Told what is being done.

    Returns
    -------
    Spread

    Raises
    ------
    ModewrightError
        If the design has no tolerances, makes no body, or makes none at the end of a tolerance.

    Notes
    -----
    Each tolerance acts by a parabola through solved pieces, but for what lengths do to frequencies:
    the meshes of two pieces differ, and their parabolas have the exact derivative and the curve of
    a power law, to which a gap or the like that moves along is added as fitted. What two tolerances
    do together beyond their sum is left out and shows in `Spread.errors`. The loop of every piece
    is designed for the modes that the piece has.
    """
    settings = _settings(design)
    inputs = inputs_of(design, settings.tolerances)
    study, nominal = _start(design, folder, settings, _Place(accuracy, scheduler, progress))
    _check_limits(settings, nominal)
    shares = draw_shares(
        [entry.distribution for entry in inputs],
        [entry.batch_share for entry in inputs],
        pieces=samples,
        batch_size=settings.batch_size,
        seed=settings.seed,
    )
    checked = _some(samples, settings)
    pieces = [_moves(inputs, shares[row]) for row in checked]
    progress("derivatives")
    solved = _solved(study, settings, inputs, nominal, pieces)
    workshop = solved.workshop
    missed = missed_cents(settings, samples)
    made = workshop.make(shares, missed)
    if np.isfinite(made.moved).mean() < _LEAST_TRIMMED:
        raise _idle_trim(settings.trim, workshop)
    truth = _truth(nominal, solved.pieces)
    sound = np.isfinite(truth[:, 0])
    return Spread(
        settings=settings,
        inputs=inputs,
        nominal=nominal,
        derivative_cents=solved.derivative_cents,
        response=workshop.response,
        changes=made.changes,
        left=made.left,
        trim=1e-3 * made.moved,
        missed_cents=missed,
        checked=checked[sound],
        errors=made.changes[checked[sound]] - truth[sound],
        truth=truth[sound],
        faults=tuple(tried.fault for tried in solved.pieces if tried.fault),
        damaged=solved.damaged,
        as_cut=workshop.judge(made.changes),
        as_trimmed=workshop.judge(made.left),
        bought=workshop.bought(shares, missed),
        bought_by_trim=workshop.judge(workshop.make(shares, missed / 2).left),
    )


def _idle_trim(path: str, workshop: Workshop) -> DesignError:
    cents = abs(10 * float(workshop.trim.slope[0, 0]))
    return DesignError(
        [
            Problem(
                what="spread.trim",
                expected="a number that takes mode 1 of most pieces to its pitch, "
                f"changed by {workshop.trim_reach[0] / 10:.3g} % "
                f"to {workshop.trim_reach[1] / 10:.3g} %",
                got=f'"{path}", which moves it by {cents:.2g} cents per 1 %',
                hint="Trim the length of the arm that carries mode 1, or a mass at its end.",
            )
        ]
    )


def _moves(inputs: tuple[Input, ...], shares: NDArray[np.float64]) -> tuple[tuple[str, float], ...]:
    """Addresses and values of one piece."""
    pairs = zip(inputs, shares.tolist(), strict=True)
    return tuple(move for entry, share in pairs for move in entry.values(share))


class _Solved(NamedTuple):
    """What solved pieces tell: how others come out, and whether these do."""

    derivative_cents: NDArray[np.float64]
    workshop: Workshop
    pieces: list[Tried]
    damaged: int


def _solved(
    study: _Study,
    settings: SpreadSettings,
    inputs: tuple[Input, ...],
    nominal: Tried,
    pieces: list[tuple[tuple[str, float], ...]],
) -> _Solved:
    design = study.base.design
    by_address = cents_by_address(design, study.base.folder, settings.modes)
    laws = [power_law(by_address, entry.moves, settings.modes) for entry in inputs]
    derivatives = np.array([e.sigma_share * law[0] for e, law in zip(inputs, laws, strict=True)])
    reach = [REACH_SIGMA * entry.sigma_share for entry in inputs]
    ends = [e.values(sign * r) for e, r in zip(inputs, reach, strict=True) for sign in (-1, 1)]
    parts = _parts_beside_body(inputs, by_address)
    part_ends = [e.values(sign * reach[n]) for n, e in parts.items() for sign in (-1, 1)]
    trim_ends, steps = _trim_ends(design, settings, by_address, derivatives)
    # All at once, so that processes and machines always have something to do.
    solved = study.solve([*ends, *trim_ends, *part_ends, *pieces])
    first, last = len(ends), len(ends) + len(trim_ends)
    beside = _beside(nominal, parts, reach, solved[last : last + len(part_ends)])
    fitted = fitted_parabolas(
        nominal,
        solved[:first],
        np.array(reach),
        [f"{entry.name} at {REACH_SIGMA} standard deviations" for entry in inputs],
    )
    trim = fitted_parabolas(
        nominal,
        solved[first:last],
        np.full(len(trim_ends) // 2, steps),
        [f"{settings.trim} trimmed by {steps / 10:.1f} %"],
    )
    workshop = Workshop(
        settings=settings,
        response=with_derivatives(fitted, laws, [entry.keeps_mesh for entry in inputs], beside),
        trim=trim,
        trim_reach=_trim_reach(study.base, settings.trim, steps),
        margins=nominal.figures[-len(MARGINS) :],
        has_batches=any(entry.batch_share for entry in inputs),
    )
    return _Solved(
        derivative_cents=derivatives,
        workshop=workshop,
        pieces=solved[last + len(part_ends) :],
        damaged=sum(tried.was_damaged for tried in (nominal, *solved)),
    )


def _parts_beside_body(
    inputs: tuple[Input, ...], by_address: dict[str, NDArray[np.float64]]
) -> dict[int, Input]:
    """Of tolerances that move lengths of the body, whatever else moves along."""
    return {
        number: replace(entry, moves=moves)
        for number, entry in enumerate(inputs)
        if not entry.keeps_mesh and (moves := moves_beside_body(by_address, entry.moves))
    }


def _beside(
    nominal: Tried, parts: dict[int, Input], reach: Sequence[float], ends: Sequence[Tried]
) -> dict[int, Response]:
    """What those parts do by themselves."""
    return {
        number: fitted_parabolas(
            nominal,
            ends[2 * place : 2 * place + 2],
            np.array([reach[number]]),
            [f"{part.name} beside the body"],
        )
        for place, (number, part) in enumerate(parts.items())
    }


# How far the trimmed number is taken down and up, in steps of a thousandth.
_LEAST_TRIM, _MOST_TRIM = 10.0, 80.0
# How far beyond, at most, the parabola through them is taken to hold.
_TRIM_BEYOND, _FARTHEST_TRIM = 3.0, 100.0
# A number that takes fewer pieces to pitch is the wrong one.
_LEAST_TRIMMED = 0.5


@dataclass(frozen=True, slots=True)
class _Place:
    accuracy: Accuracy
    scheduler: str
    progress: Callable[[str], None]


def _settings(design: Design) -> SpreadSettings:
    if design.spread is None:
        fault = Problem(
            what="spread",
            expected="a section [spread] with tolerances",
            got="none",
            hint=f"Add to the file, for instance:\n\n{_EXAMPLE}",
        )
        raise DesignError([fault])
    return design.spread


_EXAMPLE = """[spread]

[[spread.tolerances]]
kind = "strip thickness"

[[spread.tolerances]]
kind = "amount"
name = "modulus"
paths = ["material.youngs_modulus"]
plus_minus = "4 %"
batch_share = 1
source = "strip mill"

[[spread.limits]]
kind = "pitch"
within = "20 cents"
"""


def _start(
    design: Design, folder: Path, settings: SpreadSettings, place: _Place
) -> tuple[_Study, Tried]:
    """Solve the design itself."""
    has_loop = bool(design.pickups and design.drivers and design.loop.modes)
    body = analyse_placed(
        place_design(design, folder),
        count=max(LEAST_MODES, settings.modes + _MARGIN_MODES),
        up_to_hz=design.loop.highest_mode_hz if has_loop else None,
        accuracy=place.accuracy,
    )
    # Bias may bring the modes in another order than the body alone has them.
    heard = analyse_hearing(place_design(design, folder).design, body).operating_point.basis
    numbered = replace(design, loop=numbered_loop(design.loop, heard.labels))
    base = Trial(
        design=numbered,
        folder=folder,
        moves=(),
        solved_modes=len(body.modes.freq_hz),
        followed_modes=settings.modes,
        accuracy=place.accuracy,
        traces=None,
    )
    study = _Study(base=base, scheduler=place.scheduler, progress=place.progress)
    nominal = run_trials([base], "serial", place.progress)[0]
    check_sound(nominal, "the design itself")
    return replace(study, base=replace(base, traces=nominal.traces)), nominal


def _check_limits(settings: SpreadSettings, nominal: Tried) -> None:
    """Tell limits of figures that the design does not have."""
    for number, limit in enumerate(settings.limits, 1):
        if isinstance(limit, MarginLimit):
            has, needed = np.isfinite(nominal.arrays["margins"][:2]).all(), "a loop"
        elif isinstance(limit, SensitivityLimit):
            heard = nominal.arrays["sensitivity_db"][limit.mode - 1]
            has, needed = np.isfinite(heard), f"a pickup that hears mode {limit.mode}"
        else:
            continue
        if not has:
            fault = Problem(
                what=f"spread.limits[{number}]",
                expected=f"{needed} to hold it against",
                got="none",
                hint="Leave the limit out, or add what it is about.",
            )
            raise DesignError([fault])


def _some(samples: int, settings: SpreadSettings) -> NDArray[np.int64]:
    """Pieces to check, drawn apart from the pieces themselves."""
    generator = np.random.default_rng(np.random.SeedSequence([settings.seed, 1]))
    return np.sort(generator.choice(samples, min(samples, settings.solved), replace=False))


def _trim_ends(
    design: Design,
    settings: SpreadSettings,
    by_address: dict[str, NDArray[np.float64]],
    derivatives: NDArray[np.float64],
) -> tuple[list[tuple[tuple[str, float], ...]], float]:
    """Trimmed pieces about as far down and up as most have to be, and how far in steps."""
    if not settings.trim:
        return [], _LEAST_TRIM
    move = trim_move(design, settings.trim)
    slope = power_law(by_address, [move], settings.modes)[0][0]
    needed = REACH_SIGMA * np.sqrt(np.sum(derivatives[:, 0] ** 2)) / max(abs(slope), 1e-9)
    steps = float(np.clip(np.nan_to_num(needed, nan=_LEAST_TRIM), _LEAST_TRIM, _MOST_TRIM))
    return [((move.address, move.value + sign * steps * move.limit),) for sign in (-1, 1)], steps


def _trim_reach(base: Trial, path: str, steps: float) -> tuple[float, float]:
    """As far as the parabola is taken to hold and the design allows."""
    reach = min(_TRIM_BEYOND * steps, _FARTHEST_TRIM)
    if not path:
        return -reach, reach
    return trim_range(base.piece, base.folder, trim_move(base.design, path), reach)


def _truth(nominal: Tried, solved: Sequence[Tried]) -> NDArray[np.float64]:
    size = len(nominal.figures)
    with np.errstate(invalid="ignore"):
        return np.array(
            [
                np.full(size, np.nan) if tried.fault else tried.figures - nominal.figures
                for tried in solved
            ]
        ).reshape(-1, size)
