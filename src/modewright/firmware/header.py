"""Coefficients of one note as a C header: numbers to the last bit, and what each is."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from modewright.errors import ModewrightError
from modewright.sound.voice_columns import voice_columns

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from numpy.typing import NDArray

    from modewright.loop.close import ClosedLoop
    from modewright.sound.voice_program import VoiceProgram

__all__ = ["c_array", "c_comment", "c_float", "coefficients_header", "controller_columns"]

_OBSERVER = (
    "rotation_re",
    "rotation_im",
    "heard_drive_re",
    "heard_drive_im",
    "heard_correction_re",
    "heard_correction_im",
    "drive_re",
    "drive_im",
    "correction_re",
    "correction_im",
)
_PER_LINE = 4


def c_float(value: float) -> str:
    """A float32 as C writes it, exactly.

    Raises
    ------
    ModewrightError
        If it is no finite float32.
    """
    single = np.float32(value)
    if not np.isfinite(single):
        raise ModewrightError(
            f"firmware: expected a coefficient that a float32 holds, got {value:g}.",
            hint="Lower the gains of the loop or scale the command.",
        )
    return f"{float(single).hex()}f"


def c_comment(lines: Iterable[str]) -> str:
    """A comment that no word of it can end or open again."""
    text = "\n   ".join(lines).replace("*/", "* /").replace("/*", "/ *")
    return "/* " + text.replace("\n   \n", "\n\n") + " */\n"


def c_array(name: str, values: NDArray[np.floating]) -> str:
    """A table of float32."""
    words = [c_float(float(value)) for value in values]
    lines = [", ".join(words[i : i + _PER_LINE]) for i in range(0, len(words), _PER_LINE)]
    body = ",\n    ".join(lines)
    return f"static const float {name}[{len(words)}] = {{\n    {body}\n}};\n"


def controller_columns(
    loop: ClosedLoop, program: VoiceProgram
) -> Mapping[str, NDArray[np.float64]]:
    """Every table of the controller by its name in C.

    Parameters
    ----------
    loop : ClosedLoop
    program : VoiceProgram
        Of that loop, as the simulation runs it.
    """
    columns, regulators = voice_columns(program), loop.regulators
    return {
        **{name: columns[f"observer.{name}"] for name in _OBSERVER},
        "hold_gain": regulators.hold_gain,
        "damp_gain": regulators.damp_gain,
        "sustain_gain": regulators.sustain_gain,
        "held_integral_gain": regulators.integral_gain,
        "steering_re": columns["regulators.steering_re"],
        "steering_im": columns["regulators.steering_im"],
        "integral_limit": columns["regulators.integral_limit"],
        "amp_limit": columns["regulators.amp_limit"],
        "silence_m": columns["regulators.silence"],
    }


def coefficients_header(
    loop: ClosedLoop, program: VoiceProgram, block: int, title: Iterable[str]
) -> str:
    """Write ``coefficients.h``.

    Parameters
    ----------
    loop : ClosedLoop
    program : VoiceProgram
        Of that loop.
    block : int
        Samples per control block.
    title : iterable of str
        Lines that say where they come from.

    Returns
    -------
    str

    Raises
    ------
    ModewrightError
        If the loop treats no mode, or a number is too large.
    """
    if not program.regulated_count:
        raise ModewrightError(
            "firmware: expected a loop that treats a mode, got none.",
            hint="Add [[loop.modes]] to the design.",
        )
    plant = loop.plant
    modes = [
        f"regulator {row}: mode {int(mode) + 1}, {plant.labels[mode]}, {plant.freq_hz[mode]:.2f} Hz"
        for row, mode in enumerate(loop.regulators.modes)
    ]
    parts = [
        c_comment((*title, "", *modes)),
        "#ifndef MODEWRIGHT_COEFFICIENTS_H\n#define MODEWRIGHT_COEFFICIENTS_H\n",
        f"#define OBSERVED {program.observed_count}",
        f"#define REGULATED {program.regulated_count}",
        f"#define DELAY_SAMPLES {program.delay_samples}",
        f"#define BLOCK_SAMPLES {block}",
        f"#define RATE_HZ {plant.rate_hz:.9g} /* at which controller_sample has to be called */",
        f"#define FULL_SCALE_V {c_float(program.full_scale_v)}",
        f"#define COMMAND_LIMIT {c_float(program.command_limit)} /* {plant.command_unit} */\n",
        *(c_array(name, values) for name, values in controller_columns(loop, program).items()),
        "#endif",
    ]
    return "\n".join(parts) + "\n"
