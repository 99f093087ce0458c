"""The instrument file: one family of notes, a scale, and everything that the notes share."""

from __future__ import annotations

import pathlib
import re
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from modewright.design.free_dimensions import free_faults
from modewright.design.load import LoadedDesign, load_design, located
from modewright.design.read import read_design
from modewright.design.source import parse_source, read_bytes
from modewright.errors import DesignError, Problem, Remark, SheetError
from modewright.instrument.base import MeasuredBase, RigidBase
from modewright.instrument.compass import Compass, compass_notes
from modewright.instrument.row import RowLayout
from modewright.instrument.scale import Scale
from modewright.instrument.shared import SharedElectronics
from modewright.instrument.sheet import BlankSheet
from modewright.parameters import Fault, quantity, section, text
from modewright.pitch import ISO_A4_HZ
from modewright.tune.settings import TuneSettings
from modewright.tune.targets import Pitch

if TYPE_CHECKING:
    from collections.abc import Iterable

    from modewright.design.lines import LineMap
    from modewright.instrument.base import Base
    from modewright.instrument.scale import ScaleNote

__all__ = [
    "FamilyFile",
    "InstrumentHeading",
    "InstrumentPlan",
    "LoadedPlan",
    "load_plan",
]

_TARGET = re.compile(r"tune\.targets\[(\d+)\]")


@dataclass(frozen=True, slots=True, kw_only=True)
class InstrumentHeading:
    """The ``[instrument]`` section."""

    name: str = text("Name of the instrument.", default="Untitled")
    a4_hz: float = quantity(
        "Hz", "Tuning reference: frequency of A4.", default=ISO_A4_HZ, above=0.0,
        plausible=(380.0, 500.0),
    )  # fmt: skip
    remarks: str = text("Anything the maker should know.", default="")


@dataclass(frozen=True, slots=True, kw_only=True)
class FamilyFile:
    """The ``[family]`` section: the design from which every note is made."""

    file: str = text("Design file of the first note; counts from the folder of this file.")


@dataclass(frozen=True, slots=True, kw_only=True)
class InstrumentPlan:
    """An instrument of many notes. Whatever is not free in ``[tune]`` is common to all."""

    instrument: InstrumentHeading = section(
        "What the instrument is called.", InstrumentHeading, default=InstrumentHeading()
    )
    family: FamilyFile = section("The design from which every note is made.", FamilyFile)
    scale: Scale = section("Where the degrees lie.", Scale)
    compass: Compass = section("Which degrees become notes, and what stays even.", Compass)
    tune: TuneSettings = section(
        "What may differ from note to note, and what every note should reach. A pitch without "
        "note and freq is that of the scale.",
        TuneSettings,
    )
    layout: RowLayout = section("How the notes stand on the base.", RowLayout, default=RowLayout())
    sheet: BlankSheet = section(
        "The sheet that all blanks are cut from.", BlankSheet, default=BlankSheet()
    )
    base: Base | None = section(
        "What all notes are clamped to; left out, nothing gives way.",
        RigidBase,
        MeasuredBase,
        default=None,
    )
    shared: SharedElectronics = section(
        "Electronics that all notes use.", SharedElectronics, default=SharedElectronics()
    )

    def problems(self) -> Iterable[Fault]:
        """Return notes that the scale lacks, a sheet that varies, and a pitch that is missing."""
        _, faults = compass_notes(self.compass, self.scale, self.instrument.a4_hz)
        for fault in faults:
            yield Fault(key=f"compass.{fault.key}", expected=fault.expected, got=fault.got)
        count = len(scale_pitches(self.tune))
        if count != 1:
            yield Fault(
                key="tune.targets",
                expected="one pitch without note and freq, which the scale gives",
                got=str(count),
            )
        for number, free in enumerate(self.tune.free, 1):
            if any(path.startswith("stock.") for path in (free.path, *free.alike)):
                yield Fault(
                    key=f"tune.free[{number}].path",
                    expected="something that may differ between blanks of one sheet",
                    got=f'"{free.path}"',
                )

    @property
    def notes(self) -> tuple[ScaleNote, ...]:
        """All notes, rising."""
        return compass_notes(self.compass, self.scale, self.instrument.a4_hz)[0]


def scale_pitches(settings: TuneSettings) -> list[Pitch]:
    """Targets that take their pitch from the scale."""
    return [
        target
        for target in settings.targets
        if isinstance(target, Pitch) and not target.note and target.freq_hz is None
    ]


@dataclass(frozen=True, slots=True, kw_only=True)
class LoadedPlan:
    """An instrument file with its family.

    Parameters
    ----------
    plan : InstrumentPlan
    family : LoadedDesign
        The design from which every note is made.
    file : str
        Path as the user gave it.
    lines : LineMap
        Where each key stands.
    warnings : tuple of Problem
        Implausible values, of either file.
    """

    plan: InstrumentPlan
    family: LoadedDesign
    file: str
    lines: LineMap
    warnings: tuple[Problem, ...]

    def located_mode(self, problem: Problem) -> Problem:
        """What is wrong with a mode that the plan names, with its key, file and line.

        Even modes follow the targets of the plan, as further targets.
        """
        found = _TARGET.match(problem.what)
        own = len(self.plan.tune.targets)
        if found is not None and int(found.group(1)) > own:
            problem = replace(problem, what=f"compass.even_modes[{int(found.group(1)) - own}]")
        return located(problem, self.file, self.lines)

    def located_sheet(self, error: SheetError) -> Remark:
        """What is wrong with the sheet, with file and line."""
        remark = Remark(key="sheet", text=str(error).removeprefix("sheet: "))
        return located(remark, self.file, self.lines)


def load_plan(path: pathlib.Path) -> LoadedPlan:
    """Read an instrument file and the design that it names.

    Parameters
    ----------
    path : path

    Returns
    -------
    LoadedPlan

    Raises
    ------
    DesignError
        With every problem found, of the instrument file first.
    """
    source = parse_source(read_bytes(path), str(path), path.parent, what="instrument")
    plan, findings = read_design(source, InstrumentPlan)
    if plan is None:
        raise DesignError(sorted(findings.problems, key=lambda problem: problem.line))
    family = load_design(path.parent / plan.family.file)
    faults = [
        Problem(what=fault.key, expected=fault.expected, got=fault.got, hint=fault.hint)
        for fault in free_faults(family.design, plan.tune)
    ]
    if faults:
        raise DesignError([located(fault, str(path), source.lines) for fault in faults])
    return LoadedPlan(
        plan=plan,
        family=family,
        file=str(path),
        lines=source.lines,
        warnings=(*findings.warnings, *family.warnings),
    )
