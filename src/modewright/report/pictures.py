"""All pictures of an analysis."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from modewright.chain.closed_loop import chosen_driver, chosen_pickup
from modewright.decay import DECAY_60_DB
from modewright.geometry.flatten import flatten
from modewright.modes.sheet_shapes import SheetShapes
from modewright.modes.surface_picture import surface_picture
from modewright.report.dossier_content import DossierPictures
from modewright.report.mode_animation import mode_animation_gif
from modewright.report.plots.decay_times import decay_times_png
from modewright.report.plots.loss_shares import loss_shares_png
from modewright.report.plots.mode_plan import mode_plan_png
from modewright.report.plots.open_loop import open_loop_png
from modewright.report.plots.signal_path import signal_path_png

if TYPE_CHECKING:
    from modewright.chain.body import Body
    from modewright.chain.hearing import Hearing
    from modewright.design.schema import Design
    from modewright.loop.close import ClosedLoop

__all__ = ["analysis_pictures"]

_SHOWN = 12
_MOVING = 6
_PATH_FREQ_HZ = np.geomspace(20.0, 20e3, 401)


def analysis_pictures(
    design: Design, body: Body, hearing: Hearing, loop: ClosedLoop | None, drawing_svg: str
) -> DossierPictures:
    """Draw everything that the dossier shows.

    Parameters
    ----------
    design : Design
    body, hearing, loop : Body, Hearing, ClosedLoop
        Of that design; no loop without pickup and driver.
    drawing_svg : str
        Drawing of the blank.

    Returns
    -------
    DossierPictures

    Raises
    ------
    TypeError
        If the shapes are not those of a sheet.
    """
    shapes = body.modes.shapes
    if not isinstance(shapes, SheetShapes):
        raise TypeError(f"shapes: expected SheetShapes, got {type(shapes).__name__}")
    sheet = surface_picture(shapes)
    shown = min(_SHOWN, len(body.modes.freq_hz))
    captions = tuple(
        f"{i + 1}   {body.modes.freq_hz[i]:.1f} Hz   {body.modes.labels[i]}" for i in range(shown)
    )
    treated = [] if loop is None else _treated(loop)
    moving = treated or range(min(_MOVING, shown))
    return DossierPictures(
        drawing_svg=drawing_svg,
        plan_png=mode_plan_png(
            sheet,
            captions,
            plates_m=tuple(flatten(pickup.placed_plate.loop, 1e-5) for pickup in body.pickups),
            places_m=tuple((driver.name, driver.place_m) for driver in body.drivers),
        ),
        animations=tuple(
            (f"mode {i + 1}, {body.modes.freq_hz[i]:.1f} Hz", mode_animation_gif(sheet, i))
            for i in moving
        ),
        losses_png=loss_shares_png(body.losses.mechanisms, body.losses.loss_factor[:, :shown]),
        path_png=None if loop is None else _path_png(design, hearing, loop),
        decay_png=None if loop is None else _decay_png(loop),
        # With nothing treated the open loop is nothing, at every frequency.
        open_loop_png=_open_loop_png(loop) if loop is not None and treated else None,
    )


def _treated(loop: ClosedLoop) -> list[int]:
    return [int(mode) for mode in loop.regulators.modes]


def _path_png(design: Design, hearing: Hearing, loop: ClosedLoop) -> bytes:
    names, responses = _path(design, hearing)
    return signal_path_png(_PATH_FREQ_HZ, names, responses, loop.plant.freq_hz[_treated(loop)])


def _decay_png(loop: ClosedLoop) -> bytes:
    return decay_times_png(
        loop.plant.freq_hz,
        DECAY_60_DB / loop.plant.decay_rate_per_s,
        DECAY_60_DB / loop.all_damped.poles.decay_rate_per_s,
        loop.regulators.modes,
    )


def _open_loop_png(loop: ClosedLoop) -> bytes:
    margins = loop.all_damped.margins
    return open_loop_png(
        loop.freq_hz,
        loop.all_damped.response,
        f"all damped: gain margin {margins.gain_db:.1f} dB at {margins.gain_freq_hz:.0f} Hz, "
        f"phase margin {margins.phase_deg:.0f}°",
    )


def _path(design: Design, hearing: Hearing) -> tuple[tuple[str, ...], np.ndarray]:
    electronics = design.electronics
    stages = (
        *chosen_pickup(design, hearing).port.path,
        *electronics.input_stages,
        electronics.hold,
        *electronics.output_stages,
        *chosen_driver(design, hearing).port.path,
        *chosen_driver(design, hearing).port.mechanics,
    )
    names = tuple(stage.name for stage in stages)
    return names, np.array([stage.response(_PATH_FREQ_HZ) for stage in stages])
