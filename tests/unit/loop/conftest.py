"""Fixtures of the loop's tests."""

import pytest

from made_up_plant import make_plant
from modewright.loop.settings import LoopSettings, ModeControl


@pytest.fixture(scope="session")
def plant():
    return make_plant()


@pytest.fixture(scope="session")
def settings():
    return LoopSettings(modes=tuple(ModeControl(mode=i + 1, decay_s=0.3) for i in range(6)))
