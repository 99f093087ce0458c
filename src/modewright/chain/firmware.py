"""The controller of a design for a microcontroller: its files, and what it asks of the chip."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from modewright.errors import LoopError
from modewright.firmware.cost import Memory, Operations, memory_of, sample_operations
from modewright.firmware.header import coefficients_header
from modewright.firmware.rounding import Rounding, rounding_of
from modewright.firmware.sources import source_files
from modewright.firmware.vectors import make_vectors, vectors_header
from modewright.sound.performance import BLOCK
from modewright.sound.program import force_gain_m_per_n, voice_program

if TYPE_CHECKING:
    from collections.abc import Mapping

    from modewright.chain.body import Body
    from modewright.chain.hearing import Hearing
    from modewright.design.schema import Design
    from modewright.loop.close import ClosedLoop

__all__ = ["Firmware", "firmware_of"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Firmware:
    """One controller as source.

    Parameters
    ----------
    files : mapping from str to str
        Content by name.
    observed, regulated : int
        Modes that it follows, and those of them that it treats.
    vector_samples : int
        Length of the test vectors.
    operations : Operations
        Of one sample.
    memory : Memory
    rounding : Rounding
    """

    files: Mapping[str, str]
    observed: int
    regulated: int
    vector_samples: int
    operations: Operations
    memory: Memory
    rounding: Rounding


def firmware_of(
    design: Design, body: Body, hearing: Hearing, loop: ClosedLoop, design_hash: str
) -> Firmware:
    """Write the controller of a loop.

    Parameters
    ----------
    design, body, hearing, loop : Design, Body, Hearing, ClosedLoop
        Of one design.
    design_hash : str
        Written into the headers.

    Returns
    -------
    Firmware

    Raises
    ------
    LoopError
        If the loop is unstable.
    ModewrightError
        If the loop treats no mode, or a coefficient is too large for float32.
    """
    if not loop.is_stable:
        raise LoopError(
            f"firmware: expected a loop that is stable in every state, got: {loop.findings[0]}",
            hint="See modewright loop; a controller that howls is not written.",
        )
    strike = design.strike
    program = voice_program(
        loop,
        force_gain_m_per_n(
            loop.plant,
            hearing.operating_point.basis.shapes,
            strike.point_m or body.reference.point_m,
        ),
    )
    origin = (f"{design.design.name}, design {design_hash[:12]}.",)
    header = coefficients_header(
        loop, program, BLOCK, ("Coefficients of the controller, float32.", *origin)
    )
    vectors = make_vectors(loop, program, BLOCK, strike.force_n)
    vectors_text = vectors_header(
        vectors, ("What the simulation heard and commanded, float32.", *origin)
    )
    observed, regulated = program.observed_count, program.regulated_count
    return Firmware(
        files={**source_files(), "coefficients.h": header, "vectors.h": vectors_text},
        observed=observed,
        regulated=regulated,
        vector_samples=len(vectors.command),
        operations=sample_operations(observed, regulated),
        memory=memory_of(observed, regulated, program.delay_samples),
        rounding=rounding_of(loop),
    )
