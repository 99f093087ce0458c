"""Figures against which a cautious builder holds a design, and the usual cautions.

The limits are quoted from memory of the standards named; the standards in force and the judgement
of a licensed practitioner decide. Where a figure is missing the page says that safety was not
shown.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from modewright.transducers.bias_supply import supply_figures
from modewright.transducers.breakdown import PASCHEN_MINIMUM_V, breakdown_v
from modewright.transducers.electronics import VoltageAmplifier

if TYPE_CHECKING:
    from modewright.chain.hearing import Hearing, PushingDriver
    from modewright.design.schema import Design
    from modewright.transducers.driver_action import DriverAction
    from modewright.transducers.electronics import Amplifier

__all__ = ["CAUTIONS", "SafetyFigure", "safety_figures"]

# IEC 62368-1, energy source class ES1 (from memory): 60 V DC, or 2 mA DC through a body; of AC
# below 1 kHz 42.4 V peak.
_ES1_VOLTAGE_V = 60.0
_ES1_CURRENT_A = 2e-3
_ES1_PEAK_V = 42.4
# Stored charge felt as a shock: 350 µJ is often quoted for static discharge (from memory).
_FELT_ENERGY_J = 350e-6

CAUTIONS = (
    "Bias voltage: switch the supply off and let it discharge before you touch plate, lead or "
    "preamplifier. Keep the series resistor at the supply's end of the lead, and the whole "
    "supply in a closed box.",
    "Sound: start with the loudspeaker turned down. A loop that howls is louder than anything "
    "in these files; protect your ears.",
    "Heat: a coil at its limit is hot enough to burn. Let it cool; do not leave a held note "
    "unattended.",
    "Edges: laser-cut sheet is as sharp as a blade. Deburr it and wear gloves. A bent reed "
    "stores energy: wear eye protection when you clamp or release it.",
    "Piezo patches charge themselves when they are bent or warmed: join their leads before you "
    "touch them. The ceramic holds lead and splinters: gloves, eye protection, no dust.",
    "Magnets: strong ones snap together and pinch; keep them away from pacemakers and cards.",
    "This page does not replace local codes, the standards in force, or a licensed "
    "practitioner, who decide.",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class SafetyFigure:
    """One figure of the design against what is usually cited."""

    what: str
    value: str
    usual: str
    verdict: str


def safety_figures(design: Design, hearing: Hearing) -> tuple[SafetyFigure, ...]:
    """Work out the figures of the safety page.

    Parameters
    ----------
    design : Design
    hearing : Hearing

    Returns
    -------
    tuple of SafetyFigure
    """
    found: list[SafetyFigure] = []
    gaps = hearing.operating_point.pickup_gaps
    for pickup, heard, biased in zip(design.pickups, hearing.pickups, gaps, strict=True):
        found += _bias_figures(
            pickup.name,
            pickup.bias_v,
            pickup.bias_resistance_ohm,
            float(biased.gap.gap_m.min()),
            heard.figures.capacitance_f + pickup.stray_capacitance_f,
        )
    if design.pickups:
        found += _supply(design)
    actions = hearing.operating_point.driver_actions
    for action, pushing in zip(actions, hearing.drivers, strict=True):
        found += _driver_figures(action, pushing, design.electronics.amplifier)
    found.append(
        SafetyFigure(
            what="loudness of the rendered files",
            value=f"no sample above {design.listening.ceiling_db:g} dB re full scale",
            usual="85 dB(A) over a working day is the usual limit for ears (common practice)",
            verdict="not shown to be safe: it depends on amplifier and loudspeaker; start low",
        )
    )
    return tuple(found)


def _driver_figures(
    action: DriverAction, pushing: PushingDriver, amplifier: Amplifier
) -> list[SafetyFigure]:
    power_w, heating = pushing.figures.power_w, action.heating
    rise_k = power_w * heating.thermal_resistance_k_per_w
    name = pushing.figures.name
    heat = SafetyFigure(
        what=f"{name}: heat at its limit {heating.duty_text}",
        value=f"{power_w * 1e3:.3g} mW, {rise_k:.3g} K above the room",
        usual=f"{heating.temperature_rise_k:g} K allowed by the design",
        verdict="within" if rise_k <= heating.temperature_rise_k * 1.001 else "ABOVE",
    )
    if not isinstance(amplifier, VoltageAmplifier):
        return [heat]
    is_low = amplifier.limit_v <= _ES1_PEAK_V
    voltage = SafetyFigure(
        what=f"{name}: largest voltage of its amplifier",
        value=f"{amplifier.limit_v:g} V peak",
        usual=f"{_ES1_PEAK_V:g} V peak of AC (IEC 62368-1, class ES1, from memory)",
        verdict="within" if is_low else "above it: rely on insulation and an enclosure",
    )
    return [heat, voltage]


def _bias_figures(
    name: str,
    bias_v: float,
    resistance_ohm: float,
    gap_m: float,
    capacitance_f: float,
) -> list[SafetyFigure]:
    current_a = bias_v / resistance_ohm
    energy_j = capacitance_f * bias_v**2 / 2
    beyond = "above it: rely on the series resistor and an enclosure"
    return [
        SafetyFigure(
            what=f"{name}: bias voltage",
            value=f"{bias_v:g} V",
            usual=f"{_ES1_VOLTAGE_V:g} V DC (IEC 62368-1, class ES1, from memory)",
            verdict="within" if bias_v <= _ES1_VOLTAGE_V else beyond,
        ),
        SafetyFigure(
            what=f"{name}: current through the bias resistor when touched",
            value=f"{current_a * 1e6:.3g} uA",
            usual=f"{_ES1_CURRENT_A * 1e3:g} mA DC (IEC 62368-1, class ES1, from memory)",
            verdict="within" if current_a <= _ES1_CURRENT_A else "ABOVE",
        ),
        SafetyFigure(
            what=f"{name}: field in the gap at its narrowest",
            value=f"{bias_v / gap_m * 1e-6:.3g} kV/mm",
            usual="3 kV/mm breaks air down (common practice), but nothing below "
            f"{PASCHEN_MINIMUM_V:g} V (Paschen's minimum, from memory)",
            verdict=_spark_verdict(bias_v, gap_m),
        ),
        SafetyFigure(
            what=f"{name}: energy stored on plate and lead",
            value=f"{energy_j * 1e9:.3g} nJ",
            usual=f"{_FELT_ENERGY_J * 1e6:g} uJ is felt as a shock (from memory)",
            verdict="within" if energy_j <= _FELT_ENERGY_J else "ABOVE",
        ),
    ]


def _supply(design: Design) -> list[SafetyFigure]:
    """The supply, and whether it is kept from hands where it has to be."""
    supply = design.bias_supply
    figures = supply_figures(supply)
    found = [
        SafetyFigure(
            what=figure.what,
            value="not in the design"
            if figure.value is None
            else _shown(figure.value, figure.unit),
            usual=f"{_shown(figure.limit, figure.unit)}, {figure.source}",
            verdict=figure.verdict,
        )
        for figure in figures
    ]
    highest_v = max(pickup.bias_v for pickup in design.pickups)
    if supply.voltage_v is not None and supply.voltage_v < highest_v:
        found.append(
            SafetyFigure(
                what="voltage of the bias supply against the pickups",
                value=f"{supply.voltage_v:g} V",
                usual=f"{highest_v:g} V asked for by a pickup",
                verdict="not shown to be safe: one of the two is wrong",
            )
        )
    found.append(
        SafetyFigure(
            what="box of the bias supply",
            value=supply.box,
            usual="closed by a tool or interlocked if anything in it is above a limit "
            "(common practice)",
            verdict=_box_verdict(supply.box, all(figure.is_within for figure in figures)),
        )
    )
    return found


def _box_verdict(box: str, is_harmless: bool) -> str:
    if box in ("closed by a tool", "interlocked"):
        return "as usual"
    if is_harmless:
        return "nothing inside is above a limit"
    return "not shown to be safe: close the box, or show that nothing inside is above a limit"


def _shown(value: float, unit: str) -> str:
    for scale, prefix in ((1.0, ""), (1e-3, "m"), (1e-6, "u"), (1e-9, "n"), (1e-12, "p")):
        if abs(value) >= scale or scale == 1e-12:
            return f"{value / scale:.3g} {prefix}{unit}"
    return f"{value:.3g} {unit}"


def _spark_verdict(bias_v: float, gap_m: float) -> str:
    sparks_v = breakdown_v(gap_m)
    if bias_v >= sparks_v:
        return f"ABOVE: expect sparks from about {sparks_v:.0f} V"
    if bias_v < PASCHEN_MINIMUM_V or bias_v < sparks_v / 3:
        return "within"
    return "ABOVE a third of it"
