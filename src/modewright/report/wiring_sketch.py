"""Sketch of the wiring: what is joined to what, with the names and values of the design.

A row for each pickup, from the supply to the converter, and one for each driver. Every box has its
words in it: nothing is told by colour alone.
"""

from __future__ import annotations

from html import escape
from typing import TYPE_CHECKING

from modewright.transducers.preamp import ChargeAmplifier
from modewright.units import format_quantity

if TYPE_CHECKING:
    from collections.abc import Sequence

    from modewright.design.schema import Design

__all__ = ["wiring_svg"]

_WIDTH, _HEIGHT, _GAP, _ROW, _EDGE = 132, 54, 34, 96, 20
_HEAD = 46


def wiring_svg(design: Design, title: str) -> str:
    """Draw the wiring of a design.

    Parameters
    ----------
    design : Design
    title : str

    Returns
    -------
    str
        SVG file.
    """
    rows = [_pickup_boxes(design, number) for number in range(len(design.pickups))]
    rows += [_driver_boxes(design, number) for number in range(len(design.drivers))]
    columns = max((len(row) for row in rows), default=1)
    width = 2 * _EDGE + columns * _WIDTH + (columns - 1) * _GAP
    height = _HEAD + max(len(rows), 1) * _ROW + 68
    body = [part for number, row in enumerate(rows) for part in _row(row, _HEAD + number * _ROW)]
    foot = height - 42
    cautions = (
        "Dashed: at bias voltage. Switch the supply off and let it bleed before touching.",
        "Screens are earthed at one end only; a guard goes to the potential of its plate.",
        "Local codes and licensed practice decide.",
    )
    notes = [
        f'<text x="{_EDGE}" y="{foot + 15 * k}" font-size="11">{escape(text)}</text>'
        for k, text in enumerate(cautions)
    ]
    return "\n".join(
        [
            f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}" '
            f'width="{width}" height="{height}" font-family="sans-serif">',
            f"<title>{escape(title)}</title>",
            f'<rect width="{width}" height="{height}" fill="white"/>',
            f'<text x="{_EDGE}" y="26" font-size="15">{escape(title)}</text>',
            *body,
            *notes,
            "</svg>",
            "",
        ]
    )


Box = tuple[tuple[str, ...], bool]


def _pickup_boxes(design: Design, number: int) -> list[Box]:
    """Words of each box, and whether it is at bias voltage."""
    pickup = design.pickups[number]
    supply = design.bias_supply
    series = "not given"
    if supply.series_resistance_ohm is not None:
        series = format_quantity(supply.series_resistance_ohm, "ohm", show="Mohm", digits=3)
    amp = pickup.preamp
    kind = "charge amplifier" if isinstance(amp, ChargeAmplifier) else "follower"
    resistor = format_quantity(pickup.bias_resistance_ohm, "ohm", show="Gohm", digits=3)
    guard = "with guard" if pickup.guard is not None else "no guard"
    return [
        (("bias supply", f"{pickup.bias_v:g} V", f"box: {supply.box}"), True),
        (("series resistor", series), True),
        (("bias resistor", resistor), True),
        (("plate", pickup.name, f"{pickup.gap_m * 1e3:.3g} mm gap, {guard}"), True),
        (("coupling capacitor", f"above {pickup.bias_v:g} V"), True),
        ((kind, f"{amp.full_scale_v:g} V peak"), False),
        (("filter, converter", f"{design.electronics.converter_rate_hz / 1e3:.4g} kHz"), False),
    ]


def _driver_boxes(design: Design, number: int) -> list[Box]:
    driver = design.drivers[number]
    rate = f"{design.electronics.converter_rate_hz / 1e3:.4g} kHz"
    kind = design.electronics.amplifier.kind
    return [
        (("converter, filter", rate), False),
        (("power amplifier", kind), False),
        (("driver", driver.name, driver.kind), False),
        (("body", design.design.name, "at earth"), False),
    ]


def _row(boxes: Sequence[Box], top: int) -> list[str]:
    parts: list[str] = []
    for number, (words, is_live) in enumerate(boxes):
        left = _EDGE + number * (_WIDTH + _GAP)
        dash = ' stroke-dasharray="5 3"' if is_live else ""
        parts.append(
            f'<rect x="{left}" y="{top}" width="{_WIDTH}" height="{_HEIGHT}" rx="4" '
            f'fill="white" stroke="black" stroke-width="1.3"{dash}/>'
        )
        for line, word in enumerate(words):
            size = 11 if line == 0 else 9.5
            parts.append(
                f'<text x="{left + _WIDTH / 2}" y="{top + 17 + 14 * line}" font-size="{size}" '
                f'text-anchor="middle">{escape(_short(word))}</text>'
            )
        if number:
            x, y = left - _GAP, top + _HEIGHT / 2
            live = dash if boxes[number - 1][1] else ""
            parts.append(
                f'<path d="M{x} {y} H{left}" stroke="black" stroke-width="1.3" fill="none"{live}/>'
            )
    return parts


def _short(word: str, most: int = 26) -> str:
    return word if len(word) <= most else f"{word[: most - 1]}…"
