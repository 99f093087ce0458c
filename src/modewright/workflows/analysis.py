"""The analyses behind the verbs ``modes`` and ``loop``: a design file in, plain data out."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from modewright.chain.body import Body, analyse_placed
from modewright.chain.closed_loop import analyse_loop, detuned_modes, signal_path
from modewright.chain.hearing import Hearing, analyse_hearing
from modewright.chain.missing import missing_for_loop, missing_sections
from modewright.chain.places import PlacedDesign, check_places, located_faults
from modewright.design.load import LoadedDesign, load_design
from modewright.errors import LoopError
from modewright.modes.solid import Accuracy
from modewright.report.tables import (
    driver_data,
    loop_data,
    modes_data,
    origin,
    path_data,
    pickup_data,
    rest_data,
    wanted_data,
)
from modewright.report.text_tables import (
    TextTable,
    detuning_table,
    driver_tables,
    held_table,
    loss_table,
    margin_table,
    modes_table,
    path_table,
    pickup_tables,
    rest_tables,
    treated_table,
)

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from modewright.loop.close import ClosedLoop

__all__ = [
    "Accuracy",
    "Analysis",
    "TextTable",
    "analyse",
    "loop_tables",
    "modes_tables",
    "report_loop",
    "report_modes",
    "with_loop",
]

_SHOWN_MODES = 12
_BELOW_HALF_RATE = 0.49


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Analysis:
    """A design with everything that can be computed from it.

    Parameters
    ----------
    loaded : LoadedDesign
    placed : PlacedDesign
    body : Body
    hearing : Hearing
    closed_loop : ClosedLoop or None
        None if pickup or driver is missing.
    accuracy : str
    """

    loaded: LoadedDesign
    placed: PlacedDesign
    body: Body
    hearing: Hearing
    closed_loop: ClosedLoop | None
    accuracy: str

    @property
    def loop(self) -> ClosedLoop:
        """The loop.

        Raises
        ------
        LoopError
            If the design has no pickup or no driver; says what to add.
        """
        if self.closed_loop is None:
            raise _no_loop(self.loaded, self.placed)
        return self.closed_loop

    @property
    def missing(self) -> dict[str, str]:
        """Sections to add for what the design lacks, by what it lacks."""
        return missing_sections(self.placed.design, self.placed.blank)

    @property
    def shown_modes(self) -> int:
        """How many modes tables show: all the observer knows, a dozen at least."""
        wanted = max(_SHOWN_MODES, self.loaded.design.loop.modelled_modes)
        return min(wanted, len(self.body.basis.freq_hz))


def analyse(
    path: Path, *, accuracy: Accuracy = "normal", progress: Callable[[str], None] | None = None
) -> Analysis:
    """Work out body, hearing and, if it has pickup and driver, the loop of a design file.

    Parameters
    ----------
    path : Path
        Design file.
    accuracy : {"draft", "normal", "fine"}
    progress : callable, optional
        Told what is being done.

    Returns
    -------
    Analysis

    Raises
    ------
    ModewrightError
        If anything of it cannot be.
    """
    loaded = load_design(path)
    return _analysed(loaded, check_places(loaded), accuracy, progress)


def with_loop(
    path: Path, *, accuracy: Accuracy = "normal", progress: Callable[[str], None] | None = None
) -> Analysis:
    """Work out a design file that must have a loop; parameters as for `analyse`.

    Raises
    ------
    LoopError
        At once if pickup or driver is missing, with sections to paste.
    ModewrightError
        If anything of it cannot be.
    """
    loaded = load_design(path)
    placed = check_places(loaded)
    if missing_for_loop(placed.design, placed.blank) is not None:
        raise _no_loop(loaded, placed)
    return _analysed(loaded, placed, accuracy, progress)


def _no_loop(loaded: LoadedDesign, placed: PlacedDesign) -> LoopError:
    missing = missing_for_loop(placed.design, placed.blank)
    what, sections = missing if missing is not None else ("a loop", "")
    return LoopError(
        f"{loaded.file}: loop: expected {what}, got a design without.",
        hint=f"Add to the file, for instance:\n\n{sections}",
    )


def _analysed(
    loaded: LoadedDesign,
    placed: PlacedDesign,
    accuracy: Accuracy,
    progress: Callable[[str], None] | None,
) -> Analysis:
    design = placed.design
    with located_faults(loaded):
        body = analyse_placed(
            placed,
            up_to_hz=min(
                design.loop.highest_mode_hz, _BELOW_HALF_RATE * design.electronics.rate_hz
            ),
            accuracy=accuracy,
            progress=progress,
        )
        hearing = analyse_hearing(design, body)
        loop = None
        if hearing.pickups and hearing.drivers:
            loop = analyse_loop(design, body, hearing)
    return Analysis(
        loaded=loaded,
        placed=placed,
        body=body,
        hearing=hearing,
        closed_loop=loop,
        accuracy=accuracy,
    )


def report_modes(
    path: Path,
    *,
    count: int = _SHOWN_MODES,
    accuracy: Accuracy = "normal",
    progress: Callable[[str], None] | None = None,
) -> dict[str, Any]:
    """Modes of a design file as plain data.

    Parameters
    ----------
    path : Path
        Design file.
    count : int
        How many modes.
    accuracy : {"draft", "normal", "fine"}
    progress : callable, optional
        Told what is being done.

    Returns
    -------
    dict
        ``modes``, each with frequency, note, error estimate, Q, T60, modal mass, label and loss
        shares, and what they come from.
    """
    loaded = load_design(path)
    placed = check_places(loaded)
    with located_faults(loaded):
        body = analyse_placed(placed, count=count, accuracy=accuracy, progress=progress)
    return {
        **body_data(loaded, body, accuracy, count, float(body.basis.freq_hz[0])),
        "warnings": warning_texts(loaded, placed),
    }


def body_data(
    loaded: LoadedDesign, body: Body, accuracy: str, count: int, sounding_hz: float
) -> dict[str, Any]:
    """Modes of a body as plain data; `sounding_hz` is held against the note it should sound."""
    heading = loaded.design.design
    return {
        **origin(loaded.design_hash, accuracy),
        "name": heading.name,
        "a4_hz": heading.a4_hz,
        "reference_point": {
            "name": body.reference.name,
            "point_m": list(body.reference.point_m),
        },
        "body_mass_kg": body.modes.body_mass_kg,
        "method": body.modes.source,
        "wanted": wanted_data(sounding_hz, heading.note, heading.a4_hz),
        "modes": modes_data(body, heading.a4_hz, count),
    }


def warning_texts(loaded: LoadedDesign, placed: PlacedDesign) -> list[str]:
    """Doubts about a design file and its drawing."""
    return [str(warning) for warning in (*loaded.warnings, *placed.remarks)]


def report_loop(
    path: Path, *, accuracy: Accuracy = "normal", progress: Callable[[str], None] | None = None
) -> dict[str, Any]:
    """Pickups, drivers, signal path and loop of a design file as plain data.

    Raises
    ------
    LoopError
        If the design has no pickup or no driver; says what to add.
    """
    found = with_loop(path, accuracy=accuracy, progress=progress)
    return {
        **origin(found.loaded.design_hash, accuracy),
        "name": found.loaded.design.design.name,
        **hearing_data(found),
        "loop": closed_loop_data(found.loop, found.loaded.design.electronics.delay_s),
        "warnings": warning_texts(found.loaded, found.placed),
    }


def closed_loop_data(loop: ClosedLoop, delay_s: float) -> dict[str, Any]:
    """The loop as plain data, with what a model that is off does to it."""
    detuned, fault = detuned_modes(loop)
    return loop_data(loop, delay_s, detuned, fault)


def hearing_data(found: Analysis) -> dict[str, Any]:
    """Operating point, pickups, drivers and signal path as plain data."""
    count, moves = found.shown_modes, found.hearing.moves_at_reference
    path = () if found.closed_loop is None else signal_path(found.placed.design, found.hearing)
    return {
        "operating_point": rest_data(found.hearing, found.loaded.design.design.a4_hz, count),
        "pickups": [pickup_data(pickup, moves, count) for pickup in found.hearing.pickups],
        "drivers": [driver_data(driver, moves, count) for driver in found.hearing.drivers],
        "signal_path": path_data(path, count),
    }


def modes_tables(found: dict[str, Any]) -> tuple[TextTable, ...]:
    """What `report_modes` gave, as tables to read."""
    return modes_table(found), loss_table(found)


def loop_tables(found: dict[str, Any]) -> tuple[TextTable, ...]:
    """What `report_loop` gave, as tables to read."""
    return (
        *rest_tables(found["operating_point"]),
        *(table for pickup in found["pickups"] for table in pickup_tables(pickup)),
        *(table for driver in found["drivers"] for table in driver_tables(driver)),
        path_table(found["signal_path"], found["loop"]),
        treated_table(found["loop"]),
        *((held_table(found["loop"]),) if found["loop"]["cases"][0]["held"] else ()),
        margin_table(found["loop"]),
        *((detuning_table(found["loop"]),) if found["loop"]["detuning"] else ()),
    )
