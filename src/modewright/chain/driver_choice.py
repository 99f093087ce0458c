"""Which driver for this note: each one alone with the same body, judged by one mode."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from modewright.chain.body import analyse_placed
from modewright.chain.hearing import operating_point_of
from modewright.chain.mode_places import mode_places
from modewright.chain.mode_traces import ModeTraces, mode_traces, recognise
from modewright.chain.places import place_design
from modewright.errors import BodyError, DesignError, ModewrightError, Remark, TransducerError
from modewright.loop.plant import reference_scale
from modewright.modes.address import ModeAddressError, mode_number
from modewright.transducers.electronics import CurrentAmplifier
from modewright.transducers.push import ModeAtPoint, push_on_mode

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from pathlib import Path

    from modewright.chain.body import Body
    from modewright.chain.mode_places import ModePlaces
    from modewright.design.schema import Design
    from modewright.modes.solid import Accuracy
    from modewright.transducers.electronics import Amplifier
    from modewright.transducers.operating_point import OperatingPoint
    from modewright.transducers.push import Push
    from modewright.transducers.registry import AnyDriver

__all__ = ["DriverChoice", "DriverVerdict", "choose_driver"]

_MODES = 12


@dataclass(frozen=True, slots=True, kw_only=True)
class DriverVerdict:
    """One driver on the body.

    Parameters
    ----------
    name, kind : str
    push : Push or None
        None if it cannot serve.
    cents : float
        By which it moves the mode, its mass included. [cents]
    q : float
        Of the mode with it, on the amplifier of the design.
    q_shorted : float
        The same with the driver closed by a voltage amplifier that rests.
    reason : str
        Why it cannot serve; empty if it can.
    """

    name: str
    kind: str
    push: Push | None = None
    cents: float = 0.0
    q: float = 0.0
    q_shorted: float = 0.0
    reason: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class DriverChoice:
    """All drivers on one mode of a body.

    Parameters
    ----------
    mode : int
        Number of the mode of the body without driver, 1 being the lowest.
    label : str
    freq_hz : float
        Without driver. [Hz]
    q : float
        Without driver.
    level_m : float
        Amplitude at the reference point at which they are compared. [m]
    verdicts : tuple of DriverVerdict
    """

    mode: int
    label: str
    freq_hz: float
    q: float
    level_m: float
    verdicts: tuple[DriverVerdict, ...]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Bare:
    """The body without driver."""

    body: Body
    point: OperatingPoint
    places: ModePlaces

    def traces(self, body: Body, point: OperatingPoint) -> ModeTraces:
        """Modes of a body that differs by its driver alone, at the same places."""
        return ModeTraces(
            shapes=mode_traces(self.places, self.body.blank, point.basis.shapes),
            freq_hz=point.basis.freq_hz,
            error_cents=body.modes.error_cents,
        )


def choose_driver(
    design: Design,
    folder: Path,
    candidates: Sequence[tuple[AnyDriver, Amplifier]],
    *,
    mode: int | str = 1,
    level_m: float,
    accuracy: Accuracy = "normal",
    progress: Callable[[str], None] | None = None,
) -> DriverChoice:
    """Put drivers under a body, one at a time.

    Parameters
    ----------
    design : Design
        Its own drivers do not count; pickups stay.
    folder : Path
        Folder of the design file.
    candidates : sequence of (driver, amplifier)
        Each with the amplifier that feeds it.
    mode : int or str
        Number or label of the mode, in the body without driver.
    level_m : float
        Amplitude at the reference point, > 0. [m]
    accuracy : {"draft", "normal", "fine"}
    progress : callable, optional
        Told what is being done.

    Returns
    -------
    DriverChoice
        A driver that does not suit the body is told with its reason.

    Raises
    ------
    ModewrightError
        If the body without driver cannot be, or has no such mode.
    """
    placed = place_design(replace(design, drivers=()), folder)
    body = analyse_placed(placed, count=_MODES, accuracy=accuracy, progress=progress)
    bare = _Bare(
        body=body,
        point=operating_point_of(placed.design, body),
        places=mode_places(placed),
    )
    basis = bare.point.basis
    try:
        number = mode_number(mode, basis.labels)
    except ModeAddressError as error:
        raise TransducerError(
            f"mode: expected {error.expected}, got {mode}.", hint=error.hint
        ) from error
    verdicts: list[DriverVerdict] = []
    for driver, amplifier in candidates:
        if progress is not None:
            progress(f"driver {driver.name}")
        electronics = replace(design.electronics, amplifier=amplifier)
        alone = replace(design, drivers=(driver,), electronics=electronics)
        try:
            verdict = _verdict(alone, folder, bare, number, level_m, accuracy)
        except ModewrightError as error:
            verdict = DriverVerdict(name=driver.name, kind=driver.kind, reason=_reason(error))
        verdicts.append(verdict)
    return DriverChoice(
        mode=number,
        label=basis.labels[number - 1],
        freq_hz=float(basis.freq_hz[number - 1]),
        q=float(basis.q[number - 1]),
        level_m=level_m,
        verdicts=tuple(verdicts),
    )


def _verdict(
    design: Design, folder: Path, bare: _Bare, number: int, level_m: float, accuracy: Accuracy
) -> DriverVerdict:
    body = analyse_placed(place_design(design, folder), count=_MODES, accuracy=accuracy)
    point = operating_point_of(design, body)
    found = recognise(bare.traces(bare.body, bare.point), bare.traces(body, point))
    doubt = found.doubt([number - 1])
    driver, action, basis = body.drivers[0], point.driver_actions[0], point.basis
    if doubt:
        raise TransducerError(
            f"{driver.name}: expected a driver that leaves the mode what it is, got one with "
            f"which {doubt}.",
            hint="Take a lighter or softer one, or one nearer the root.",
        )
    index = int(found.pairs[number - 1])
    reference = float(reference_scale(basis, bare.body.reference.point_m)[index])
    omega = float(basis.omega_rad_s[index])
    push = push_on_mode(
        driver,
        action,
        design.electronics.amplifier,
        ModeAtPoint(
            freq_hz=float(basis.freq_hz[index]),
            damping_ratio=float(basis.damping_ratio[index]),
            stiffness_n_per_m=(omega / reference) ** 2,
        ),
        float(action.force_per_drive[index]) / reference,
        level_m,
    )
    before = bare.point.basis
    return DriverVerdict(
        name=driver.name,
        kind=design.drivers[0].kind,
        push=push,
        cents=1200 * float(np.log2(basis.freq_hz[index] / before.freq_hz[number - 1])),
        q=float(basis.q[index]),
        q_shorted=_shorted_q(point, index, design.electronics.amplifier),
    )


def _reason(error: ModewrightError) -> str:
    """What is wrong, without the key of a design that holds this driver alone."""
    if not isinstance(error, BodyError | DesignError):
        return str(error)
    return " ".join(
        p.text if isinstance(p, Remark) else str(replace(p, key="")) for p in error.problems
    )


def _shorted_q(point: OperatingPoint, index: int, amplifier: Amplifier) -> float:
    """Q with what motion drives through the driver, added where the amplifier kept it out."""
    basis = point.basis
    q = float(basis.q[index])
    if not isinstance(amplifier, CurrentAmplifier):
        return q
    back = point.driver_actions[0].reactions(basis.freq_hz, is_closed=True)["back-EMF"]
    return 1 / (1 / q + float(back[index, index].imag / basis.omega_rad_s[index] ** 2))
