"""Ring and signal over the gap of a pickup: plain data, tables, sentences, picture."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from modewright.report.plots.gap_chart import gap_chart_png
from modewright.report.text_tables import TextTable

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from modewright.chain.gap_course import GapCourse, PlateChoice
    from modewright.modes.basis import ModalBasis

__all__ = ["choice_data", "choice_text", "course_data", "course_picture", "course_tables"]

Data = dict[str, Any]


def course_data(course: GapCourse, basis: ModalBasis, modes: Sequence[int]) -> Data:
    """A course as plain data.

    Parameters
    ----------
    course : GapCourse
    basis : ModalBasis
        Of the body, in whose modes it is.
    modes : sequence of int
        Which to show, from 0.

    Returns
    -------
    dict
        None stands for what a mode does not have that is still at the reference point.
    """
    return {
        "pickup": course.name,
        "here_m": course.here_m,
        "gap_m": course.gap_m.tolist(),
        "modes": [
            {
                "number": mode + 1,
                "label": basis.labels[mode],
                "freq_hz": float(basis.freq_hz[mode]),
                "q": course.q[:, mode].tolist(),
                "t60_s": course.t60_s[:, mode].tolist(),
                "sensitivity_v_per_m": _known(course.sensitivity_v_per_m[:, mode]),
                "swing_m": _known(course.swing_m[:, mode]),
            }
            for mode in modes
        ],
    }


def course_tables(data: Data) -> tuple[TextTable, ...]:
    """The same as tables, a row for each gap."""
    modes = data["modes"]
    numbers = tuple(f"mode {mode['number']}" for mode in modes)

    def rows(key: str, factor: float, spec: str) -> tuple[tuple[str, ...], ...]:
        return tuple(
            (
                _gap(gap_m, data["here_m"]),
                *(_figure(mode[key][k], factor, spec) for mode in modes),
            )
            for k, gap_m in enumerate(data["gap_m"])
        )

    return (
        TextTable(
            title=f"Pickup {data['pickup']}: T60 in s over the gap, all losses",
            columns=("gap mm", *numbers),
            rows=rows("t60_s", 1.0, ".3g"),
        ),
        TextTable(
            title=f"Pickup {data['pickup']}: mV per µm at the reference point over the gap",
            columns=("gap mm", *numbers),
            rows=rows("sensitivity_v_per_m", 1e-3, ".3g"),
        ),
        TextTable(
            title=f"Pickup {data['pickup']}: mm of the reference point that still swing back",
            columns=("gap mm", *numbers),
            rows=rows("swing_m", 1e3, ".2g"),
        ),
    )


def _known(values: NDArray[np.float64]) -> list[float | None]:
    return [float(value) if np.isfinite(value) else None for value in values]


def _figure(value: float | None, factor: float, spec: str) -> str:
    """A figure, or a dash where the mode is still at the reference point."""
    return "−" if value is None else format(value * factor, spec)


def _gap(gap_m: float, here_m: float) -> str:
    return f"{gap_m * 1e3:.3g}" + (" (design)" if gap_m == here_m else "")


def course_picture(course: GapCourse, basis: ModalBasis, modes: Sequence[int]) -> bytes:
    """Design chart: Q and sensitivity over the gap, as a PNG."""
    chosen = list(modes)
    return gap_chart_png(
        course.gap_m,
        course.q[:, chosen],
        course.sensitivity_v_per_m[:, chosen],
        [f"mode {mode + 1}, {basis.freq_hz[mode]:.0f} Hz" for mode in chosen],
        here_m=course.here_m,
        title=f"Pickup {course.name}",
    )


def choice_data(
    choice: PlateChoice,
    *,
    pickup: str,
    mode: int,
    swing_m: float,
    t60_s: float,
    least_v_per_m: float,
) -> Data:
    """A choice of gap and holes as plain data, with what was wanted; the mode from 0."""
    holes = choice.holes
    return {
        "pickup": pickup,
        "mode": mode + 1,
        "wanted_swing_m": swing_m,
        "wanted_t60_s": t60_s,
        "wanted_v_per_m": least_v_per_m,
        "meets": choice.meets,
        "gap_m": choice.gap_m,
        "hole_pitch_m": None if holes is None else holes.pitch_m,
        "hole_diameter_m": None if holes is None else holes.diameter_m,
        "hole_depth_m": None if holes is None else holes.depth_m,
        "t60_s": choice.t60_s,
        "sensitivity_v_per_m": choice.sensitivity_v_per_m,
    }


def choice_text(data: Data) -> str:
    """The same as a sentence or two."""
    wanted = f"T60 {data['wanted_t60_s']:.3g} s"
    if data["wanted_v_per_m"] > 0:
        wanted += f" and {data['wanted_v_per_m'] * 1e-3:.3g} mV per µm"
    wanted += f" at swings up to {data['wanted_swing_m'] * 1e3:.3g} mm"
    plate = f"a gap of {data['gap_m'] * 1e3:.3g} mm over "
    if data["hole_pitch_m"] is None:
        plate += "a plate without holes"
    else:
        plate += (
            f"holes of {data['hole_diameter_m'] * 1e3:.3g} mm every "
            f"{data['hole_pitch_m'] * 1e3:.3g} mm through {data['hole_depth_m'] * 1e3:.3g} mm"
        )
    head = "" if data["meets"] else "Nothing among the gaps and drills looked at gives that. "
    verb = "take" if data["meets"] else "nearest is"
    return (
        f"{data['pickup']}, mode {data['mode']}, wanted {wanted}: {head}{verb} {plate}, which "
        f"gives {data['t60_s']:.3g} s and {data['sensitivity_v_per_m'] * 1e-3:.3g} mV per µm."
    )
