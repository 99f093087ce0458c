"""What one voice of the real-time core is made of: all its coefficients, checked."""

from __future__ import annotations

from dataclasses import dataclass, field, fields
from typing import TYPE_CHECKING, Any

import numpy as np

from modewright.checks import check_finite, check_positive, check_shape, frozen_array
from modewright.loop.plant import LONGEST_DELAY_SAMPLES

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["ControlCurves", "VoiceProgram"]

_BODY = ("rotation", "drive_gain", "force_gain", "pickup_gain")
_OBSERVER = (
    "observer_rotation",
    "observer_drive_gain",
    "observer_pickup_gain",
    "correction",
    "predicted_correction",
)
_REGULATOR = (
    "target_m",
    "gain",
    "feedforward",
    "integral_gain",
    "integral_limit",
    "amp_limit",
    "silence_m",
)


def _no_sections() -> NDArray[np.float64]:
    return np.zeros((0, 6))


def _no_complex() -> NDArray[np.complex128]:
    return np.zeros(0, complex)


def _no_reals() -> NDArray[np.float64]:
    return np.zeros(0)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class VoiceProgram:
    """Coefficients of one voice; the symbols are those of docs/developer/engine.md.

    Complex gains act on complex modal states whose real part is the motion. Without observed and
    regulated modes the voice is a struck body that is listened to.

    Parameters
    ----------
    rotation, drive_gain, force_gain, pickup_gain : complex arrays, shape (modes,)
        λ, g, h and c of the body. [-], [m/command], [m/N], [V/m]
    quadratic_per_v, cubic_per_v2 : float
        n2 and n3 of the pickup. [1/V], [1/V²]
    full_scale_v : float
        Clipping voltage of the converter, above zero. [V]
    input_sections, output_sections : float arrays, shape (sections, 6)
        Rows b0, b1, b2, 1, a1, a2.
    delay_samples : int
        D, from 1 to `LONGEST_DELAY_SAMPLES`.
    command_limit : float
        Largest command, zero or more. [command unit]
    observer_rotation, observer_drive_gain, observer_pickup_gain : complex arrays, shape (observed,)
        λ̂, b̂ and ĉ. [-], [m/command], [V/m]
    correction, predicted_correction : complex arrays, shape (observed,)
        l and λ̂^D l. [m/V]
    target_m, gain, feedforward, integral_gain : float arrays, shape (regulated,)
        Wanted level, kp, kff and ki of the first observed modes, until curves say otherwise.
        [m], [command/m]
    integral_limit, amp_limit : float arrays, shape (regulated,)
        Limits of the integral and of the whole push, zero or more. [command]
    silence_m : float array, shape (regulated,)
        ε: level below which the direction of the push is no longer that of the motion; above
        zero. [m]
    steering : complex array, shape (regulated,)
        w. [-]

    Raises
    ------
    ValueError
        If a shape, sign or number is wrong; names the argument.
    """

    rotation: NDArray[np.complex128]
    drive_gain: NDArray[np.complex128]
    force_gain: NDArray[np.complex128]
    pickup_gain: NDArray[np.complex128]
    quadratic_per_v: float = 0.0
    cubic_per_v2: float = 0.0
    full_scale_v: float
    input_sections: NDArray[np.float64] = field(default_factory=_no_sections)
    output_sections: NDArray[np.float64] = field(default_factory=_no_sections)
    delay_samples: int = 1
    command_limit: float = 0.0
    observer_rotation: NDArray[np.complex128] = field(default_factory=_no_complex)
    observer_drive_gain: NDArray[np.complex128] = field(default_factory=_no_complex)
    observer_pickup_gain: NDArray[np.complex128] = field(default_factory=_no_complex)
    correction: NDArray[np.complex128] = field(default_factory=_no_complex)
    predicted_correction: NDArray[np.complex128] = field(default_factory=_no_complex)
    target_m: NDArray[np.float64] = field(default_factory=_no_reals)
    gain: NDArray[np.float64] = field(default_factory=_no_reals)
    feedforward: NDArray[np.float64] = field(default_factory=_no_reals)
    integral_gain: NDArray[np.float64] = field(default_factory=_no_reals)
    integral_limit: NDArray[np.float64] = field(default_factory=_no_reals)
    amp_limit: NDArray[np.float64] = field(default_factory=_no_reals)
    silence_m: NDArray[np.float64] = field(default_factory=_no_reals)
    steering: NDArray[np.complex128] = field(default_factory=_no_complex)

    def __post_init__(self) -> None:
        _freeze(self, _BODY + _OBSERVER + ("steering",), complex)
        _freeze(self, (*_REGULATOR, "input_sections", "output_sections"), float)
        _check_group(self, _BODY, self.mode_count)
        _check_group(self, _OBSERVER, self.observed_count)
        _check_group(self, (*_REGULATOR, "steering"), self.regulated_count)
        _check_numbers(
            self,
            (
                "quadratic_per_v",
                "cubic_per_v2",
                "command_limit",
                "input_sections",
                "output_sections",
            ),
        )
        for name in ("input_sections", "output_sections"):
            check_shape(getattr(self, name), name, (None, 6))
            if not np.all(getattr(self, name)[:, 3] == 1):
                raise ValueError(f"{name}: expected a0 = 1 in every row")
        check_positive(self.silence_m, "silence_m")
        check_positive(np.array(self.full_scale_v), "full_scale_v")
        for name in ("command_limit", "integral_limit", "amp_limit"):
            if not np.all(np.asarray(getattr(self, name)) >= 0):
                raise ValueError(f"{name}: expected zero or more, got {getattr(self, name)}")
        if self.regulated_count > self.observed_count:
            raise ValueError(
                f"target_m: expected at most the {self.observed_count} observed modes, got "
                f"{self.regulated_count}"
            )
        if not 1 <= self.delay_samples <= LONGEST_DELAY_SAMPLES:
            raise ValueError(
                f"delay_samples: expected 1 to {LONGEST_DELAY_SAMPLES}, got {self.delay_samples}"
            )

    @property
    def mode_count(self) -> int:
        """Number of modes of the body."""
        return len(self.rotation)

    @property
    def observed_count(self) -> int:
        """Number of modes that the observer models."""
        return len(self.observer_rotation)

    @property
    def regulated_count(self) -> int:
        """Number of modes with a level regulator."""
        return len(self.target_m)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ControlCurves:
    """How the regulators of one voice are to behave, control block by control block.

    Targets and gains are given at the block edges and run straight between them; the others hold
    from the start of a block.

    Parameters
    ----------
    target_m, gain : float arrays, shape (blocks + 1, regulated)
        [m], [command/m]
    feedforward, integral_gain : float arrays, shape (blocks, regulated)
        [command/m]
    steering : complex array, shape (blocks, regulated)
        w. [-]
    """

    target_m: NDArray[np.float64]
    gain: NDArray[np.float64]
    feedforward: NDArray[np.float64]
    integral_gain: NDArray[np.float64]
    steering: NDArray[np.complex128]

    def __post_init__(self) -> None:
        _freeze(self, ("target_m", "gain", "feedforward", "integral_gain"), float)
        _freeze(self, ("steering",), complex)
        check_shape(self.target_m, "target_m", (None, None))
        edges, regulated = self.target_m.shape
        for item in fields(self):
            rows = edges if item.name in ("target_m", "gain") else edges - 1
            check_shape(getattr(self, item.name), item.name, (rows, regulated))
        _check_numbers(self, tuple(item.name for item in fields(self)))

    @classmethod
    def steady(cls, program: VoiceProgram, blocks: int) -> ControlCurves:
        """Curves that leave the program as it is for a number of blocks."""

        def repeat(values: NDArray[Any], rows: int) -> NDArray[Any]:
            return np.broadcast_to(values, (rows, len(values)))

        return cls(
            target_m=repeat(program.target_m, blocks + 1),
            gain=repeat(program.gain, blocks + 1),
            feedforward=repeat(program.feedforward, blocks),
            integral_gain=repeat(program.integral_gain, blocks),
            steering=repeat(program.steering, blocks),
        )

    def between(self, first: int, last: int) -> ControlCurves:
        """Curves of the blocks from `first` up to but not including `last`."""
        return ControlCurves(
            target_m=self.target_m[first : last + 1],
            gain=self.gain[first : last + 1],
            feedforward=self.feedforward[first:last],
            integral_gain=self.integral_gain[first:last],
            steering=self.steering[first:last],
        )

    @property
    def block_count(self) -> int:
        """Number of control blocks."""
        return len(self.feedforward)


def _freeze(
    owner: VoiceProgram | ControlCurves, names: tuple[str, ...], dtype: type[float] | type[complex]
) -> None:
    for name in names:
        object.__setattr__(owner, name, frozen_array(getattr(owner, name), dtype))


def _check_group(program: VoiceProgram, names: tuple[str, ...], count: int) -> None:
    for name in names:
        check_shape(getattr(program, name), name, (count,))
    _check_numbers(program, names)


def _check_numbers(owner: VoiceProgram | ControlCurves, names: tuple[str, ...]) -> None:
    for name in names:
        check_finite(np.asarray(getattr(owner, name)), name)
