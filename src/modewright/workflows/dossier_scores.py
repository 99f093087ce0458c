"""The performances that every dossier contains."""

from __future__ import annotations

from typing import TYPE_CHECKING

from modewright.sound.score import Hold, Oscillator, Score, Strike

if TYPE_CHECKING:
    from modewright.loop.regulators import Regulators

__all__ = ["FREE", "dossier_scores"]

_LENGTH_S = 5.0
_STRIKE = Strike(at_s=0.05)

FREE = ("free", "struck and left alone", Score(length_s=_LENGTH_S, strikes=(_STRIKE,)))
"""Name, caption and score of the sound that needs no loop."""


def dossier_scores(regulators: Regulators) -> tuple[tuple[str, str, Score], ...]:
    """Name, caption and score of each.

    Parameters
    ----------
    regulators : Regulators
        Of the loop that plays them.

    Returns
    -------
    tuple of (str, str, Score)
        Free; and, if modes are treated: the first of them held, all held, another swelling, all
        damped.
    """
    modes = [int(mode) + 1 for mode in regulators.modes]
    if not modes:
        return (FREE,)
    first, last = modes[0], modes[min(3, len(modes) - 1)]
    held = Hold(mode=first, at_s=0.2)
    every = tuple(Hold(mode=m, at_s=0.2 + 0.3 * i) for i, m in enumerate(modes))
    swell = Hold(
        mode=last,
        at_s=0.5,
        until_s=4.0,
        attack_s=1.5,
        sustain=1.0,
        oscillator=Oscillator(rate_hz=3.0, depth=0.4),
    )
    return (
        FREE,
        (
            "damped",
            "struck, with every treated mode damped",
            Score(length_s=3.0, start="damped", strikes=(_STRIKE,)),
        ),
        (
            f"mode_{first}_held",
            f"struck, then mode {first} held and the other treated modes damped",
            Score(length_s=_LENGTH_S, start="damped", strikes=(_STRIKE,), holds=(held,)),
        ),
        (
            "all_held",
            "every treated mode brought in one after the other and held at its level",
            Score(length_s=_LENGTH_S, start="damped", strikes=(_STRIKE,), holds=every),
        ),
        (
            f"mode_{last}_swelling",
            f"struck and free, while mode {last} swells and trembles",
            Score(length_s=_LENGTH_S, strikes=(_STRIKE,), holds=(swell,)),
        ),
    )
