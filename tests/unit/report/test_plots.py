"""Pictures: files of their kind, of the promised size, that show something."""

import io

import numpy as np
import pytest
from PIL import Image

from modewright.modes.surface_picture import SurfacePicture
from modewright.report.mode_animation import mode_animation_gif
from modewright.report.plots.decay_times import decay_times_png
from modewright.report.plots.level_course import level_course_png
from modewright.report.plots.loss_shares import loss_shares_png
from modewright.report.plots.mode_plan import mode_plan_png
from modewright.report.plots.open_loop import open_loop_png
from modewright.report.plots.spectrum import spectrum_png
from modewright.report.plots.warmth import warmth_png
from modewright.report.plots.yields import yields_png

FREQ_HZ = np.geomspace(20, 20e3, 200)


def spectrum(amplitude):
    time_s = np.arange(48000) / 48e3
    return spectrum_png(amplitude * np.sin(2 * np.pi * 440 * time_s), 48e3, np.array([440.0]), "t")


PICTURES = {
    "decay times": lambda: decay_times_png(
        np.array([200.0, 400.0]), np.array([3.0, 1.0]), np.array([0.5, 1.0]), np.array([0])
    ),
    "decay times of an unstable loop": lambda: decay_times_png(
        np.array([200.0, 400.0]), np.array([3.0, 1.0]), np.array([-0.5, 1.0]), np.array([0])
    ),
    "levels": lambda: level_course_png(
        np.linspace(0, 1, 50), np.full((50, 2), 1e-6), ("mode 1", "mode 2"), "t"
    ),
    "levels of silence": lambda: level_course_png(
        np.linspace(0, 1, 50), np.zeros((50, 1)), ("mode 1",), "t"
    ),
    "losses": lambda: loss_shares_png(("air", "support"), np.array([[1e-4, 2e-4], [1e-3, 0.0]])),
    "open loop": lambda: open_loop_png(FREQ_HZ, np.exp(1j * FREQ_HZ) / FREQ_HZ, "t"),
    "open loop of nothing": lambda: open_loop_png(FREQ_HZ, np.zeros(200, complex), "t"),
    "yields": lambda: yields_png(["pitch", "all"], [0.1, 0.0], [1.0, 0.9]),
    "yields without trimming": lambda: yields_png(["all"], [0.5], None),
    "warmth": lambda: warmth_png(
        np.array([0.0, 20.0, 45.0]), np.ones((3, 9)), np.full((3, 9), 2.5)
    ),
    "spectrum": lambda: spectrum(1.0),
    "spectrum of silence": lambda: spectrum(0.0),
}


@pytest.mark.parametrize("name", PICTURES)
def test_picture(name):
    image = Image.open(io.BytesIO(PICTURES[name]()))
    assert image.format == "PNG"
    assert min(image.size) > 200
    assert len(np.unique(np.asarray(image.convert("L")))) > 5


def test_same_numbers_same_picture():
    assert PICTURES["losses"]() == PICTURES["losses"]()


def test_moving_mode_comes_back_to_where_it_began():
    corners = np.array([[0, 0], [60e-3, 0], [60e-3, 10e-3], [0, 10e-3]])
    lift = np.zeros((4, 3, 1))
    lift[1:3, 2, 0] = 5.0
    sheet = SurfacePicture(
        points_m=corners, triangles=np.array([[0, 1, 2], [0, 2, 3]]), displacement=lift
    )
    image = Image.open(io.BytesIO(mode_animation_gif(sheet, 0)))
    frames = []
    for number in range(image.n_frames):
        image.seek(number)
        frames.append(np.asarray(image.convert("RGB")).astype(int))
    assert image.info["loop"] == 0
    count = len(frames)
    assert count >= 12
    # cos(2π k/n): a period is its own mirror image, and half a period apart all is reversed.
    for k in range(1, count // 2):
        # Each frame has a palette of its own.
        assert np.abs(frames[k] - frames[count - k]).max() <= 8
    assert np.abs(frames[0] - frames[count // 2]).max() > 50


def square_plate(displacement):
    """A square of 40 mm with a square hole, in eight triangles."""
    outer = np.array([[0, 0], [40, 0], [40, 40], [0, 40]]) * 1e-3
    points = np.concatenate([outer, 0.02 + 0.5 * (outer - 0.02)])
    ring = [[i, (i + 1) % 4, 4 + i] for i in range(4)]
    ring += [[(i + 1) % 4, 4 + (i + 1) % 4, 4 + i] for i in range(4)]
    return SurfacePicture(
        points_m=points,
        triangles=np.array(ring),
        displacement=np.tile(np.reshape(displacement, (1, 3, 1)), (8, 1, 1)),
    )


def test_sheet_that_does_not_move_is_seen_by_its_rim():
    """Still but for one corner: white inside, and a grey line round the sheet and its hole."""
    plate = square_plate((0.0, 0.0, 0.0))
    plate.displacement[0, 2, 0] = 1.0
    image = np.asarray(Image.open(io.BytesIO(mode_plan_png(plate, ("1",)))).convert("RGB"))
    grey = np.all(np.abs(image.astype(int) - 0x77) < 12, axis=2)
    columns, rows = (int((grey.sum(axis=axis) > 60).sum()) for axis in (0, 1))
    # Two sides of the sheet and two of the hole, along either direction.
    assert columns >= 4
    assert rows >= 4


def test_motion_in_the_plane_bears_no_colour_of_motion_normal_to_it():
    def coloured(displacement):
        png = mode_plan_png(square_plate(displacement), ("1",))
        image = np.asarray(Image.open(io.BytesIO(png)).convert("RGB")).astype(int)
        return int((np.ptp(image, axis=2) > 30).sum())

    assert coloured((1.0, 0.0, 0.05)) == 0
    assert coloured((0.0, 0.0, 1.0)) > 1000
