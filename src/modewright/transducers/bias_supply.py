"""The supply behind the bias voltage, and what it could do to a hand.

The limits are quoted from memory of the standards named; those in force and a licensed practitioner
decide. What is not given is never taken to be harmless.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from modewright.parameters import choice, quantity

if TYPE_CHECKING:
    from collections.abc import Iterator

__all__ = ["BiasSupply", "SupplyFigure", "supply_figures"]

# IEC 62368-1, 5.2.2.2 and table 4, class ES1: direct voltage, direct current through a body.
_VOLTAGE_V, _CURRENT_A = 60.0, 2e-3
# IEC 61010-1, 6.3.1 c: charge of a part that can be touched, up to 15 kV.
_CHARGE_C = 45e-6
# IEC 62368-1, 5.5.2.2: time after which a capacitor that can be touched has to be harmless.
_BLEED_S = 2.0
_NO_DATUM = "not shown to be safe"


@dataclass(frozen=True, slots=True, kw_only=True)
class BiasSupply:
    """The ``[bias_supply]`` section: what feeds the plates. What is left out counts as unknown."""

    voltage_v: float | None = quantity(
        "V", "Largest direct voltage that it gives, a fault in it included.", default=None,
        above=0.0, plausible=(1.0, 2000.0),
    )  # fmt: skip
    series_resistance_ohm: float | None = quantity(
        "ohm", "Resistance at the supply's end of the lead, through which a touch is fed.",
        default=None, show="Mohm", above=0.0, plausible=(1e3, 1e11),
    )  # fmt: skip
    reservoir_capacitance_f: float | None = quantity(
        "F", "All capacitance before that resistance.", default=None, show="nF", at_least=0.0,
        plausible=(0.0, 1e-3),
    )  # fmt: skip
    lead_capacitance_f: float | None = quantity(
        "F", "All capacitance behind it: leads, plates, coupling capacitors.", default=None,
        show="nF", at_least=0.0, plausible=(0.0, 1e-5),
    )  # fmt: skip
    bleed_resistance_ohm: float | None = quantity(
        "ohm", "Resistance that always lies across the reservoir.", default=None, show="Mohm",
        above=0.0, plausible=(1e3, 1e11),
    )  # fmt: skip
    box: Literal["unknown", "open", "closed by a tool", "interlocked"] = choice(
        "How the parts before the series resistance are kept from hands.",
        ("unknown", "open", "closed by a tool", "interlocked"),
        default="unknown",
    )

    @property
    def bleed_s(self) -> float | None:
        """Time from switching off until the reservoir is below 60 V; None if not known. [s]"""
        parts = (self.voltage_v, self.reservoir_capacitance_f, self.bleed_resistance_ohm)
        voltage_v, reservoir_f, bleed_ohm = parts
        if voltage_v is None or reservoir_f is None or bleed_ohm is None:
            return None
        return bleed_ohm * reservoir_f * max(math.log(voltage_v / _VOLTAGE_V), 0.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class SupplyFigure:
    """One figure of a supply against the limit usually cited.

    Parameters
    ----------
    what, unit : str
    value : float or None
        None if it cannot be known.
    limit : float
    source : str
        Of the limit.
    missing : tuple of str
        Keys of the design file without which it cannot be known.
    is_within : bool
        False for what is not known.
    """

    what: str
    unit: str
    value: float | None
    limit: float
    source: str
    missing: tuple[str, ...]
    is_within: bool

    @property
    def verdict(self) -> str:
        """In words."""
        if self.missing:
            return f"{_NO_DATUM}: bias_supply.{', bias_supply.'.join(self.missing)} not given"
        return "below it" if self.is_within else "ABOVE"


def supply_figures(supply: BiasSupply) -> tuple[SupplyFigure, ...]:
    """Hold a supply against the limits usually cited.

    Parameters
    ----------
    supply : BiasSupply

    Returns
    -------
    tuple of SupplyFigure
        Voltage, current when touched (`V/R`), charge behind the series resistance (`C V`), charge
        of the reservoir, time to bleed; the last two matter to whoever opens the box.

    References
    ----------
    IEC 62368-1, 5.2.2.2, table 4 (60 V and 2 mA of direct current) and 5.5.2.2 (2 s); IEC 61010-1,
    6.3.1 c (45 µC); all from memory.
    """
    return tuple(_figures(supply))


def _figures(supply: BiasSupply) -> Iterator[SupplyFigure]:
    voltage = ("voltage", supply.voltage_v)
    series = ("series_resistance", supply.series_resistance_ohm)
    lead = ("lead_capacitance", supply.lead_capacitance_f)
    reservoir = ("reservoir_capacitance", supply.reservoir_capacitance_f)
    bleed = ("bleed_resistance", supply.bleed_resistance_ohm)
    es1, charge = "IEC 62368-1, 5.2.2.2, class ES1", "IEC 61010-1, 6.3.1 c"
    yield _figure("voltage of the bias supply", "V", _VOLTAGE_V, es1, supply.voltage_v, voltage)
    touch_a = _quotient(supply.voltage_v, supply.series_resistance_ohm)
    what = "current through its series resistance when touched"
    yield _figure(what, "A", _CURRENT_A, es1, touch_a, voltage, series)
    lead_c = _product(supply.voltage_v, supply.lead_capacitance_f)
    what = "charge behind the series resistance"
    yield _figure(what, "C", _CHARGE_C, charge, lead_c, voltage, lead)
    reservoir_c = _product(supply.voltage_v, supply.reservoir_capacitance_f)
    yield _figure(
        "charge of its reservoir", "C", _CHARGE_C, charge, reservoir_c, voltage, reservoir
    )
    what = "time to bleed its reservoir below 60 V"
    source = "IEC 62368-1, 5.5.2.2"
    yield _figure(what, "s", _BLEED_S, source, supply.bleed_s, voltage, reservoir, bleed)


def _figure(
    what: str,
    unit: str,
    limit: float,
    source: str,
    value: float | None,
    *needs: tuple[str, float | None],
) -> SupplyFigure:
    """A figure that needs these keys of the design."""
    return SupplyFigure(
        what=what,
        unit=unit,
        value=value,
        limit=limit,
        source=f"{source} (from memory)",
        missing=tuple(key for key, given in needs if given is None),
        is_within=value is not None and value <= limit,
    )


def _quotient(first: float | None, second: float | None) -> float | None:
    return None if first is None or second is None else first / second


def _product(first: float | None, second: float | None) -> float | None:
    return None if first is None or second is None else first * second
