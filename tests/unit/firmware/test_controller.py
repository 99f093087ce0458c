"""The compiled controller as a plain C program meets it."""

from __future__ import annotations

import ctypes
import shutil
import subprocess

import numpy as np
import pytest

from modewright.firmware.cost import memory_of

STATES = {"free": 0, "held": 1, "damped": 2}


@pytest.fixture(scope="module")
def built(files, compiler, tmp_path_factory):
    folder = tmp_path_factory.mktemp("controller")
    for name, text in files.items():
        (folder / name).write_text(text, encoding="utf-8")
    flags = ["-O2", "-std=c99", "-ffp-contract=off", "-fPIC"]
    subprocess.run(
        [*compiler, *flags, "-shared", "-o", "controller.so", "controller.c", "-lm"],
        cwd=folder,
        check=True,
    )
    subprocess.run([*compiler, *flags, "-c", "controller.c"], cwd=folder, check=True)
    return folder


@pytest.fixture
def controller(built):
    library = ctypes.CDLL(str(built / "controller.so"))
    library.controller_sample.restype = library.controller_level_m.restype = ctypes.c_float
    library.controller_sample.argtypes = (ctypes.c_float, ctypes.c_float)
    library.controller_wish.argtypes = (ctypes.c_int32, ctypes.c_int, ctypes.c_float)
    library.controller_start()
    return library


def play(controller, heard_v):
    return np.array([controller.controller_sample(float(v), 0.0) for v in heard_v])


def test_it_allocates_nothing(built):
    """Undefined symbols of the object, as the binutils list them: no malloc among them."""
    lister = shutil.which("nm")
    if lister is None:
        pytest.skip("no binutils")
    listed = subprocess.run(
        [lister, "-u", "controller.o"],
        cwd=built,
        check=True,
        capture_output=True,
        text=True,
    ).stdout.split()
    wanted = {name for name in listed if len(name) > 1}
    assert wanted <= {"memset", "memcpy", "sqrtf", "_GLOBAL_OFFSET_TABLE_"}


def test_memory_is_what_the_report_says(controller, voice):
    memory = memory_of(voice.observed_count, voice.regulated_count, voice.delay_samples)
    assert controller.controller_bytes() == memory.working_bytes


def test_nothing_wished_for_means_no_command(controller):
    heard_v = 0.1 * np.sin(2 * np.pi * 197 / 48e3 * np.arange(5000))
    assert not play(controller, heard_v).any()


def test_command_stays_within_its_limit(controller, loop, random_samples):
    for row in range(6):
        controller.controller_wish(row, STATES["held"], 1.0)
    command = play(controller, random_samples.uniform(-1e3, 1e3, 5000))
    assert np.abs(command).max() == np.float32(loop.plant.command_limit)


@pytest.mark.parametrize("bad", [np.nan, np.inf, -np.inf])
@pytest.mark.parametrize("into", ["heard", "external", "level"])
def test_no_number_silences_it_for_good(controller, bad, into):
    controller.controller_wish(0, STATES["held"], 1e-5)
    assert play(controller, np.zeros(64)).any()
    if into == "level":
        controller.controller_wish(0, STATES["held"], bad)
        play(controller, np.zeros(64))
    else:
        controller.controller_sample(*((bad, 0.0) if into == "heard" else (0.0, bad)))
    assert controller.controller_has_failed() == 1
    assert not play(controller, np.full(200, 0.1)).any()
    controller.controller_start()
    assert controller.controller_has_failed() == 0


def test_regulators_and_modes_that_do_not_exist_are_ignored(controller):
    for row in (-1, 6, 1000):
        controller.controller_wish(row, STATES["held"], 1.0)
    assert not play(controller, np.zeros(100)).any()
    assert controller.controller_level_m(-1) == controller.controller_level_m(99) == 0


def test_it_starts_again_from_rest(controller, vectors):
    def run():
        controller.controller_start()
        controller.controller_wish(0, STATES["damped"], 0.0)
        return play(controller, vectors.heard_v[:2000])

    first, second = run(), run()
    assert first.any()
    np.testing.assert_array_equal(first, second)
