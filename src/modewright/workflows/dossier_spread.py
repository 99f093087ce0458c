"""What the dossier tells of made pieces and warm rooms."""

from __future__ import annotations

import json
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np

from modewright.cache import fingerprint, keep_arrays, kept_arrays, program_state
from modewright.chain.places import located_faults
from modewright.errors import DesignError, ModewrightError, PieceError
from modewright.report.dossier_content import ShownSpread
from modewright.report.plots.spread import spread_png
from modewright.report.plots.warmth import warmth_png
from modewright.report.plots.yields import yields_png
from modewright.report.spread_data import spread_data, temperature_data
from modewright.studies.spread import spread_design
from modewright.studies.temperature import temperature_course

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    from modewright.design.load import LoadedDesign
    from modewright.modes.solid import Accuracy
    from modewright.studies.spread import Spread
    from modewright.studies.temperature import TemperatureCourse

__all__ = ["shown_spread"]

# Pieces cost next to nothing: the bodies behind them are solved once, whatever their number.
_SAMPLES = 2000
_KELVIN_AT_0_C = 273.15
_KIND = "made_pieces"
_PICTURES = ("pieces_png", "yields_png", "warmth_png")


def shown_spread(
    loaded: LoadedDesign, accuracy: Accuracy, progress: Callable[[str], None]
) -> ShownSpread | str | None:
    """Draw pieces of a design and warm it.

    Parameters
    ----------
    loaded : LoadedDesign
    accuracy : {"draft", "normal", "fine"}
    progress : callable
        Told what is being done.

    Returns
    -------
    ShownSpread, str or None
        What to show, a sentence on why there is nothing to show, or None for a design without
        ``[spread]``.

    Raises
    ------
    DesignError
        If the section names what the design does not have.
    """
    if loaded.design.spread is None:
        return None
    key = fingerprint(loaded.design_hash, accuracy, _SAMPLES, program_state())
    kept = kept_arrays(_KIND, key)
    if kept is not None:
        progress("made pieces: as kept")
        return _from_arrays(kept)
    try:
        with located_faults(loaded):
            shown = _shown(loaded, accuracy, progress)
    except PieceError as error:
        faults = " ".join(str(replace(problem, file="", line=0)) for problem in error.problems)
        return f"The tolerances of [spread] could not be worked out. {faults}"
    except DesignError:
        raise
    except ModewrightError as error:
        return f"The tolerances of [spread] could not be worked out. {error}"
    keep_arrays(_KIND, key, _to_arrays(shown))
    return shown


def _to_arrays(shown: ShownSpread) -> dict[str, NDArray[Any]]:
    contents = {name: getattr(shown, name) for name in _PICTURES}
    contents["data"] = json.dumps(shown.data).encode()
    return {name: np.frombuffer(content, dtype=np.uint8) for name, content in contents.items()}


def _from_arrays(arrays: dict[str, NDArray[Any]]) -> ShownSpread:
    pictures = {name: arrays[name].tobytes() for name in _PICTURES}
    return ShownSpread(data=json.loads(arrays["data"].tobytes()), **pictures)


def _shown(
    loaded: LoadedDesign, accuracy: Accuracy, progress: Callable[[str], None]
) -> ShownSpread:
    design, folder = loaded.design, loaded.folder
    found = spread_design(design, folder, samples=_SAMPLES, accuracy=accuracy, progress=progress)
    warmth = temperature_course(
        design, folder, modes=found.settings.modes, accuracy=accuracy, progress=progress
    )
    data: dict[str, Any] = {**spread_data(found), "temperature": temperature_data(warmth)}
    causes = data["contributors"]
    return ShownSpread(
        data=data,
        pieces_png=spread_png(
            found.changes[:, 0],
            [cause["name"] for cause in causes],
            [cause["cents"] for cause in causes],
            (found.as_cut.share, found.as_trimmed.share),
        ),
        yields_png=_yields_png(found, [limit["what"] for limit in data["limits"]]),
        warmth_png=_warmth_png(warmth),
    )


def _yields_png(found: Spread, limits: list[str]) -> bytes:
    cut, trimmed = found.as_cut, found.as_trimmed
    return yields_png(
        [*limits, "all of them"],
        [*cut.by_limit, cut.share],
        [*trimmed.by_limit, trimmed.share] if found.settings.trim else None,
    )


def _warmth_png(warmth: TemperatureCourse) -> bytes:
    as_designed_hz = warmth.freq_hz - warmth.drift_hz
    return warmth_png(
        warmth.temperature_k - _KELVIN_AT_0_C,
        1200 * np.log2(warmth.freq_hz / as_designed_hz),
        warmth.drift_share,
    )
