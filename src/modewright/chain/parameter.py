"""A number of a design as a parameter of its body: the design a little below and above it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from modewright.cache import fingerprint
from modewright.chain.places import place_design
from modewright.design.address import find_number, numbers_of, replaced
from modewright.design.read import section_keys
from modewright.design.values import broken_limit
from modewright.errors import DesignError, ModewrightError, Problem
from modewright.geometry.measures import bounding_box_m
from modewright.materials.choice import MaterialChoice, chosen_material
from modewright.materials.model import expansion_freq_ratio
from modewright.materials.table import material_named
from modewright.modes.body_change import BodyChange

if TYPE_CHECKING:
    from pathlib import Path

    from modewright.chain.places import PlacedDesign
    from modewright.design.address import Address
    from modewright.design.schema import Design
    from modewright.materials.model import Sourced

__all__ = ["Parameter", "Unfit", "body_parameters", "number_value", "parameter_at"]

# Of the value: small against what curves, large against round-off.
_STEP_SHARE = 5e-5
# Places near zero move by a share of the body.
_LEAST_SHARE = 1e-2
_BODY_SECTIONS = ("material", "stock", "resonator", "features", "support", "drivers")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Parameter:
    """One number of a design, and what it does.

    Parameters
    ----------
    address : Address
    value : float
        In SI units; that of the table for a constant of the material that is not entered.
    lower, upper : PlacedDesign
        Designs around it; one of them is the design itself where the other makes no body.
    change : BodyChange
    growth_rate : float
        Relative change of all frequencies with the growth of the body by heat. [1/unit]
    """

    address: Address
    value: float
    lower: PlacedDesign
    upper: PlacedDesign
    change: BodyChange
    growth_rate: float

    @property
    def acts_on_body(self) -> bool:
        """Whether the undamped modes depend on it at all."""
        if self.growth_rate != 0:
            return True
        change = self.change
        below = fingerprint(change.lower, change.lower_material)
        return below != fingerprint(change.upper, change.upper_material)


@dataclass(frozen=True, slots=True, kw_only=True)
class Unfit:
    """A number by which there is no derivative, and why."""

    address: Address
    reason: str


def parameter_at(design: Design, folder: Path, text: str) -> Parameter:
    """Parameter at an address.

    Parameters
    ----------
    design : Design
    folder : Path
        Folder of the design file.
    text : str
        Such as ``resonator.arms[2].length``.

    Returns
    -------
    Parameter

    Raises
    ------
    DesignError
        If there is no such number or it is not given.
    ModewrightError
        If the design makes no body.
    """
    address = find_number(design, text)
    value = number_value(design, address)
    if value is None:
        fault = Problem(
            what=address.text,
            expected="a number that the design gives",
            got="nothing",
            hint="Write it into the design file.",
        )
        raise DesignError([fault])
    return _parameter(design, folder, address, value)


def body_parameters(
    design: Design, folder: Path
) -> tuple[tuple[Parameter, ...], tuple[Unfit, ...]]:
    """All numbers on which the undamped modes of a design depend.

    Parameters
    ----------
    design : Design
    folder : Path
        Folder of the design file.

    Returns
    -------
    tuple of Parameter
        In the order of the file.
    tuple of Unfit
        Numbers of the body that cannot change by a little, such as a rounding that just fits.
    """
    found: list[Parameter] = []
    unfit: list[Unfit] = []
    for address in numbers_of(design):
        value = number_value(design, address)
        if value is None or address.path[0] not in _BODY_SECTIONS:
            continue
        try:
            candidate = _parameter(design, folder, address, value)
        except (ModewrightError, ValueError) as error:
            unfit.append(Unfit(address=address, reason=str(error)))
            continue
        if candidate.acts_on_body:
            found.append(candidate)
    return tuple(found), tuple(unfit)


def number_value(design: Design, address: Address) -> float | None:
    """Value of a number; constants of the material come from the table if not entered."""
    if address.value is not None or address.path[0] != "material":
        return address.value
    field, _ = section_keys(MaterialChoice)[str(address.path[1])]
    constant: Sourced = getattr(material_named(design.material.name), field.name)
    return constant.value


def _parameter(design: Design, folder: Path, address: Address, value: float) -> Parameter:
    here = place_design(design, folder)
    step = _step(here, address, value)

    def placed_at(moved: float) -> PlacedDesign | None:
        if broken_limit(moved, address.spec):
            return None
        try:
            return place_design(replaced(design, address.text, moved), folder)
        except (ModewrightError, ValueError):
            return None

    lower, upper = placed_at(value - step), placed_at(value + step)
    span = 2 * step if lower is not None and upper is not None else step
    lower, upper = here if lower is None else lower, here if upper is None else upper
    below, above = (chosen_material(placed.design.material) for placed in (lower, upper))
    growth = [np.log(expansion_freq_ratio(m, m.temperature_k)) for m in (below, above)]
    return Parameter(
        address=address,
        value=value,
        lower=lower,
        upper=upper,
        change=BodyChange(
            lower=lower.blank,
            upper=upper.blank,
            lower_material=below.solid,
            upper_material=above.solid,
            step=span / 2,
        ),
        growth_rate=float(growth[1] - growth[0]) / span,
    )


def _step(here: PlacedDesign, address: Address, value: float) -> float:
    """A small step of a number."""
    least = 0.0
    if address.spec.unit == "m":
        low, high = bounding_box_m(here.blank.outline.outer)
        least = _LEAST_SHARE * float((high - low).max())
    size = max(abs(value), least)
    if size == 0:
        raise DesignError(
            [
                Problem(
                    what=address.text,
                    expected="a number other than 0",
                    got=address.shown(value),
                    hint="What is not there cannot change by a little.",
                )
            ]
        )
    return _STEP_SHARE * size
