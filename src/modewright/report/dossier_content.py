"""Everything that the dossier of one note shows."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from modewright.report.safety import SafetyFigure
    from modewright.report.text_tables import TextTable

__all__ = [
    "DossierContent",
    "DossierPictures",
    "ShownElectrodes",
    "ShownGap",
    "ShownSpread",
    "ShownSweep",
    "ShownTargets",
    "SoundEntry",
]

Data = dict[str, Any]


@dataclass(frozen=True, slots=True, kw_only=True)
class SoundEntry:
    """A rendered sound with what it shows; levels only if modes are treated."""

    name: str
    caption: str
    wav: bytes
    level_png: bytes | None
    spectrum_png: bytes


@dataclass(frozen=True, slots=True, kw_only=True)
class DossierPictures:
    """Every picture of the note itself, as bytes of files; None for those that need a loop."""

    drawing_svg: str
    plan_png: bytes
    animations: tuple[tuple[str, bytes], ...]
    losses_png: bytes
    path_png: bytes | None
    decay_png: bytes | None
    open_loop_png: bytes | None


@dataclass(frozen=True, slots=True, kw_only=True)
class ShownTargets:
    """The design as it stands against what ``[tune]`` wants.

    Parameters
    ----------
    data : dict
        From `modewright.report.standing_data.standing_data`.
    targets_png : bytes
    """

    data: Data
    targets_png: bytes


@dataclass(frozen=True, slots=True, kw_only=True)
class ShownSweep:
    """What one free dimension does over its range.

    Parameters
    ----------
    address, lowest, highest, here : str
        The number, its range and its value in the design.
    steps : int
    tables : tuple of TextTable
    sweep_png : bytes
    """

    address: str
    lowest: str
    highest: str
    here: str
    steps: int
    tables: tuple[TextTable, ...]
    sweep_png: bytes


@dataclass(frozen=True, slots=True, kw_only=True)
class ShownSpread:
    """What tolerances and warmth do to made pieces.

    Parameters
    ----------
    data : dict
        From `modewright.report.spread_data`, with ``temperature``.
    pieces_png, yields_png, warmth_png : bytes
    """

    data: Data
    pieces_png: bytes
    yields_png: bytes
    warmth_png: bytes


@dataclass(frozen=True, slots=True, kw_only=True)
class ShownGap:
    """What the gap of one pickup does to ring and signal.

    Parameters
    ----------
    data : dict
        From `modewright.report.gap_data`: ``course`` and ``choice``.
    chart_png : bytes
    """

    data: Data
    chart_png: bytes


@dataclass(frozen=True, slots=True, kw_only=True)
class ShownElectronics:
    """What stands around the pickup that feeds the loop.

    Parameters
    ----------
    data : dict
        From `modewright.report.electronics_data`: ``after_a_strike``, ``latency``,
        ``disturbances``.
    chart_png : bytes
    """

    data: Data
    chart_png: bytes


@dataclass(frozen=True, slots=True, kw_only=True)
class ShownElectrodes:
    """Plates shaped as `[electrodes]` asks for, which need not be those of the design.

    Parameters
    ----------
    data : dict
        From `modewright.report.electrode_data`, with ``name``.
    plates_png : bytes
    places_png : bytes or None
        None if the tried face fits nowhere.
    """

    data: Data
    plates_png: bytes
    places_png: bytes | None


@dataclass(frozen=True, slots=True, kw_only=True)
class ShownBoards:
    """Boards of a design, its parts and their wiring.

    Parameters
    ----------
    data : sequence of dict
        From `modewright.report.board_data.board_data`.
    drawings : sequence of (name, SVG)
    remarks : sequence of str
    parts : sequence of rows
        From `modewright.report.parts_list`.
    wiring_svg : str
    """

    data: Sequence[Data]
    drawings: Sequence[tuple[str, str]]
    remarks: Sequence[str]
    parts: Sequence[tuple[str, str, str, str, str]]
    wiring_svg: str


@dataclass(frozen=True, slots=True, kw_only=True)
class DossierContent:
    """What the chapters show.

    Parameters
    ----------
    modes, hearing, loop : dict
        From `modewright.report.tables`; no loop without pickup and driver.
    missing : mapping of str to str
        What the design lacks (``pickup``, ``driver``, ``treated mode``) and what to paste for it.
    remarks : str
        Of the design.
    pictures : DossierPictures
    targets, sweep, spread : ShownTargets, ShownSweep, ShownSpread, str or None
        A sentence if the design asks for it and it cannot be; None if it does not ask.
    driver_choice : dict, str or None
        From `modewright.report.driver_choice_data`, with ``name``; a sentence if
        they cannot be compared, None if the design does not ask.
    boards : ShownBoards, str or None
        A sentence if a board breaks a rule; None without a pickup.
    gaps : sequence of ShownGap
        One for each pickup whose gap may be varied.
    electrodes : ShownElectrodes, str or None
        A sentence if no plates do what is asked for; None if the design does not ask.
    electronics : ShownElectronics or None
        None without a loop.
    sounds : sequence of SoundEntry
    safety : sequence of SafetyFigure
    files : sequence of (name, what)
        What lies beside the page.
    """

    modes: Data
    hearing: Data
    loop: Data | None
    missing: Mapping[str, str]
    remarks: str
    pictures: DossierPictures
    targets: ShownTargets | str | None
    sweep: ShownSweep | str | None
    spread: ShownSpread | str | None
    driver_choice: Data | str | None
    boards: ShownBoards | str | None
    gaps: Sequence[ShownGap]
    electrodes: ShownElectrodes | str | None
    electronics: ShownElectronics | None
    sounds: Sequence[SoundEntry]
    safety: Sequence[SafetyFigure]
    files: Sequence[tuple[str, str]]
