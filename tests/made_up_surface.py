"""Motion of made-up bars along x, for tests of losses."""

import numpy as np

from modewright.losses.surface import SurfaceMotion


def moving_bar(x_m, motion, width_m, *, thickness_m=0.0, mass_kg=0.0, is_round=False, stretch=None):
    """Bar whose evenly spaced points at x move as `motion`, shape (points, 3, modes)."""
    count = len(x_m)
    each_m = (x_m[-1] - x_m[0]) / (count - 1) if count > 1 else width_m
    return SurfaceMotion(
        points_m=np.stack([x_m, np.zeros(count)], axis=-1),
        motion=motion,
        area_m2=np.full(count, each_m * width_m),
        mass_kg=np.full(count, mass_kg / count),
        width_m=np.full(count, width_m),
        across=np.tile([0.0, 1.0], (count, 1)),
        thickness_m=np.full(count, thickness_m),
        stretch_variance=np.zeros((count, motion.shape[2])) if stretch is None else stretch,
        is_round=is_round,
    )


def along(axis, values):
    """Motion along one axis, `values` of shape (points, modes)."""
    motion = np.zeros((len(values), 3, values.shape[1]))
    motion[:, axis] = values
    return motion
