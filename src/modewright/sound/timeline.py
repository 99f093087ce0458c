"""From a score to what the real-time core is fed: control curves and sample-rate signals."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from modewright.errors import ScoreError
from modewright.modes.address import known_number

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.loop.regulators import Regulators
    from modewright.sound.score import Hold, Oscillator, Score

__all__ = [
    "STATE_NAMES",
    "HoldStart",
    "Timeline",
    "block_count",
    "build_timeline",
]

FREE, DAMPED, HELD = 0, 1, 2
STATE_NAMES = ("free", "damped", "held")
_STATE_CODE = {name: code for code, name in enumerate(STATE_NAMES)}
# Curves are kept for the whole of a performance, samples are not: moments of the block edges and
# what laying a mode out takes; wanted level twice, state and level heard of each treated mode.
_BLOCK_BYTES, _MODE_BYTES, _MOST_BYTES = 80, 25, 2e9


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Timeline:
    """Inputs of the core for one voice.

    Parameters
    ----------
    block : int
        Samples per control block.
    target_m : float array, shape (blocks + 1, regulated)
        Wanted level at every block edge. [m]
    state : int array, shape (blocks, regulated)
        0 free, 1 damped, 2 held.
    hold_starts : tuple of HoldStart, in order of time
        Holds of modes that were free or damped before. `target_m` lets them begin from nothing.
    """

    block: int
    target_m: NDArray[np.float64]
    state: NDArray[np.int8]
    hold_starts: tuple[HoldStart, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class HoldStart:
    """A hold whose level begins from what sounds when it begins, which only the playing shows.

    Parameters
    ----------
    row : int
        Of the mode among the treated ones.
    block : int
        The first that is held; not that at the very beginning, before which nothing sounds.
    until : int
        Block edge from which the score has something else for the mode.
    hold : Hold
    level_m : float
        To which it leads. [m]
    end_s : float
        When it is released. [s]
    time_s : float array, shape (until - block,)
        Moments of the block edges. [s]
    """

    row: int
    block: int
    until: int
    hold: Hold
    level_m: float
    end_s: float
    time_s: NDArray[np.float64]

    def write(
        self, target_m: NDArray[np.float64], state: NDArray[np.int8], sounding_m: float
    ) -> None:
        """Put the level, which begins from `sounding_m`, into its place.

        Parameters
        ----------
        target_m : float array, shape (blocks + 1, regulated)
            Is changed from the hold's first block on. [m]
        state : int array, shape (blocks, regulated)
        sounding_m : float
            Level of the mode. [m]
        """
        begin = sounding_m / self.level_m
        share = _envelope(self.hold, begin, self.end_s, self.time_s)
        target_m[self.block : self.until, self.row] = self.level_m * share
        before = self.block - 1
        if before >= 0 and state[before, self.row] == FREE:
            # The gain runs up within this block; a target of nothing would make it a damper.
            target_m[before, self.row] = sounding_m


def build_timeline(score: Score, regulators: Regulators, rate_hz: float, block: int) -> Timeline:
    """Lay the score out in time.

    Parameters
    ----------
    score : Score
    regulators : Regulators
        Of the loop that plays it.
    rate_hz : float
        Sampling rate. [Hz]
    block : int
        Samples per control block.

    Returns
    -------
    Timeline

    Raises
    ------
    ScoreError
        If the score asks for a mode that the loop does not treat; names all of them. If it is so
        long that its curves would take more than 2 GB of memory.
    """
    blocks = block_count(score, rate_hz, block)
    _check_room(blocks, len(regulators.modes), score.length_s)
    edges_s = np.arange(blocks + 1) * block / rate_hz
    row_of = {int(mode) + 1: row for row, mode in enumerate(regulators.modes)}
    _check_modes(score, row_of)
    _check_holds(score, regulators)
    target = np.zeros((blocks + 1, len(row_of)))
    state = np.empty((blocks, len(row_of)), dtype=np.int8)
    starts: list[HoldStart] = []
    for mode, row in row_of.items():
        start = regulators.state[row] if score.start == "as stated" else score.start
        starts += _lay_out_mode(
            score, mode, row, start, regulators.level_m[row], edges_s, target[:, row], state[:, row]
        )
    return Timeline(
        block=block,
        target_m=target,
        state=state,
        hold_starts=tuple(sorted(starts, key=lambda start: start.block)),
    )


def block_count(score: Score, rate_hz: float, block: int) -> int:
    """Control blocks of a score, the last one whole."""
    return max(1, math.ceil(score.length_s * rate_hz / block))


def _check_room(blocks: int, treated: int, length_s: float) -> None:
    """Refuse what would not fit into memory before anything is taken of it."""
    wanted = blocks * (_BLOCK_BYTES + treated * _MODE_BYTES)
    if wanted > _MOST_BYTES:
        raise ScoreError(
            f"score: expected at most {length_s * _MOST_BYTES / wanted:.0f} s with {treated} "
            f"treated modes at this sampling rate, got {length_s:g} s.",
            hint="Cut the performance into parts, or treat fewer modes.",
        )


def _check_modes(score: Score, row_of: dict[int, int]) -> None:
    asked = [known_number(h.mode) for h in score.holds]
    asked += [known_number(c.mode) for c in score.changes if c.mode]
    unknown = sorted(set(asked) - set(row_of))
    if unknown:
        raise ScoreError(
            f"score: expected treated modes ({', '.join(map(str, sorted(row_of))) or 'none'}), "
            f"got {', '.join(map(str, unknown))}.",
            hint="Add the mode to loop.modes of the design, or leave it out of the score.",
        )


def _check_holds(score: Score, regulators: Regulators) -> None:
    if score.holds and not regulators.can_hold:
        raise ScoreError(
            "score: expected modes that ring or are damped, got one that is held; the loop's "
            "method only damps.",
            hint='Take loop.method = "joint observer" or "band-pass" in the design.',
        )


def _lay_out_mode(
    score: Score,
    mode: int,
    row: int,
    start: str,
    design_level_m: float,
    edges_s: NDArray[np.float64],
    target: NDArray[np.float64],
    state: NDArray[np.int8],
) -> list[HoldStart]:
    state[:] = _STATE_CODE[start]
    if start == "held":
        target[:] = design_level_m
    begin_s = edges_s[:-1]
    entries: list[tuple[float, Hold | str]] = [
        (change.at_s, change.to) for change in score.changes if change.mode in (0, mode)
    ]
    entries += [(hold.at_s, hold) for hold in score.holds if hold.mode == mode]
    entries.sort(key=lambda entry: entry[0])
    next_s = [*(at_s for at_s, _ in entries), math.inf][1:]
    starts: list[HoldStart] = []
    for (at_s, what), until_s in zip(entries, next_s, strict=True):
        if isinstance(what, str):
            state[begin_s >= at_s] = _STATE_CODE[what]
            target[edges_s >= at_s] = 0.0
            continue
        end_s = what.until_s if what.until_s is not None else score.length_s + what.release_s
        after = end_s + what.release_s
        block, until = (int(np.searchsorted(edges_s, time_s)) for time_s in (at_s, until_s))
        follows_hold = 0 < block < len(state) and state[block - 1] == HELD
        state[begin_s >= at_s] = HELD
        state[begin_s >= after] = _STATE_CODE[what.then]
        level = what.level_m if what.level_m is not None else design_level_m
        late = edges_s >= at_s
        begin = float(np.interp(at_s, edges_s, target)) / level
        target[late] = level * _envelope(what, begin, end_s, edges_s[late])
        if 0 < block < min(until, len(state)) and not follows_hold:
            starts.append(
                HoldStart(row=row, block=block, until=until, hold=what, level_m=level,
                          end_s=end_s, time_s=edges_s[block:until])
            )  # fmt: skip
    return starts


def _envelope(
    hold: Hold, begin: float, end_s: float, time_s: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Share of the level at each moment, oscillator included; `begin` is where it starts from."""
    shape_s = np.cumsum([hold.at_s, max(hold.attack_s, 1e-9), max(hold.decay_s, 1e-9)])
    risen = np.interp(time_s, shape_s, [begin, 1.0, hold.sustain])
    at_end = float(np.interp(end_s, shape_s, [begin, 1.0, hold.sustain]))
    release = max(hold.release_s, 1e-9)
    falling = at_end * np.clip(1 - (time_s - end_s) / release, 0, 1)
    share = np.where(time_s < end_s, risen, falling)
    if hold.oscillator is not None:
        share = share * (1 + _swing(hold.oscillator, time_s - hold.at_s))
    return share


def _swing(oscillator: Oscillator, time_s: NDArray[np.float64]) -> NDArray[np.float64]:
    turn = oscillator.rate_hz * time_s + oscillator.phase_deg / 360
    if oscillator.shape == "sine":
        return oscillator.depth * np.sin(2 * np.pi * turn)
    if oscillator.shape == "triangle":
        return oscillator.depth * (4 * np.abs((turn - 0.25) % 1 - 0.5) - 1)
    return oscillator.depth * np.where(turn % 1 < 0.5, 1.0, -1.0)
