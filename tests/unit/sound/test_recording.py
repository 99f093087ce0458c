"""Sounds kept on disk while they are played."""

import subprocess
import sys

import numpy as np
import pytest

from modewright.errors import ModewrightError
from modewright.sound.recording import recording_beside

FULL = """
import resource, sys, pathlib
import numpy as np
from modewright.errors import ModewrightError
from modewright.sound.recording import recording_beside
from modewright.sound.audio_file import write_sound
from modewright.sound.scaling import Sound
resource.setrlimit(resource.RLIMIT_FSIZE, (100_000, 100_000))
path, samples = pathlib.Path(sys.argv[1]), 0.1 * np.sin(np.arange(60_000))
sound = Sound(samples=samples, rate_hz=48e3, full_scale=1.0, unit="V", lowered_db=0.0)
try:
    if sys.argv[2] == "record":
        with recording_beside(path) as recording:
            recording.take(samples)
    else:
        write_sound(sound, path)
except ModewrightError as error:
    print(error)
"""


def test_what_was_taken_comes_back_with_its_peak_and_nothing_is_left(tmp_path):
    given = np.random.default_rng(4).standard_normal(700_000).astype(np.float32)
    with recording_beside(tmp_path / "a.wav") as recording:
        for part in np.split(given, [1, 1000, 400_000]):
            recording.take(part)
        assert recording.samples == len(given)
        assert recording.peak == np.abs(given).max()
        for _ in range(2):
            np.testing.assert_array_equal(np.concatenate([*recording.pieces()]), given)
        assert list(tmp_path.glob("*.wav")) == []
    assert list(tmp_path.iterdir()) == []


def test_missing_folder_is_told(tmp_path):
    with (
        pytest.raises(ModewrightError, match=r"none/a\.wav: expected a folder that can be written"),
        recording_beside(tmp_path / "none" / "a.wav"),
    ):
        pass


@pytest.mark.skipif(sys.platform == "win32", reason="no limit of file sizes there")
@pytest.mark.parametrize("way", ["record", "write"])
def test_disk_without_room_is_told_and_nothing_is_left(way, tmp_path):
    """A limit of the system on the size of files stands for the full disk."""
    command = [sys.executable, "-c", FULL, str(tmp_path / "a.wav"), way]
    ended = subprocess.run(command, capture_output=True, text=True, check=True)
    assert "expected room for the sound" in ended.stdout
    assert "System error" not in ended.stdout
    assert list(tmp_path.iterdir()) == []
