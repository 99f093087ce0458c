"""The ``[strike]`` and ``[listening]`` sections of a design."""

from __future__ import annotations

from dataclasses import dataclass

from modewright.parameters import point, quantity

__all__ = ["ListeningSettings", "StrikeSettings"]


@dataclass(frozen=True, slots=True, kw_only=True)
class StrikeSettings:
    """Where and how the striker meets the sheet."""

    point_m: tuple[float, float] | None = point(
        "Place of the strike on the sheet; the reference point if not given.", default=None
    )
    force_n: float = quantity(
        "N",
        "Peak force of a strike at full strength.",
        default=0.2,
        show="N",
        above=0,
        at_most=1e4,
        plausible=(1e-3, 200),
    )
    width_s: float = quantity(
        "s",
        "Duration of the force pulse.",
        default=2e-3,
        show="ms",
        above=0,
        at_most=1,
        plausible=(5e-5, 0.05),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class ListeningSettings:
    """How the voltage of the pickup becomes a file."""

    full_scale_v: float | None = quantity(
        "V",
        "Voltage that stands at digital full scale; that of the preamplifier if not given.",
        default=None,
        show="V",
        above=0,
        plausible=(1e-3, 100),
    )
    ceiling_db: float = quantity(
        "dB",
        "Highest level that a rendered file may reach, relative to full scale.",
        default=-3.0,
        show="dB",
        at_least=-100,
        at_most=0,
    )
