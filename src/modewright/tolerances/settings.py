"""The ``[spread]`` section of a design: tolerances, limits, trimming and how to sample."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from modewright.parameters import Fault, choice, count, quantity, section, sections, text, texts
from modewright.tolerances.draws import DISTRIBUTIONS
from modewright.tolerances.strip_thickness import STRIP_CLASSES
from modewright.tolerances.warmth import Warmth

if TYPE_CHECKING:
    from collections.abc import Iterable

__all__ = [
    "Amount",
    "Limit",
    "MarginLimit",
    "MaterialSpread",
    "PitchLimit",
    "RatioLimit",
    "SensitivityLimit",
    "SpreadSettings",
    "StripThickness",
    "Tolerance",
]

_DISTRIBUTION_DOC = (
    "How values lie within the limits; `normal` takes the limits for two standard deviations."
)
_BATCH_DOC = "Share of the variance that all pieces of a batch have in common."


@dataclass(frozen=True, slots=True, kw_only=True)
class Amount:
    """Numbers of the design that may be off by an amount, all together."""

    kind: ClassVar[str] = "amount"

    name: str = text("What it is called in tables.")
    paths: tuple[str, ...] = texts('Numbers that grow with it, such as "resonator.arms[1].width".')
    opposed: tuple[str, ...] = texts("Numbers that shrink as those grow.", default=())
    plus_minus: str = text('Largest deviation: "0.02 mm", or a share of each value, "5 %".')
    distribution: str = choice(_DISTRIBUTION_DOC, DISTRIBUTIONS, default="uniform")
    batch_share: float = quantity("1", _BATCH_DOC, default=0.0, at_least=0.0, at_most=1.0)
    source: str = text("Where the figure comes from.")

    def problems(self) -> Iterable[Fault]:
        """Return the fault of a tolerance of nothing."""
        if not self.paths:
            yield Fault(key="paths", expected="at least one number", got="none")


@dataclass(frozen=True, slots=True, kw_only=True)
class StripThickness:
    """Thickness of a cold-rolled stainless narrow strip within the limits of ISO 9445."""

    kind: ClassVar[str] = "strip thickness"

    grade: str = choice("Class of the tolerance.", STRIP_CLASSES, default="normal")
    distribution: str = choice(_DISTRIBUTION_DOC, DISTRIBUTIONS, default="uniform")
    batch_share: float = quantity("1", _BATCH_DOC, default=0.8, at_least=0.0, at_most=1.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class MaterialSpread:
    """A constant of the metal within what the table of materials says of sheets and batches."""

    kind: ClassVar[str] = "material spread"

    constant: str = choice(
        "Which one.", ("youngs_modulus", "density", "poisson_ratio"), default="youngs_modulus"
    )
    distribution: str = choice(_DISTRIBUTION_DOC, DISTRIBUTIONS, default="uniform")
    batch_share: float = quantity("1", _BATCH_DOC, default=1.0, at_least=0.0, at_most=1.0)


Tolerance = Amount | StripThickness | MaterialSpread


@dataclass(frozen=True, slots=True, kw_only=True)
class PitchLimit:
    """A mode keeps the pitch it has in the design, whatever note that is."""

    kind: ClassVar[str] = "pitch"

    mode: int = count("Number of the mode.", default=1, at_least=1)
    within_cents: float = quantity(
        "cents",
        "How far it may be off its frequency in the design as it is, not off the note.",
        above=0.0,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class RatioLimit:
    """The interval between two modes stays what it is."""

    kind: ClassVar[str] = "ratio"

    mode: int = count("Number of one mode.", at_least=1)
    above: int = count("Number of the other.", default=1, at_least=1)
    within_cents: float = quantity("cents", "How far it may be off.", above=0.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class SensitivityLimit:
    """The pickup hears a mode as well as it should."""

    kind: ClassVar[str] = "sensitivity"

    mode: int = count("Number of the mode.", default=1, at_least=1)
    within_db: float = quantity("dB", "How far it may be off.", above=0.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class MarginLimit:
    """The loop, designed for the modes that the piece has, keeps its margins."""

    kind: ClassVar[str] = "margins"

    least_gain_db: float = quantity("dB", "Least gain margin.", default=6.0, at_least=0.0)
    least_phase_deg: float = quantity("deg", "Least phase margin.", default=30.0, at_least=0.0)


Limit = PitchLimit | RatioLimit | SensitivityLimit | MarginLimit


@dataclass(frozen=True, slots=True, kw_only=True)
class SpreadSettings:
    """Tolerances of the made piece and what is asked of it."""

    tolerances: tuple[Tolerance, ...] = sections(
        "Something that comes out a little different each time.",
        Amount,
        StripThickness,
        MaterialSpread,
    )
    limits: tuple[Limit, ...] = sections(
        "What a good piece keeps to.",
        PitchLimit,
        RatioLimit,
        SensitivityLimit,
        MarginLimit,
        default=(),
    )
    modes: int = count("How many of the lowest modes to follow.", default=6, at_least=1, at_most=24)
    trim: str = text(
        "Number that is filed or ground until mode 1 has its pitch; empty for none.", default=""
    )
    trim_error_cents: float = quantity(
        "cents", "How far off pitch the trimming may leave a piece.", default=1.0, at_least=0.0
    )
    trim_distribution: str = choice(_DISTRIBUTION_DOC, DISTRIBUTIONS, default="normal")
    trim_source: str = text(
        "Where that comes from.",
        default="common practice: filed against a frequency counter",
    )
    warmth: Warmth = section(
        "The warmth of the room, and what it makes of the gaps.", Warmth, default=Warmth()
    )
    batch_size: int = count("Pieces in a batch.", default=20, at_least=2, at_most=1000)
    solved: int = count(
        "How many of the samples are solved in earnest, to check the others.",
        default=12,
        at_least=2,
        at_most=1000,
    )
    seed: int = count("Seed of the samples.", default=1, at_most=1_000_000)

    def problems(self) -> Iterable[Fault]:
        """Return lists that are empty and modes that are not followed."""
        if not self.tolerances:
            yield Fault(key="tolerances", expected="at least one such section", got="none")
        for number, limit in enumerate(self.limits, 1):
            numbers = () if isinstance(limit, MarginLimit) else (limit.mode,)
            numbers += (limit.above,) if isinstance(limit, RatioLimit) else ()
            if max(numbers, default=0) > self.modes:
                yield Fault(
                    key=f"limits[{number}].mode",
                    expected=f"a mode that is followed, 1 to {self.modes}",
                    got=str(max(numbers)),
                    hint="Raise spread.modes.",
                )
