"""The compiled controller against the simulation, to the bit."""

from __future__ import annotations

from dataclasses import replace as changed

import numpy as np
import pytest

from made_up_plant import make_plant
from modewright.firmware.header import coefficients_header
from modewright.firmware.replay import FLAGS, replay
from modewright.firmware.vectors import make_vectors, vectors_header
from modewright.loop.close import close_loop
from modewright.loop.settings import LoopSettings, ModeControl
from modewright.sound.program import voice_program


def test_every_command_is_that_of_the_simulation(files, compiler, vectors):
    found = replay(files, compiler)
    assert found.is_equal, found.told
    assert f"{len(vectors.command)} samples equal" in found.told
    assert found.ns_per_sample > 0


def test_vectors_do_what_they_are_for(vectors, voice):
    """Loud enough to be heard and pushed, with the driver's limit met and left again."""
    assert np.abs(vectors.heard_v).max() > 0.01
    assert np.abs(vectors.command).max() == np.float32(voice.command_limit)
    assert 0 < np.mean(np.abs(vectors.command) < voice.command_limit) < 1
    assert {wish.state for wish in vectors.wishes} == {"free", "held", "damped"}


@pytest.mark.parametrize("flag", ["-O3", "-march=native", "-fno-inline"])
def test_other_builds_give_the_same_bits(files, compiler, flag):
    assert replay(files, (*compiler, flag)).is_equal


@pytest.mark.parametrize(("treated", "modelled", "block"), [(1, 1, 1), (3, 12, 7), (8, 20, 64)])
def test_other_sizes_give_the_same_bits(files, compiler, treated, modelled, block):
    controls = tuple(
        ModeControl(mode=i + 1, decay_s=0.4, state="held", level_m=1e-5) for i in range(treated)
    )
    loop = close_loop(make_plant(), LoopSettings(modes=controls, modelled_modes=modelled))
    program = voice_program(loop, 20 * loop.plant.drive_gain.astype(complex))
    vectors = make_vectors(loop, program, block, 5.0)
    found = replay(
        {
            **files,
            "coefficients.h": coefficients_header(loop, program, block, ("sizes",)),
            "vectors.h": vectors_header(vectors, ("sizes",)),
        },
        compiler,
    )
    assert found.is_equal, found.told


def test_flags_are_those_of_the_makefile(files):
    for flag in FLAGS:
        assert flag in files["Makefile"]


def test_one_wrong_bit_is_found(files, compiler, vectors):
    command = vectors.command.copy()
    at = int(np.flatnonzero(command)[100])
    command[at] = np.nextafter(np.float32(command[at]), np.float32(1))
    wrong = vectors_header(changed(vectors, command=command), ("wrong",))
    found = replay({**files, "vectors.h": wrong}, compiler)
    assert not found.is_equal
    assert f"sample {at} differs" in found.told


def test_what_does_not_compile_is_told(files, compiler):
    found = replay({**files, "coefficients.h": "#error no coefficients\n"}, compiler)
    assert not found.is_equal
    assert "no coefficients" in found.told
    assert found.ns_per_sample is None


def test_a_name_cannot_end_the_comment(files, compiler, loop, voice):
    header = coefficients_header(loop, voice, 32, ("reed */ #error out /* \\", "second"))
    assert replay({**files, "coefficients.h": header}, compiler).is_equal
