"""The design: every section of the file, composed from the packages whose physics they describe."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from modewright.design.driver_choice_settings import DriverChoiceSettings
from modewright.design.free_dimensions import free_faults
from modewright.design.suggest import did_you_mean, listed
from modewright.electrodes.settings import ElectrodeSettings
from modewright.fabrication.board.settings import BoardSettings
from modewright.geometry.families.registry import FAMILIES
from modewright.geometry.features.registry import FEATURES
from modewright.geometry.support import SUPPORTS
from modewright.loop.settings import LoopSettings
from modewright.losses.settings import LossSettings
from modewright.materials.choice import MaterialChoice
from modewright.parameters import Fault, point, quantity, section, sections, text
from modewright.pitch import ISO_A4_HZ, NoteNameError, note_number
from modewright.sound.settings import ListeningSettings, StrikeSettings
from modewright.tolerances.settings import SpreadSettings
from modewright.transducers.bias_supply import BiasSupply
from modewright.transducers.electronics import Electronics
from modewright.transducers.registry import DRIVERS, PICKUPS
from modewright.transducers.surroundings import Surroundings
from modewright.tune.settings import TuneSettings
from modewright.tune.targets import Pitch

if TYPE_CHECKING:
    from collections.abc import Iterable

    from modewright.geometry.features.parts import Feature
    from modewright.geometry.sketch import Family
    from modewright.geometry.support import Support
    from modewright.transducers.capacitive_pickup import CapacitivePickup
    from modewright.transducers.registry import AnyDriver

__all__ = ["Design", "DesignHeading", "ReferencePoint", "Stock"]


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
        "m", "Thickness of the sheet.", show="mm", above=0.0, plausible=(1e-4, 4e-2)
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class ReferencePoint:
    """The ``[reference_point]`` section: where modal mass, levels and sensitivity are told.

    A named point of the family, or a place of one's own.
    """

    name: str = text(
        'Named point, such as "arm 2 tip"; empty for the first of the family.', default=""
    )
    point_m: tuple[float, float] | None = point(
        "Place on the sheet, if none is named.", default=None
    )

    def problems(self) -> Iterable[Fault]:
        """Return the fault of a point given twice."""
        if self.name and self.point_m is not None:
            yield Fault(
                key="point", expected="a name or a point", got="both", hint="Leave one of them out."
            )


@dataclass(frozen=True, slots=True, kw_only=True)
class Design:
    """One resonator with everything that drives it, listens to it and treats its modes."""

    design: DesignHeading = section(
        "What the body is called and which note it should sound.",
        DesignHeading,
        default=DesignHeading(),
    )
    material: MaterialChoice = section("The metal.", MaterialChoice)
    stock: Stock = section("The sheet that the blank is cut from.", Stock)
    resonator: Family = section("The shape of the body, by family.", *FAMILIES)
    features: tuple[Feature, ...] = sections(
        "A hole, a thinned region or a mass on the sheet.", *FEATURES, default=()
    )
    support: Support = section("How the body is held.", *SUPPORTS)
    reference_point: ReferencePoint = section(
        "Place to which modal mass, levels and sensitivity refer.",
        ReferencePoint,
        default=ReferencePoint(),
    )
    pickups: tuple[CapacitivePickup, ...] = sections(
        "A pickup under the sheet.", *PICKUPS, default=()
    )
    drivers: tuple[AnyDriver, ...] = sections(
        "A driver that acts on the sheet.", *DRIVERS, default=()
    )
    driver_choice: DriverChoiceSettings | None = section(
        "Drivers to choose from, for `modewright drivers`.", DriverChoiceSettings, default=None
    )
    board: BoardSettings = section(
        "The printed board that carries the plates.", BoardSettings, default=BoardSettings()
    )
    bias_supply: BiasSupply = section(
        "The supply behind the bias voltage, for the safety page.",
        BiasSupply,
        default=BiasSupply(),
    )
    electronics: Electronics = section(
        "Converters, computing time and power amplifier.", Electronics, default=Electronics()
    )
    surroundings: Surroundings | None = section(
        "Mains, ripple and stray coupling at the pickups; not judged if left out.",
        Surroundings,
        default=None,
    )
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
        "How the voltage of the pickup becomes a sound file.",
        ListeningSettings,
        default=ListeningSettings(),
    )
    tune: TuneSettings | None = section(
        "What `modewright tune` may change, and what it should reach.", TuneSettings, default=None
    )
    electrodes: ElectrodeSettings | None = section(
        "Modes that shaped plates should hear and reject, for `modewright electrodes`.",
        ElectrodeSettings,
        default=None,
    )
    spread: SpreadSettings | None = section(
        "How far the made piece may be off, for `modewright spread`.", SpreadSettings, default=None
    )

    def problems(self) -> Iterable[Fault]:
        """Return names that the loop uses and nothing bears."""
        chosen = (
            ("loop.pickup", "pickup", self.loop.pickup, self.pickups),
            ("loop.driver", "driver", self.loop.driver, self.drivers),
        )
        for key, kind, name, there in chosen:
            names = [entry.name for entry in there]
            if name and name not in names:
                yield Fault(
                    key=key,
                    expected=f"the name of a {kind}, {listed(names)}",
                    got=f'"{name}"',
                    hint=did_you_mean(name, names),
                )
        if self.tune is not None:
            yield from free_faults(self, self.tune)
            yield from self._missing_notes(self.tune)

    def _missing_notes(self, tune: TuneSettings) -> Iterable[Fault]:
        """Pitches for which neither target nor heading names a note."""
        for number, target in enumerate(tune.targets, 1):
            is_given = not isinstance(target, Pitch) or target.note or target.freq_hz is not None
            if not is_given and not self.design.note:
                yield Fault(
                    key=f"tune.targets[{number}].note",
                    expected="a note or freq here, or note in [design]",
                    got="none",
                )
