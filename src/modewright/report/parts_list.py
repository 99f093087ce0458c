"""Bill of materials of a design: generic parts with the values that the design gives them."""

from __future__ import annotations

import csv
import io
from typing import TYPE_CHECKING

from modewright.transducers.electronics import CurrentAmplifier
from modewright.transducers.preamp import ChargeAmplifier
from modewright.units import format_quantity

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from modewright.design.schema import Design
    from modewright.transducers.capacitive_pickup import CapacitivePickup

__all__ = ["PART_COLUMNS", "parts_csv", "parts_list"]

PART_COLUMNS = ("part", "pieces", "value", "for", "why")
Row = tuple[str, str, str, str, str]

_NOT_GIVEN = "to be chosen: not in the design"


def parts_list(design: Design, boards: Iterable[dict[str, object]]) -> list[Row]:
    """List what has to be bought.

    Parameters
    ----------
    design : Design
    boards : iterable of dict
        From `modewright.report.board_data.board_data`.

    Returns
    -------
    list of tuple
        Columns as `PART_COLUMNS`. Values that the design does not give are told, not made up.
    """
    rows: list[Row] = [
        (
            "sheet metal",
            "1",
            f"{design.material.name}, {_mm(design.stock.thickness_m)} thick",
            "body",
            "by the drawing",
        )
    ]
    thickness = _mm(design.board.thickness_m)
    copper_um = design.board.copper_thickness_m * 1e6
    rows += [
        (
            "printed board, two faces",
            "1",
            f"{thickness}, {copper_um:.3g} um copper",
            str(board["name"]),
            "carries the plates; files by artwork",
        )
        for board in boards
    ]
    for pickup in design.pickups:
        rows += _of_pickup(pickup)
    if design.pickups:
        rows += _of_supply(design)
    for driver in design.drivers:
        part = driver.parts_text
        rows.append((f"driver, {driver.kind}", "1", part, driver.name, "pushes the body"))
        rows.append(_amplifier(design, driver.name))
    if design.pickups and design.drivers:
        rows += _converters(design)
    return rows


def _mm(length_m: float) -> str:
    return f"{length_m * 1e3:.3g} mm"


def _of_pickup(pickup: CapacitivePickup) -> Iterator[Row]:
    amp, name = pickup.preamp, pickup.name
    noise = (
        f"{amp.voltage_noise_v_per_rthz * 1e9:.3g} nV/rtHz, "
        f"{amp.current_noise_a_per_rthz * 1e15:.3g} fA/rtHz"
    )
    yield (
        "resistor, high voltage",
        "1",
        format_quantity(pickup.bias_resistance_ohm, "ohm", show="Gohm", digits=3),
        name,
        f"brings {pickup.bias_v:g} V to the plate; rate it for more",
    )
    yield (
        "operational amplifier, FET input",
        "1",
        f"{noise}, {amp.bandwidth_hz / 1e6:.3g} MHz, {amp.full_scale_v:g} V peak",
        name,
        "follower" if not isinstance(amp, ChargeAmplifier) else "charge amplifier",
    )
    if isinstance(amp, ChargeAmplifier):
        value = format_quantity(amp.feedback_capacitance_f, "F", show="pF", digits=3)
        yield ("capacitor, film or C0G", "1", value, name, "feedback: sets volts per coulomb")
        value = format_quantity(amp.feedback_resistance_ohm, "ohm", show="Gohm", digits=3)
        yield ("resistor", "1", value, name, "feedback: sets the lower corner")
    yield (
        "capacitor, high voltage, low leakage",
        "1",
        f"{_NOT_GIVEN}; large against the plate, rated above {pickup.bias_v:g} V",
        name,
        "keeps the bias off the amplifier",
    )


def _of_supply(design: Design) -> Iterator[Row]:
    supply = design.bias_supply
    highest_v = max(pickup.bias_v for pickup in design.pickups)
    yield ("bias supply", "1", f"{highest_v:g} V direct, quiet", "pickups", "see the safety page")
    for part, value, unit, show, why in (
        ("resistor, high voltage", supply.series_resistance_ohm, "ohm", "Mohm", "bounds a touch"),
        ("resistor, high voltage", supply.bleed_resistance_ohm, "ohm", "Mohm", "bleeds it"),
        ("capacitor, high voltage", supply.reservoir_capacitance_f, "F", "nF", "its reservoir"),
    ):
        shown = _NOT_GIVEN if value is None else format_quantity(value, unit, show=show, digits=3)
        yield (part, "1", shown, "bias supply", why)


def _amplifier(design: Design, name: str) -> Row:
    amp = design.electronics.amplifier
    if isinstance(amp, CurrentAmplifier):
        value = f"current drive, {amp.limit_a:.3g} A peak, {amp.bandwidth_hz / 1e3:.3g} kHz"
    else:
        value = f"voltage drive, {amp.limit_v:.3g} V peak, {amp.bandwidth_hz / 1e3:.3g} kHz"
    return ("power amplifier", "1", value, name, "feeds the coil")


def _converters(design: Design) -> Iterator[Row]:
    part = design.electronics
    rate = f"{part.converter_rate_hz / 1e3:.4g} kHz"
    into, out = f"{rate}, {part.input_converter}", f"{rate}, {part.output_converter}"
    yield (
        "converter, analogue to digital",
        "1",
        into,
        "loop",
        f"{part.input_delay_s * 1e3:.3g} ms late",
    )
    yield (
        "converter, digital to analogue",
        "1",
        out,
        "loop",
        f"{part.output_delay_s * 1e3:.3g} ms late",
    )
    value = _filter_text(part.anti_alias, part.anti_alias_order, part.anti_alias_corner_hz)
    yield ("low-pass filter", "1", value, "loop", "before the input converter")
    if part.reconstruction_order:
        value = _filter_text(
            part.reconstruction, part.reconstruction_order, part.reconstruction_corner_hz
        )
        yield ("low-pass filter", "1", value, "loop", "behind the output converter")


def _filter_text(kind: str, order: int, corner_hz: float) -> str:
    return f"{kind}, order {order}, {corner_hz / 1e3:.3g} kHz"


def parts_csv(rows: Iterable[Row]) -> str:
    """The list as comma-separated values with a heading."""
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\n")
    writer.writerow(PART_COLUMNS)
    writer.writerows(rows)
    return stream.getvalue()
