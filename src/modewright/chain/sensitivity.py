"""What every dimension of a design does to its modes: cents, shapes, pickups and drivers."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from modewright.chain.body import body_of_modes, in_air
from modewright.chain.hearing import analyse_hearing
from modewright.chain.parameter import Unfit, body_parameters, parameter_at
from modewright.chain.places import place_design
from modewright.errors import GeometryError, SolveError
from modewright.materials.choice import chosen_material
from modewright.materials.model import expansion_freq_ratio
from modewright.modes.derivatives import check_change, frequency_derivatives
from modewright.modes.shape_derivatives import shape_derivatives
from modewright.modes.solid import solve_body

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from pathlib import Path

    from numpy.typing import NDArray

    from modewright.chain.body import Body
    from modewright.chain.hearing import Hearing
    from modewright.chain.parameter import Parameter
    from modewright.chain.places import PlacedDesign
    from modewright.design.schema import Design
    from modewright.modes.basis import Modes
    from modewright.modes.solid import Accuracy

__all__ = [
    "CouplingDerivatives",
    "FrequencySensitivity",
    "coupling_derivatives",
    "frequency_sensitivity",
]

_CENTS_PER_NEPER = 1200 / np.log(2)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FrequencySensitivity:
    """Derivatives of the frequencies of a body by numbers of its design.

    Parameters
    ----------
    modes : Modes
        Undamped, at the design's temperature.
    parameters : tuple of Parameter
    cents_per_unit : float array, shape (modes, parameters)
        [cents per SI unit of the number]
    unfit : tuple of Unfit
        Numbers that cannot change by a little.
    """

    modes: Modes
    parameters: tuple[Parameter, ...]
    cents_per_unit: NDArray[np.float64]
    unfit: tuple[Unfit, ...]


def frequency_sensitivity(
    design: Design,
    folder: Path,
    addresses: Sequence[str] | None = None,
    *,
    count: int = 12,
    accuracy: Accuracy = "normal",
    progress: Callable[[str], None] | None = None,
) -> FrequencySensitivity:
    """Find what numbers of a design do to the undamped frequencies.

    Parameters
    ----------
    design : Design
    folder : Path
        Folder of the design file.
    addresses : sequence of str, optional
        All numbers of the body if left out.
    count : int
        How many modes.
    accuracy : {"draft", "normal", "fine"}
    progress : callable, optional
        Told what is being done.

    Returns
    -------
    FrequencySensitivity

    Raises
    ------
    DesignError
        If an address names no number that is given.
    ModewrightError
        If the design makes no body, or a named number cannot change by a little.
    """
    placed = place_design(design, folder)
    material = chosen_material(design.material)
    modes, solution = solve_body(
        placed.blank, material.solid, count=count, accuracy=accuracy, progress=progress
    )
    if addresses is None:
        parameters, unfit = body_parameters(design, folder)
        fit: list[Parameter] = []
        for parameter in parameters:
            try:
                check_change(solution, parameter.change)
            except (GeometryError, SolveError) as error:
                unfit = (*unfit, Unfit(address=parameter.address, reason=str(error)))
            else:
                fit.append(parameter)
        parameters = tuple(fit)
    else:
        parameters = tuple(parameter_at(design, folder, text) for text in addresses)
        unfit = ()
    slopes = frequency_derivatives(solution, [p.change for p in parameters])
    growth = np.array([p.growth_rate for p in parameters])
    relative = slopes / modes.freq_hz[:, None] + growth
    grown = modes.with_freq(modes.freq_hz * expansion_freq_ratio(material, material.temperature_k))
    return FrequencySensitivity(
        modes=grown,
        parameters=parameters,
        cents_per_unit=_CENTS_PER_NEPER * relative,
        unfit=unfit,
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CouplingDerivatives:
    """What numbers of a design do to frequencies, shapes, pickups and drivers.

    All at the operating point, with bias and magnets acting, in the modes of `hearing`.

    Parameters
    ----------
    hearing : Hearing
        Of the design.
    parameters : tuple of Parameter
    freq_hz : float array, shape (modes, parameters)
        As biased. [Hz per unit]
    reference_per_sqrt_kg : float array, shape (modes, parameters)
        Shape at the reference point, which moves with the body. [1/sqrt(kg) per unit]
    volts_per_coordinate : float array, shape (pickups, modes, parameters)
        [V/(m sqrt(kg)) per unit]
    force_per_drive : float array, shape (drivers, modes, parameters)
        [N/(A sqrt(kg)) per unit]
    """

    hearing: Hearing
    parameters: tuple[Parameter, ...]
    freq_hz: NDArray[np.float64]
    reference_per_sqrt_kg: NDArray[np.float64]
    volts_per_coordinate: NDArray[np.float64]
    force_per_drive: NDArray[np.float64]


def coupling_derivatives(
    design: Design,
    folder: Path,
    addresses: Sequence[str],
    *,
    count: int = 12,
    accuracy: Accuracy = "normal",
    progress: Callable[[str], None] | None = None,
) -> CouplingDerivatives:
    """Find what numbers of a design do to its modes as pickups hear and drivers push them.

    Frequencies and shapes of the body follow by their exact derivatives; operating point, pickups
    and drivers are worked out a little below and a little above with them.

    Parameters, errors as for `frequency_sensitivity`.

    Returns
    -------
    CouplingDerivatives

    Notes
    -----
    Losses, and with them the mass of the air, are held fast: the widths of which they are made of
    change in steps when a dimension does. Air changes these figures by a thousandth at most.
    """
    placed = place_design(design, folder)
    solid = chosen_material(design.material).solid
    modes, solution = solve_body(
        placed.blank, solid, count=count, accuracy=accuracy, progress=progress
    )
    parameters = tuple(parameter_at(design, folder, text) for text in addresses)
    changes = [parameter.change for parameter in parameters]
    slopes = frequency_derivatives(solution, changes)
    shapes = shape_derivatives(solution, changes)
    body = body_of_modes(placed, modes)
    rates: list[tuple[NDArray[np.float64], ...]] = []
    for number, parameter in enumerate(parameters):
        step = parameter.change.step
        below, above = (
            _heard(
                side,
                replace(
                    modes,
                    freq_hz=modes.freq_hz + amount * slopes[:, number],
                    shapes=shapes.moved(number, amount),
                ),
                body,
            )
            for side, amount in ((parameter.lower, -step), (parameter.upper, step))
        )
        rates.append(_difference(below, above, step))
    freq, reference, volts, force = (np.stack(part, axis=-1) for part in zip(*rates, strict=True))
    return CouplingDerivatives(
        hearing=analyse_hearing(placed.design, body),
        parameters=parameters,
        freq_hz=freq,
        reference_per_sqrt_kg=reference,
        volts_per_coordinate=volts,
        force_per_drive=force,
    )


def _heard(placed: PlacedDesign, modes: Modes, before: Body) -> Hearing:
    """What is heard of a changed body in the air of another."""
    body = body_of_modes(placed, modes)
    return analyse_hearing(placed.design, replace(body, basis=in_air(body.modes, before.losses)))


def _difference(below: Hearing, above: Hearing, step: float) -> tuple[NDArray[np.float64], ...]:
    """Slopes of frequencies, reference, pickups and drivers."""
    low, high = (
        (
            hearing.operating_point.basis.freq_hz,
            hearing.reference_per_sqrt_kg,
            np.array([pickup.port.volts_per_coordinate for pickup in hearing.pickups]),
            np.array([driver.port.force_per_drive for driver in hearing.drivers]),
        )
        for hearing in (below, above)
    )
    return tuple((up - down) / (2 * step) for down, up in zip(low, high, strict=True))
