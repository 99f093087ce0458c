"""A sweep that is read back if the same bodies were followed before."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Literal, cast

import numpy as np

from modewright.cache import fingerprint, keep_arrays, kept_arrays
from modewright.chain.places import place_design
from modewright.chain.sweep import Sweep, sweep_number
from modewright.design.address import check_design, find_number, replaced
from modewright.materials.choice import chosen_material
from modewright.modes.approaches import Approach
from modewright.modes.solid import REVISION

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from pathlib import Path

    from numpy.typing import NDArray

    from modewright.design.schema import Design
    from modewright.modes.solid import Accuracy

__all__ = ["kept_sweep"]

_KIND = "sweep"
# Raised whenever the same bodies would be followed differently.
_SWEEP_REVISION = 1


def kept_sweep(
    design: Design,
    folder: Path,
    text: str,
    values: Sequence[float],
    *,
    count: int = 8,
    accuracy: Accuracy = "draft",
    progress: Callable[[str], None] | None = None,
) -> Sweep:
    """Vary a number of a design and follow its modes, unless that was done before.

    Parameters, result and errors as for `modewright.chain.sweep.sweep_number`.
    """
    key = fingerprint(
        [_body_key(replaced(design, text, value), folder) for value in values],
        (text, tuple(values), count, accuracy, REVISION, _SWEEP_REVISION),
    )
    kept = kept_arrays(_KIND, key)
    if kept is not None:
        return _unpacked(kept, design, text)
    found = sweep_number(
        design, folder, text, values, count=count, accuracy=accuracy, progress=progress
    )
    keep_arrays(_KIND, key, _packed(found))
    return found


def _body_key(design: Design, folder: Path) -> str:
    check_design(design)
    placed = place_design(design, folder)
    return fingerprint(placed.blank, chosen_material(placed.design.material))


def _packed(found: Sweep) -> dict[str, NDArray[Any]]:
    met = found.approaches
    return {
        "values": found.values,
        "labels": np.array(found.labels, dtype=np.str_),
        "freq_hz": found.freq_hz,
        "assurance": found.assurance,
        "met_kinds": np.array([one.kind for one in met], dtype=np.str_),
        "met_modes": np.array([one.modes for one in met], dtype=np.int64).reshape(-1, 2),
        "met_figures": np.array(
            [(one.value, one.freq_hz, one.gap_cents, one.exchange) for one in met]
        ).reshape(-1, 4),
    }


def _unpacked(kept: dict[str, NDArray[Any]], design: Design, text: str) -> Sweep:
    met = zip(kept["met_kinds"], kept["met_modes"], kept["met_figures"], strict=True)
    return Sweep(
        address=find_number(design, text),
        values=kept["values"],
        labels=tuple(str(label) for label in kept["labels"]),
        freq_hz=kept["freq_hz"],
        assurance=kept["assurance"],
        approaches=tuple(
            Approach(
                modes=(int(modes[0]), int(modes[1])),
                kind=cast("Literal['crossing', 'veering']", str(kind)),
                value=float(figures[0]),
                freq_hz=float(figures[1]),
                gap_cents=float(figures[2]),
                exchange=float(figures[3]),
            )
            for kind, modes, figures in met
        ),
    )
