"""A loop on a made-up body, its program, and its firmware as files."""

from __future__ import annotations

import numpy as np
import pytest

from c_compiler import c_compiler
from made_up_plant import make_plant
from modewright.firmware.header import coefficients_header
from modewright.firmware.sources import source_files
from modewright.firmware.vectors import make_vectors, vectors_header
from modewright.loop.close import close_loop
from modewright.loop.settings import LoopSettings, ModeControl
from modewright.sound.program import voice_program

BLOCK = 32


@pytest.fixture(scope="session")
def loop():
    """Six of twenty modes treated, among them two that are 15 Hz apart."""
    treated = (1, 2, 3, 5, 8, 9)
    controls = tuple(
        ModeControl(mode=n, decay_s=0.3, state="held" if n == 2 else "free", level_m=2e-5)
        for n in treated
    )
    return close_loop(make_plant(), LoopSettings(modes=controls))


@pytest.fixture(scope="session")
def voice(loop):
    """Program of the loop; a blow pushes every mode a little."""
    return voice_program(loop, 20 * loop.plant.drive_gain.astype(complex))


@pytest.fixture(scope="session")
def vectors(loop, voice):
    return make_vectors(loop, voice, BLOCK, 5.0)


@pytest.fixture(scope="session")
def files(loop, voice, vectors):
    return {
        **source_files(),
        "coefficients.h": coefficients_header(loop, voice, BLOCK, ("made up",)),
        "vectors.h": vectors_header(vectors, ("made up",)),
    }


@pytest.fixture(scope="session")
def compiler():
    return c_compiler()


@pytest.fixture(scope="session")
def random_samples():
    return np.random.default_rng(3)
