"""From the labels that a design and a score use to the numbers of the modes that were found."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from typing import TYPE_CHECKING

from modewright.errors import ModeProblemsError, Problem
from modewright.modes.address import ModeAddressError, known_number, mode_number

if TYPE_CHECKING:
    from collections.abc import Sequence

    from modewright.loop.settings import LoopSettings
    from modewright.sound.score import Score

__all__ = ["numbered_loop", "numbered_score"]


def numbered_loop(settings: LoopSettings, labels: Sequence[str]) -> LoopSettings:
    """Settings of a loop with every treated mode by its number.

    Parameters
    ----------
    settings : LoopSettings
    labels : sequence of str
        Of the modes, in rising order of frequency.

    Returns
    -------
    LoopSettings

    Raises
    ------
    ModeProblemsError
        If a label is unknown, or a mode is treated twice or not known to the observer.
    """
    problems: list[Problem] = []
    controls = tuple(
        replace(c, mode=_number(c.mode, labels, f"loop.modes[{i}].mode", problems))
        for i, c in enumerate(settings.modes, 1)
    )
    if problems:
        raise ModeProblemsError(problems)
    numbers = [known_number(control.mode) for control in controls]
    for number, times in Counter(numbers).items():
        if times > 1:
            last = len(numbers) - numbers[::-1].index(number)
            problems.append(
                Problem(
                    what=f"loop.modes[{last}].mode",
                    expected="each mode once",
                    got=f'mode {number}, "{labels[number - 1]}", {times} times',
                )
            )
    highest = max(numbers, default=0)
    if highest > settings.modelled_modes:
        problems.append(
            Problem(
                what="loop.modelled_modes",
                expected=f'at least {highest}, the highest treated mode, "{labels[highest - 1]}"',
                got=str(settings.modelled_modes),
                hint="The observer must know every mode that it treats.",
            )
        )
    if problems:
        raise ModeProblemsError(problems)
    return replace(settings, modes=controls)


def numbered_score(score: Score, labels: Sequence[str], treated: Sequence[int]) -> Score:
    """A score with every mode by its number.

    Parameters
    ----------
    score : Score
    labels : sequence of str
        Of the modes, in rising order of frequency.
    treated : sequence of int
        Numbers of the modes that the loop treats.

    Returns
    -------
    Score

    Raises
    ------
    ModeProblemsError
        If a label is unknown, or a mode is not treated.
    """
    problems: list[Problem] = []

    def number(address: int | str, key: str) -> int:
        found = _number(address, labels, key, problems)
        if found and found not in treated:
            problems.append(_untreated(found, key, labels, treated))
        return found

    holds = tuple(
        replace(hold, mode=number(hold.mode, f"holds[{i}].mode"))
        for i, hold in enumerate(score.holds, 1)
    )
    changes = tuple(
        change
        if change.mode == 0
        else replace(change, mode=number(change.mode, f"changes[{i}].mode"))
        for i, change in enumerate(score.changes, 1)
    )
    if problems:
        raise ModeProblemsError(problems)
    return replace(score, holds=holds, changes=changes)


def _number(address: int | str, labels: Sequence[str], key: str, problems: list[Problem]) -> int:
    """Number of a mode, 0 if its fault has been noted."""
    try:
        return mode_number(address, labels)
    except ModeAddressError as error:
        got = f'"{address}"' if isinstance(address, str) else str(address)
        problems.append(Problem(what=key, expected=error.expected, got=got, hint=error.hint))
        return 0


def _untreated(number: int, key: str, labels: Sequence[str], treated: Sequence[int]) -> Problem:
    known = ", ".join(f'{n} "{labels[n - 1]}"' for n in sorted(treated)) or "none"
    return Problem(
        what=key,
        expected=f"a treated mode ({known})",
        got=f'{number} "{labels[number - 1]}"',
        hint="Add the mode to loop.modes of the design, or leave it out of the score.",
    )
