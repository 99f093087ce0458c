"""A file of drivers to choose from, for a body that stands in a design of its own."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from modewright.design.read import read_design
from modewright.design.source import parse_source, read_bytes
from modewright.errors import DesignError
from modewright.parameters import section, sections
from modewright.transducers.electronics import CurrentAmplifier, VoltageAmplifier
from modewright.transducers.registry import DRIVERS

if TYPE_CHECKING:
    import pathlib

    from modewright.transducers.electronics import Amplifier
    from modewright.transducers.registry import AnyDriver

__all__ = ["DriverChoices", "load_driver_choices"]


@dataclass(frozen=True, slots=True, kw_only=True)
class DriverChoices:
    """Drivers, each of which could stand under the same body."""

    drivers: tuple[AnyDriver, ...] = sections("A driver to choose from.", *DRIVERS, default=())
    amplifier: Amplifier | None = section(
        "Amplifier of these drivers, where that of the design does not suit them.",
        VoltageAmplifier,
        CurrentAmplifier,
        default=None,
    )


def load_driver_choices(path: pathlib.Path) -> DriverChoices:
    """Read a file that holds nothing but ``[[drivers]]``, as in a design file, and ``[amplifier]``.

    Parameters
    ----------
    path : Path
        TOML file.

    Returns
    -------
    DriverChoices

    Raises
    ------
    DesignError
        With every problem of the file.
    """
    source = parse_source(read_bytes(path), str(path), path.parent)
    choices, findings = read_design(source, DriverChoices)
    if choices is None:
        doubts = [replace(w, hint=f"{w.hint} (A warning.)".strip()) for w in findings.warnings]
        raise DesignError(sorted([*findings.problems, *doubts], key=lambda found: found.line))
    return choices
