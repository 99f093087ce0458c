"""What the lag of a driver, which grows with the level, costs the loop."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from modewright.loop.authority import Authority
    from modewright.loop.judge import JudgedStates
    from modewright.loop.plant import Plant
    from modewright.loop.regulators import Regulators

__all__ = ["lag_at_limit", "lag_when_held"]

_TOLD_SHARE = 0.2
_TOLD_CENTS = 0.1


def lag_at_limit(
    plant: Plant, regulators: Regulators, judged: tuple[JudgedStates, ...]
) -> list[str]:
    """Lag at the largest command, where it is a good part of the phase margin."""
    stable = [case.margins.phase_deg for case in judged if case.is_stable]
    if plant.drive_lag is None or not stable:
        return []
    drive = plant.command_limit * np.abs(plant.drive_per_command[regulators.modes]).max()
    lag_deg = float(np.degrees(plant.drive_lag.at_rad(drive)))
    margin_deg = min(stable)
    if lag_deg < _TOLD_SHARE * margin_deg:
        return []
    fate = "is unstable there" if lag_deg >= margin_deg else "holds there, with less margin"
    return [
        f"Hysteresis: at the command limit the driver lags by {lag_deg:.1f} degrees more than at "
        f"small levels, of a phase margin of {margin_deg:.0f} degrees; the loop {fate}. A larger "
        "driver, or a lower limit, lags less."
    ]


def lag_when_held(plant: Plant, regulators: Regulators, authority: Authority) -> list[str]:
    """Held modes whose pitch the lag pulls.

    Force that lags behind the velocity by δ acts in part along the displacement and lowers the
    pitch by tan δ/(2 Q).
    """
    if plant.drive_lag is None:
        return []
    modes = regulators.modes
    drive = authority.hold_command * np.abs(plant.drive_per_command[modes])
    lag_rad = plant.drive_lag.at_rad(drive)
    cents = 1200 / np.log(2) * np.tan(lag_rad) * plant.damping_ratio[modes]
    return [
        f"Hysteresis: holding mode {mode + 1} ({plant.labels[mode]}) the driver lags by "
        f"{np.degrees(lag):.2g} degrees, which lowers its pitch by {pull:.2g} cents."
        for mode, state, lag, pull in zip(modes, regulators.state, lag_rad, cents, strict=True)
        if state == "held" and pull > _TOLD_CENTS
    ]
