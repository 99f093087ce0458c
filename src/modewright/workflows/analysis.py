"""The analyses behind the verbs ``modes`` and ``loop``: a design file in, plain data out."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from modewright.chain.body import Body, analyse_placed
from modewright.chain.closed_loop import analyse_loop, signal_path
from modewright.chain.hearing import Hearing, analyse_hearing
from modewright.chain.places import check_places, located_faults
from modewright.design.load import LoadedDesign, load_design
from modewright.modes.solid import Accuracy
from modewright.report.tables import (
    SMALL_HARMONIC,
    driver_data,
    loop_data,
    modes_data,
    origin,
    path_data,
    pickup_data,
    rest_data,
    wanted_data,
)

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from modewright.loop.close import ClosedLoop

__all__ = ["SMALL_HARMONIC", "Accuracy", "Analysis", "analyse", "report_loop", "report_modes"]

_SHOWN_MODES = 12
_BELOW_HALF_RATE = 0.49


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Analysis:
    """A design with everything computed from it.

    Parameters
    ----------
    loaded : LoadedDesign
    body : Body
    hearing : Hearing
    loop : ClosedLoop
    accuracy : str
    """

    loaded: LoadedDesign
    body: Body
    hearing: Hearing
    loop: ClosedLoop
    accuracy: str

    @property
    def shown_modes(self) -> int:
        """How many modes tables show: all the observer knows, a dozen at least."""
        wanted = max(_SHOWN_MODES, self.loaded.design.loop.modelled_modes)
        return min(wanted, self.loop.plant.mode_count)


def analyse(
    path: Path, *, accuracy: Accuracy = "normal", progress: Callable[[str], None] | None = None
) -> Analysis:
    """Work out body, hearing and loop of a design file.

    Raises
    ------
    ModewrightError
        If anything of it cannot be.
    """
    loaded = load_design(path)
    design = loaded.design
    placed = check_places(loaded)
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
    loop = analyse_loop(design, body, hearing)
    return Analysis(loaded=loaded, body=body, hearing=hearing, loop=loop, accuracy=accuracy)


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
    body = analyse_placed(check_places(loaded), count=count, accuracy=accuracy, progress=progress)
    return {
        **origin(loaded.design_hash, accuracy),
        "name": loaded.design.design.name,
        "a4_hz": loaded.design.design.a4_hz,
        "reference_point": {
            "name": body.reference.name,
            "point_m": list(body.reference.point_m),
        },
        "body_mass_kg": body.modes.body_mass_kg,
        "method": body.modes.source,
        "wanted": wanted_data(
            float(body.basis.freq_hz[0]), loaded.design.design.note, loaded.design.design.a4_hz
        ),
        "modes": modes_data(body, loaded.design.design.a4_hz),
        "warnings": [str(warning) for warning in loaded.warnings],
    }


def report_loop(
    path: Path, *, accuracy: Accuracy = "normal", progress: Callable[[str], None] | None = None
) -> dict[str, Any]:
    """Pickups, drivers, signal path and loop of a design file as plain data."""
    found = analyse(path, accuracy=accuracy, progress=progress)
    return {
        **origin(found.loaded.design_hash, accuracy),
        "name": found.loaded.design.design.name,
        **hearing_data(found),
        "loop": loop_data(found.loop, found.loaded.design.electronics.delay_s),
        "warnings": [str(warning) for warning in found.loaded.warnings],
    }


def hearing_data(found: Analysis) -> dict[str, Any]:
    """Operating point, pickups, drivers and signal path as plain data."""
    count, moves = found.shown_modes, found.hearing.moves_at_reference
    return {
        "operating_point": rest_data(found.hearing, found.loaded.design.design.a4_hz, count),
        "pickups": [pickup_data(pickup, moves, count) for pickup in found.hearing.pickups],
        "drivers": [driver_data(driver, moves, count) for driver in found.hearing.drivers],
        "signal_path": path_data(signal_path(found.loaded.design, found.hearing), count),
    }
