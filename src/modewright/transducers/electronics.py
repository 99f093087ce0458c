"""The ``[electronics]`` section: converters, computing time and power amplifier."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

import numpy as np

from modewright.parameters import Fault, choice, count, quantity, section
from modewright.transducers.converters import (
    AS_GIVEN,
    INPUT_CONVERTERS,
    OUTPUT_CONVERTERS,
    converter_delay_s,
)
from modewright.transducers.filters import FILTERS, low_pass_filter
from modewright.transducers.stage import Stage, low_pass

if TYPE_CHECKING:
    from collections.abc import Iterable

    from numpy.typing import NDArray

__all__ = ["Amplifier", "CurrentAmplifier", "Electronics", "Hold", "VoltageAmplifier"]


@dataclass(frozen=True, slots=True, kw_only=True)
class VoltageAmplifier:
    """Amplifier that sets the voltage across the coil; motion is damped through it."""

    kind: ClassVar[str] = "voltage"

    limit_v: float = quantity(
        "V", "Largest peak voltage.", default=10.0, above=0.0, plausible=(0.5, 100.0)
    )
    bandwidth_hz: float = quantity(
        "Hz", "Upper corner frequency.", default=2e5, show="kHz", above=0.0, plausible=(1e4, 1e7)
    )

    @property
    def limit(self) -> float:
        """Largest command. [V]"""
        return self.limit_v


@dataclass(frozen=True, slots=True, kw_only=True)
class CurrentAmplifier:
    """Amplifier that sets the current through the coil; motion does not feel it."""

    kind: ClassVar[str] = "current"

    limit_a: float = quantity(
        "A", "Largest peak current.", default=0.1, show="mA", above=0.0, plausible=(1e-3, 20.0)
    )
    bandwidth_hz: float = quantity(
        "Hz", "Upper corner frequency.", default=1e5, show="kHz", above=0.0, plausible=(1e4, 1e7)
    )

    @property
    def limit(self) -> float:
        """Largest command. [A]"""
        return self.limit_a


Amplifier = VoltageAmplifier | CurrentAmplifier


@dataclass(frozen=True, slots=True, kw_only=True)
class Hold:
    """Zero-order hold of the output converter: ``(1 - exp(-s T))/(s T)``.

    Not a rational function, hence no `Stage`; half a sample late in the mean (Franklin, Powell &
    Workman, Digital Control of Dynamic Systems, ch. 5).

    Parameters
    ----------
    rate_hz : float
        1/T. [Hz]
    """

    rate_hz: float
    name: str = "hold"

    def at(self, s_rad_s: NDArray[np.complex128]) -> NDArray[np.complex128]:
        """Transfer function at places of the s plane. [rad/s]"""
        turn = np.asarray(s_rad_s, dtype=np.complex128) / self.rate_hz
        still = turn == 0
        safe = np.where(still, 1.0, turn)
        return np.where(still, 1.0, -np.expm1(-safe) / safe)

    def response(self, freq_hz: NDArray[np.float64]) -> NDArray[np.complex128]:
        """Complex gain at each frequency. [Hz]"""
        return self.at(np.asarray(2j * np.pi * np.asarray(freq_hz), dtype=np.complex128))


@dataclass(frozen=True, slots=True, kw_only=True)
class Electronics:
    """Everything between preamplifier and coil."""

    converter_rate_hz: float = quantity(
        "Hz", "Sampling rate.", default=48e3, show="kHz", above=0.0, plausible=(8e3, 4e5)
    )
    anti_alias: str = choice(
        "Kind of the filter before the input converter.", FILTERS, default="Butterworth"
    )
    anti_alias_order: int = count(
        "Order of that filter.",
        default=2,
        at_least=1,
        at_most=8,
    )
    anti_alias_corner_hz: float = quantity(
        "Hz", "Corner of that filter.", default=20e3, show="kHz", above=0.0, plausible=(2e3, 2e5)
    )
    reconstruction: str = choice(
        "Kind of the filter behind the output converter.", FILTERS, default="Butterworth"
    )
    reconstruction_order: int = count(
        "Order of that filter; 0 for none.", default=0, at_least=0, at_most=8
    )
    reconstruction_corner_hz: float = quantity(
        "Hz", "Corner of that filter.", default=20e3, show="kHz", above=0.0, plausible=(2e3, 2e5)
    )
    input_converter: str = choice(
        "Principle of the input converter, which sets its delay.",
        INPUT_CONVERTERS,
        default=AS_GIVEN,
    )
    output_converter: str = choice(
        "Principle of the output converter, which sets its delay.",
        OUTPUT_CONVERTERS,
        default=AS_GIVEN,
    )
    input_latency_s: float = quantity(
        "s",
        "Delay of the input converter, where it is as given.",
        default=0.1e-3,
        show="ms",
        at_least=0.0,
        plausible=(0.0, 5e-3),
    )
    output_latency_s: float = quantity(
        "s",
        "Delay of the output converter, where it is as given.",
        default=0.1e-3,
        show="ms",
        at_least=0.0,
        plausible=(0.0, 5e-3),
    )
    computing_samples: int = count(
        "Samples from reading the input to writing the output.", default=1, at_least=1, at_most=64
    )
    total_delay_s: float | None = quantity(
        "s",
        "Sum of all pure delays, if a delay line is to fill it up; the hold's half sample is not "
        "among them.",
        default=None,
        show="ms",
        above=0.0,
        plausible=(5e-5, 5e-3),
    )
    amplifier: Amplifier = section(
        "The power amplifier.", VoltageAmplifier, CurrentAmplifier, default=VoltageAmplifier()
    )

    def problems(self) -> Iterable[Fault]:
        """Return what is wrong between the fields."""
        if self.total_delay_s is not None and self.total_delay_s < self._least_delay_s - 1e-12:
            yield Fault(
                key="total_delay",
                expected=f"at least {self._least_delay_s * 1e3:.4g} ms, the sum of the latencies",
                got=f"{self.total_delay_s * 1e3:.4g} ms",
                hint="Lower the latencies, choose faster converters, or leave total_delay out.",
            )

    @property
    def rate_hz(self) -> float:
        """Sampling rate. [Hz]"""
        return self.converter_rate_hz

    @property
    def input_delay_s(self) -> float:
        """Delay of the input converter. [s]"""
        return converter_delay_s(self.input_converter, self.rate_hz, self.input_latency_s)

    @property
    def output_delay_s(self) -> float:
        """Delay of the output converter. [s]"""
        return converter_delay_s(self.output_converter, self.rate_hz, self.output_latency_s)

    @property
    def _least_delay_s(self) -> float:
        computing_s = self.computing_samples / self.converter_rate_hz
        return self.input_delay_s + computing_s + self.output_delay_s

    @property
    def delay_s(self) -> float:
        """Sum of all pure delays. [s]"""
        return self._least_delay_s if self.total_delay_s is None else self.total_delay_s

    @property
    def input_stages(self) -> tuple[Stage, ...]:
        """Anti-alias filter and input converter."""
        anti_alias = low_pass_filter(
            "anti-alias", self.anti_alias, self.anti_alias_order, self.anti_alias_corner_hz
        )
        return anti_alias, Stage.constant("input converter", delay_s=self.input_delay_s)

    @property
    def output_stages(self) -> tuple[Stage, ...]:
        """Computing time, delay line, output converter, filter, amplifier, without the hold."""
        computing_s = self.computing_samples / self.converter_rate_hz
        spare_s = max(0.0, self.delay_s - self._least_delay_s)
        line = (Stage.constant("delay line", delay_s=spare_s),) if spare_s else ()
        order = self.reconstruction_order
        smooth = (
            (
                low_pass_filter(
                    "reconstruction", self.reconstruction, order, self.reconstruction_corner_hz
                ),
            )
            if order
            else ()
        )
        return (
            Stage.constant("computing", delay_s=computing_s),
            *line,
            Stage.constant("output converter", delay_s=self.output_delay_s),
            *smooth,
            low_pass("amplifier", 2 * np.pi * self.amplifier.bandwidth_hz),
        )

    @property
    def hold(self) -> Hold:
        """Hold of the output converter."""
        return Hold(rate_hz=self.converter_rate_hz)
