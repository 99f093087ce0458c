"""The ``[losses]`` section of a design: which mechanisms count, and what was measured."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from modewright.parameters import Fault, choice, flag, quantities

if TYPE_CHECKING:
    from collections.abc import Iterable

__all__ = ["LossSettings"]


@dataclass(frozen=True, slots=True, kw_only=True)
class LossSettings:
    """Mechanisms that take energy out of the modes. Each is computed mode by mode."""

    thermoelastic: bool = flag("Heat that flows across the sheet as it bends.", default=True)
    material: bool = flag("Loss factor of the metal itself.", default=True)
    air_drag: bool = flag("Viscous drag and mass of the surrounding air.", default=True)
    radiation: bool = flag("Sound radiated into the surrounding air.", default=True)
    squeeze_film: bool = flag(
        "Drag and mass of the air squeezed out of the gaps of pickups and poles.", default=True
    )
    support: str = choice(
        "Loss at the hold: `estimate` for what an ideal hold in a block of the same metal takes, "
        "much larger than the wavelength in it, which no real hold comes down to, and for what the "
        "pads of `nodal supports` take; `entered` for the measured figures of support_q; `none`.",
        ("estimate", "entered", "none"),
        default="estimate",
    )
    support_q: tuple[float, ...] = quantities(
        "1",
        "Measured Q of the hold alone, mode by mode from the lowest; the last figure holds for all "
        "further modes.",
        default=(),
        above=0.0,
        plausible=(50.0, 1e6),
    )

    def problems(self) -> Iterable[Fault]:
        """Return what does not fit together."""
        if self.support == "entered" and not self.support_q:
            yield Fault(
                key="support_q",
                expected='at least one figure because support = "entered"',
                got="none",
                hint='Write support_q = ["1500"], or support = "estimate".',
            )
        if self.support != "entered" and self.support_q:
            yield Fault(
                key="support_q",
                expected=f'no figures because support = "{self.support}"',
                got=f"{len(self.support_q)}",
                hint='Write support = "entered" to use them.',
            )
