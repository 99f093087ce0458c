"""The same task by every method of control, and which one to take."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, get_args

import numpy as np

from modewright.checks import frozen_array
from modewright.decay import DECAY_60_DB
from modewright.errors import LoopError
from modewright.loop.authority import WANTED_GAIN_MARGIN_DB, WANTED_PHASE_MARGIN_DEG
from modewright.loop.close import close_loop
from modewright.loop.held_modes import held_modes
from modewright.loop.settings import HOLDING, Method

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.loop.close import ClosedLoop
    from modewright.loop.plant import Plant
    from modewright.loop.settings import LoopSettings

__all__ = ["MethodTrial", "compare_methods", "recommended"]

# A decay is met if it is off by no more, or not longer than the mode's own.
_MET_SHARE = 0.1


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MethodTrial:
    """What one method makes of a task.

    Parameters
    ----------
    method : str
    fault : str
        Why it cannot serve at all; empty if it can.
    is_stable : bool
        In every state that is judged.
    gain_db, phase_deg, delay_s : float
        Smallest margins over these states. [dB], [deg], [s]
    t60_s : float array, shape (treated,)
        With everything damped; not a number where nothing is known or the mode grows. [s]
    damped_cents, held_cents : float array, shape (treated,)
        What it does to the pitch; not a number where it does not hold. [cents]
    missed : int array
        Numbers of the modes whose decay is not what was asked for.
    """

    method: Method
    fault: str
    is_stable: bool
    gain_db: float
    phase_deg: float
    delay_s: float
    t60_s: NDArray[np.float64]
    damped_cents: NDArray[np.float64]
    held_cents: NDArray[np.float64]
    missed: tuple[int, ...]

    def __post_init__(self) -> None:
        for name in ("t60_s", "damped_cents", "held_cents"):
            object.__setattr__(self, name, frozen_array(getattr(self, name)))

    @property
    def serves(self) -> bool:
        """Whether it is stable with the usual margins."""
        return (
            not self.fault
            and self.is_stable
            and self.gain_db >= WANTED_GAIN_MARGIN_DB
            and self.phase_deg >= WANTED_PHASE_MARGIN_DEG
        )


def compare_methods(plant: Plant, settings: LoopSettings) -> tuple[MethodTrial, ...]:
    """Design and judge the loop of these settings by every method.

    Parameters
    ----------
    plant : Plant
    settings : LoopSettings
        Whose own method does not count.

    Returns
    -------
    tuple of MethodTrial
        In the order in which a design file names the methods.

    Raises
    ------
    LoopError
        If the settings treat no mode.
    """
    if not settings.modes:
        raise LoopError(
            "loop.modes: expected modes to treat, got none.", hint="Add [[loop.modes]]."
        )
    return tuple(_tried(plant, settings, method) for method in get_args(Method))


def _tried(plant: Plant, settings: LoopSettings, method: Method) -> MethodTrial:
    held = [control.number for control in settings.modes if control.state == "held"]
    if held and method not in HOLDING:
        return _without(settings, method, f"it cannot hold, and mode {held[0]} is held")
    try:
        loop = close_loop(plant, replace(settings, method=method))
    except LoopError as error:
        return _without(settings, method, error.message.removeprefix("loop.method: "))
    return _judged(loop, settings, method)


def _without(settings: LoopSettings, method: Method, fault: str) -> MethodTrial:
    unknown = np.full(len(settings.modes), np.nan)
    return MethodTrial(
        method=method,
        fault=fault,
        is_stable=False,
        gain_db=float("nan"),
        phase_deg=float("nan"),
        delay_s=float("nan"),
        t60_s=unknown,
        damped_cents=unknown,
        held_cents=unknown,
        missed=(),
    )


def _judged(loop: ClosedLoop, settings: LoopSettings, method: Method) -> MethodTrial:
    modes = loop.regulators.modes
    rate = loop.all_damped.poles.decay_rate_per_s[modes]
    t60_s = np.where(rate > 0, DECAY_60_DB / np.where(rate > 0, rate, 1), np.nan)
    own_s = DECAY_60_DB / loop.plant.decay_rate_per_s[modes]
    wanted_s = np.minimum([control.decay_s for control in settings.modes], own_s)
    is_met = np.abs(t60_s / wanted_s - 1) <= _MET_SHARE
    margins = [case.margins for case in loop.judged]
    return MethodTrial(
        method=method,
        fault="",
        is_stable=loop.is_stable,
        gain_db=min(m.gain_db for m in margins),
        phase_deg=min(m.phase_deg for m in margins),
        delay_s=min(m.delay_s for m in margins),
        t60_s=t60_s,
        damped_cents=loop.all_damped.poles.shift_cents[modes],
        held_cents=_held_cents(loop),
        missed=tuple(int(mode) + 1 for mode, met in zip(modes, is_met, strict=True) if not met),
    )


def _held_cents(loop: ClosedLoop) -> NDArray[np.float64]:
    modes = loop.regulators.modes
    if not loop.regulators.can_hold:
        return np.full(len(modes), np.nan)
    every = ("held",) * len(modes)
    found = {
        held.mode: held.shift_cents
        for held in held_modes(loop.plant, loop.observer, loop.regulators, every)
    }
    return np.array([found.get(int(mode), np.nan) for mode in modes])


def recommended(trials: tuple[MethodTrial, ...]) -> tuple[Method | None, str]:
    """Choose a method and say why.

    Parameters
    ----------
    trials : tuple of MethodTrial
        From `compare_methods`.

    Returns
    -------
    tuple of (str or None, str)
        None if no method serves.
    """
    serving = [trial for trial in trials if trial.serves]
    if not serving:
        return None, (
            "No method serves: none is stable with "
            f"{WANTED_GAIN_MARGIN_DB:g} dB and {WANTED_PHASE_MARGIN_DEG:g}° to spare. Ask for "
            "longer decays or treat fewer modes."
        )
    best = min(serving, key=lambda t: (len(t.missed), -min(t.gain_db / 2, t.phase_deg / 10)))
    met = len(best.t60_s) - len(best.missed)
    text = (
        f"Take the {best.method}: {met} of {len(best.t60_s)} decays come out as asked for, with "
        f"{best.gain_db:.1f} dB, {best.phase_deg:.0f}° and {best.delay_s * 1e3:.3g} ms to spare."
    )
    others = [_against(trial, best) for trial in trials if trial is not best]
    return best.method, " ".join([text, *others])


def _against(trial: MethodTrial, best: MethodTrial) -> str:
    name = trial.method[0].upper() + trial.method[1:]
    if trial.fault:
        return f"{name}: {trial.fault.rstrip('.')}."
    if not trial.is_stable:
        return f"{name} would howl."
    if not trial.serves:
        return f"{name} leaves only {trial.gain_db:.1f} dB and {trial.phase_deg:.0f}°."
    if len(trial.missed) > len(best.missed):
        who = ", ".join(map(str, trial.missed))
        return f"{name} misses the decay of mode{'s' if len(trial.missed) > 1 else ''} {who}."
    return f"{name} serves too, with {trial.gain_db:.1f} dB and {trial.phase_deg:.0f}° to spare."
