"""Modes in slow motion: an oblique view of the moving sheet as an animated GIF.

Displacements are exaggerated, and the caption says by how much the sheet would have to be thicker
or thinner to look like that: motion is scaled to a tenth of the sheet's length.
"""

from __future__ import annotations

import io
from typing import TYPE_CHECKING

import numpy as np
from PIL import Image, ImageDraw

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.modes.surface_picture import SurfacePicture

__all__ = ["EXAGGERATION_TEXT", "mode_animation_gif"]

EXAGGERATION_TEXT = "slow motion; displacement exaggerated to a tenth of the length"

_FRAMES = 16
_MILLISECONDS = 70
_WIDTH_PX = 420
_SUPERSAMPLING = 2
_TILT_RAD = np.radians(28)
_TURN_RAD = np.radians(22)
_EXAGGERATED_SHARE = 0.1
_LIGHT, _DARK = np.array([253, 184, 99]), np.array([45, 10, 110])
_MIDDLE = np.array([235, 235, 238])


def mode_animation_gif(picture: SurfacePicture, mode: int) -> bytes:
    """Draw one period of a mode.

    Parameters
    ----------
    picture : SurfacePicture
    mode : int
        Index of the mode.

    Returns
    -------
    bytes
        GIF that repeats for ever.
    """
    length = float(np.ptp(picture.points_m, axis=0).max())
    moved = picture.displacement[:, :, mode]
    scale = _EXAGGERATED_SHARE * length / float(np.linalg.norm(moved, axis=1).max())
    rest = np.column_stack([picture.points_m, np.zeros(len(picture.points_m))])
    # The way back shows what the way there has shown.
    phases = np.cos(2 * np.pi * np.arange(_FRAMES // 2 + 1) / _FRAMES)
    views = [_project(rest + scale * phase * moved) for phase in phases]
    extent = np.concatenate([v[:, :2] for v in views])
    low, high = extent.min(axis=0), extent.max(axis=0)
    normal = moved[:, 2] / max(float(np.abs(moved[:, 2]).max()), 1e-30)
    there = [
        _frame(view, picture.triangles, phase * normal, low, high)
        for view, phase in zip(views, phases, strict=True)
    ]
    frames = [*there, *there[-2:0:-1]]
    stream = io.BytesIO()
    frames[0].save(
        stream,
        format="GIF",
        save_all=True,
        append_images=frames[1:],
        duration=_MILLISECONDS,
        loop=0,
        optimize=False,
    )
    return stream.getvalue()


def _project(points: NDArray[np.float64]) -> NDArray[np.float64]:
    """Oblique parallel view; the third column is the depth, rising away from the eye."""
    cos, sin = np.cos(_TURN_RAD), np.sin(_TURN_RAD)
    x = cos * points[:, 0] - sin * points[:, 1]
    away = sin * points[:, 0] + cos * points[:, 1]
    up = np.sin(_TILT_RAD) * away + np.cos(_TILT_RAD) * points[:, 2]
    return np.column_stack([x, up, np.cos(_TILT_RAD) * away - np.sin(_TILT_RAD) * points[:, 2]])


def _frame(
    view: NDArray[np.float64],
    triangles: NDArray[np.int64],
    normal: NDArray[np.float64],
    low: NDArray[np.float64],
    high: NDArray[np.float64],
) -> Image.Image:
    margin = 10
    unit = (_WIDTH_PX - 2 * margin) / float((high - low)[0])
    height = int((high - low)[1] * unit) + 2 * margin
    size = (_WIDTH_PX * _SUPERSAMPLING, height * _SUPERSAMPLING)
    image = Image.new("RGB", size, "white")
    pen = ImageDraw.Draw(image)
    pixels = ((view[:, :2] - low) * unit + margin) * _SUPERSAMPLING
    pixels[:, 1] = size[1] - pixels[:, 1]
    order = np.argsort(-view[triangles, 2].mean(axis=1))
    shade = normal[triangles].mean(axis=1)
    end = np.where(shade[:, None] > 0, _LIGHT - _MIDDLE, _DARK - _MIDDLE)
    colours = np.asarray(_MIDDLE + np.abs(shade)[:, None] * end, dtype=np.int64)
    for index in order:
        corners = [(float(x), float(y)) for x, y in pixels[triangles[index]]]
        fill = (int(colours[index][0]), int(colours[index][1]), int(colours[index][2]))
        pen.polygon(corners, fill=fill, outline=fill)
    return image.resize((_WIDTH_PX, height), Image.Resampling.LANCZOS)
