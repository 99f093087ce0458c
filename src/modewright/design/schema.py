"""The design: every section of the file, composed from the packages whose physics they describe."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from modewright.loop.settings import LoopSettings
from modewright.losses.settings import LossSettings
from modewright.materials.choice import MaterialChoice
from modewright.parameters import Fault, quantity, section, text
from modewright.pitch import ISO_A4_HZ, NoteNameError, note_number
from modewright.sound.settings import ListeningSettings, StrikeSettings

if TYPE_CHECKING:
    from collections.abc import Iterable

__all__ = ["Design", "DesignHeading", "Stock"]


@dataclass(frozen=True, slots=True, kw_only=True)
class DesignHeading:
    """The ``[design]`` section: what the body is called and which note it should sound."""

    name: str = text("Name of the design, for the dossier and the drawings.", default="Untitled")
    note: str = text(
        'Note that the lowest mode should sound, such as "G3"; empty for none.', default=""
    )
    a4_hz: float = quantity(
        "Hz",
        "Tuning reference: frequency of A4.",
        default=ISO_A4_HZ,
        above=0.0,
        plausible=(380.0, 500.0),
    )
    remarks: str = text("Anything the maker should know; printed in the dossier.", default="")

    def problems(self) -> Iterable[Fault]:
        """Return what is wrong with the note."""
        if self.note:
            try:
                note_number(self.note)
            except NoteNameError as error:
                yield Fault(
                    key="note", expected=error.expected, got=f'"{error.got}"', hint=error.hint
                )


@dataclass(frozen=True, slots=True, kw_only=True)
class Stock:
    """The ``[stock]`` section: the sheet that the blank is cut from."""

    thickness_m: float = quantity(
        "m", "Thickness of the sheet.", show="mm", above=0.0, plausible=(1e-4, 1e-2)
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Design:
    """One resonator with everything that drives it, listens to it and treats its modes."""

    design: DesignHeading = section("Name and note.", DesignHeading, default=DesignHeading())
    material: MaterialChoice = section("The metal.", MaterialChoice)
    stock: Stock = section("The sheet that the blank is cut from.", Stock)
    losses: LossSettings = section(
        "What takes energy out of the modes.", LossSettings, default=LossSettings()
    )
    loop: LoopSettings = section(
        "How the feedback treats the modes.", LoopSettings, default=LoopSettings()
    )
    strike: StrikeSettings = section(
        "Where and how the body is struck.", StrikeSettings, default=StrikeSettings()
    )
    listening: ListeningSettings = section(
        "How the pickup's voltage becomes a sound file.",
        ListeningSettings,
        default=ListeningSettings(),
    )
