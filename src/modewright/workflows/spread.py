"""Tolerances and warmth of a design file."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from modewright.cache import cache_folder
from modewright.chain.places import check_places, located_faults
from modewright.design.load import load_design
from modewright.modes.solid import Accuracy
from modewright.report.plots.spread import spread_png
from modewright.report.spread_data import spread_data, spread_tables, temperature_data
from modewright.report.tables import origin
from modewright.studies.spread import spread_design
from modewright.studies.temperature import temperature_course
from modewright.workflows.files import write_bytes

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

__all__ = ["Accuracy", "report_spread", "spread_tables"]


def report_spread(
    path: Path,
    *,
    samples: int = 2000,
    scheduler: str = "processes",
    accuracy: Accuracy = "normal",
    picture: Path | None = None,
    progress: Callable[[str], None],
) -> dict[str, Any]:
    """Work out how far pieces of a design file are off.

    Parameters
    ----------
    path : Path
        Design file with a section ``[spread]``.
    samples : int
    scheduler : str
        As for `modewright.parallel.map_tasks`.
    accuracy : {"draft", "normal", "fine"}
    picture : Path, optional
        PNG file to write: pieces by pitch, and what their spread comes from.
    progress : callable
        Told what is being done.

    Returns
    -------
    dict
        As `modewright.report.spread_data.spread_data`, with ``temperature`` and ``warnings``.

    Raises
    ------
    ModewrightError
        If the design has no tolerances or cannot be worked out.
    """
    loaded = load_design(path)
    placed = check_places(loaded)
    with located_faults(loaded):
        found = spread_design(
            loaded.design,
            loaded.folder,
            samples=samples,
            scheduler=scheduler,
            accuracy=accuracy,
            progress=progress,
        )
        warmth = temperature_course(
            loaded.design,
            loaded.folder,
            modes=found.settings.modes,
            accuracy=accuracy,
            progress=progress,
        )
    data = spread_data(found)
    if picture is not None:
        causes = data["contributors"]
        content = spread_png(
            found.changes[:, 0],
            [cause["name"] for cause in causes],
            [cause["cents"] for cause in causes],
            (found.as_cut.share, found.as_trimmed.share),
        )
        write_bytes(picture, content)
    return {
        **origin(loaded.design_hash, accuracy),
        "name": loaded.design.design.name,
        **data,
        "temperature": temperature_data(warmth),
        "warnings": [
            *(str(warning) for warning in (*loaded.warnings, *placed.remarks)),
            *_damage(found.damaged),
        ],
    }


def _damage(count: int) -> list[str]:
    if count == 0:
        return []
    what = "One kept piece was" if count == 1 else f"{count} kept pieces were"
    return [f"{what} damaged in {cache_folder()} and solved anew."]
