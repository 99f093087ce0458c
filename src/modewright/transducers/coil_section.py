"""The winding of a driver, as a section of the design file."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from modewright.parameters import Fault, quantity
from modewright.transducers.coil import Coil
from modewright.transducers.driver_action import Heating
from modewright.transducers.heat import peak_heat_share

if TYPE_CHECKING:
    from collections.abc import Iterable

__all__ = ["CoilSection"]


@dataclass(frozen=True, slots=True, kw_only=True)
class CoilSection:
    """Winding of a driver."""

    resistance_ohm: float = quantity(
        "ohm", "Resistance of the winding.", default=100.0, above=0.0, plausible=(1.0, 5e3)
    )
    inductance_h: float = quantity(
        "H",
        "Inductance at rest; for an electromagnet only the part that does not cross the gap.",
        default=5e-3,
        show="mH",
        at_least=0.0,
        plausible=(1e-5, 1.0),
    )
    semi_inductance_ohm_per_rthz: float = quantity(
        "ohm/rtHz",
        "K of the eddy currents in the iron, whose impedance is K times the square root of j 2πf.",
        default=0.0,
        at_least=0.0,
        plausible=(0.0, 10.0),
    )
    thermal_resistance_k_per_w: float = quantity(
        "K/W",
        "Thermal resistance from the winding to the room.",
        default=50.0,
        above=0.0,
        plausible=(0.5, 500.0),
    )
    temperature_rise_k: float = quantity(
        "K",
        "Allowed rise of temperature of the winding.",
        default=60.0,
        above=0.0,
        plausible=(5.0, 150.0),
    )
    thermal_time_s: float = quantity(
        "s",
        "Time in which the winding comes nearer to its final temperature by 63 %.",
        default=20.0,
        above=0.0,
        plausible=(0.5, 3600.0),
    )
    on_time_s: float | None = quantity(
        "s",
        "Longest time for which it is driven at its limit, in every `cycle`; left out, for ever.",
        default=None,
        above=0.0,
        plausible=(1e-3, 600.0),
    )
    cycle_s: float | None = quantity(
        "s", "Time after which it may be driven so again.", default=None, above=0.0,
        plausible=(1e-2, 3600.0),
    )  # fmt: skip
    current_limit_a: float | None = quantity(
        "A", "Largest peak current if something other than heat limits it.", default=None, above=0.0
    )

    def problems(self) -> Iterable[Fault]:
        """Return what is wrong between the times."""
        on_s, cycle_s = self.on_time_s, self.cycle_s
        if (on_s is None) != (cycle_s is None):
            missing = "on_time" if on_s is None else "cycle"
            yield Fault(key=missing, expected="both on_time and cycle, or neither", got="one")
        elif on_s is not None and cycle_s is not None and on_s > cycle_s:
            yield Fault(
                key="on_time",
                expected=f"no more than the cycle of {cycle_s:g} s",
                got=f"{on_s:g} s",
            )

    @property
    def peak_thermal_resistance_k_per_w(self) -> float:
        """Rise at the end of each time of driving, over the power meanwhile. [K/W]"""
        if self.on_time_s is None or self.cycle_s is None:
            return self.thermal_resistance_k_per_w
        share = peak_heat_share(self.on_time_s, self.cycle_s, self.thermal_time_s)
        return self.thermal_resistance_k_per_w * share

    @property
    def duty_text(self) -> str:
        """How long it is driven at its limit."""
        if self.on_time_s is None or self.cycle_s is None:
            return "for ever"
        return f"{self.on_time_s:g} s of every {self.cycle_s:g} s"

    @property
    def heating(self) -> Heating:
        """What of heat it bears."""
        return Heating(
            thermal_resistance_k_per_w=self.peak_thermal_resistance_k_per_w,
            temperature_rise_k=self.temperature_rise_k,
            duty_text=self.duty_text,
        )

    @property
    def parts_text(self) -> str:
        """What to order."""
        return f"{self.resistance_ohm:.3g} ohm, {self.inductance_h * 1e3:.3g} mH"

    @property
    def at_rest(self) -> Coil:
        """Its electrical figures, with what of the inductance does not cross a gap."""
        return Coil(
            resistance_ohm=self.resistance_ohm,
            inductance_h=self.inductance_h,
            semi_inductance_ohm_per_rthz=self.semi_inductance_ohm_per_rthz,
        )
