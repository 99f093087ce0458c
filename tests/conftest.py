"""What all tests share: kept modes of their own, and the example worked out once."""

from __future__ import annotations

import os
import pathlib
from typing import TYPE_CHECKING

import pytest
from hypothesis import settings

# Continuous integration tries the same cases every time; a desk finds new ones.
settings.register_profile("ci", derandomize=True)
if os.environ.get("CI"):
    settings.load_profile("ci")

if TYPE_CHECKING:
    from collections.abc import Iterator

    from modewright.workflows.analysis import Analysis

EXAMPLE = pathlib.Path(__file__).resolve().parents[1] / "examples/boathouse_bench/g3.toml"


@pytest.fixture(scope="session")
def kept_modes_folder(tmp_path_factory: pytest.TempPathFactory) -> pathlib.Path:
    """Folder in which one run of the tests keeps modes; parallel workers share it."""
    base = tmp_path_factory.getbasetemp()
    return (base.parent if "PYTEST_XDIST_WORKER" in os.environ else base) / "kept-modes"


@pytest.fixture(scope="session", autouse=True)
def _no_test_touches_the_users_cache(kept_modes_folder: pathlib.Path) -> Iterator[None]:
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("MODEWRIGHT_CACHE", str(kept_modes_folder))
        yield


@pytest.fixture(scope="session")
def example() -> pathlib.Path:
    """Design file of the shipped example."""
    return EXAMPLE


@pytest.fixture(scope="session")
def bench_g3(example: pathlib.Path) -> Analysis:
    """The example worked out to the loop, at draft accuracy."""
    from modewright.workflows.analysis import analyse

    return analyse(example, accuracy="draft")
