"""Sound files read back with the audio file library."""

import numpy as np
import pytest
import soundfile

from modewright.errors import ModewrightError, ScoreError
from modewright.sound.audio_file import write_sound
from modewright.sound.performance import Performance, Sound, make_sound
from modewright.sound.settings import ListeningSettings

RATE_HZ = 48000.0
# One step of 24-bit samples between -1 and 1.
STEP = 2.0**-23


def sound_of(samples, full_scale_v=2.5):
    return Sound(
        samples=samples, rate_hz=RATE_HZ, full_scale=full_scale_v, unit="V", lowered_db=0.0
    )


SAMPLES = 0.7 * np.sin(2 * np.pi * 197 * np.arange(4800) / RATE_HZ)


@pytest.mark.parametrize(
    ("name", "depth", "kind", "subtype", "error"),
    [
        ("a.wav", "24 bit", "WAV", "PCM_24", STEP),
        ("a.wav", "32 bit", "WAV", "FLOAT", 2.0**-24),
        ("a.flac", "24 bit", "FLAC", "PCM_24", STEP),
        ("A.WAV", "24 bit", "WAV", "PCM_24", STEP),
    ],
)
def test_kinds_and_depths(name, depth, kind, subtype, error, tmp_path):
    path = tmp_path / name
    write_sound(sound_of(SAMPLES), path, depth=depth, remark="design abc")
    with soundfile.SoundFile(path) as file:
        assert (file.format, file.subtype) == (kind, subtype)
        assert (file.samplerate, file.channels) == (48000, 1)
        assert file.comment == "full scale = 2.5 V peak. design abc"
        found = file.read(dtype="float64")
    np.testing.assert_allclose(found, SAMPLES, atol=error)
    assert [p.name for p in tmp_path.iterdir()] == [name]


@pytest.mark.parametrize("depth", ["24 bit", "32 bit"])
@pytest.mark.parametrize("gain", [1e-3, 1.0, 1e4])
def test_file_is_calibrated_and_below_the_ceiling(gain, depth, tmp_path):
    noise = gain * np.random.default_rng(2).standard_normal(5000)
    played = Performance(
        rate_hz=RATE_HZ,
        voltage_v=noise,
        command=np.zeros(5000),
        level_m=np.zeros((1, 0)),
        level_time_s=np.zeros(1),
        limited_share=0.0,
        clipped_share=0.0,
        contact_share=0.0,
    )
    sound = make_sound(played, ListeningSettings(ceiling_db=-6.0), 2.0)
    path = tmp_path / "a.wav"
    write_sound(sound, path, depth=depth)
    with soundfile.SoundFile(path) as file:
        full_scale_v = float(file.comment.split()[3])
        found = file.read(dtype="float64")
    assert np.abs(found).max() <= 10 ** (-6 / 20) + STEP
    # The comment has six digits.
    np.testing.assert_allclose(found * full_scale_v, noise, atol=(STEP + 1e-6) * full_scale_v)


@pytest.mark.parametrize(
    ("name", "depth", "got"),
    [
        ("a.mp3", "24 bit", "24 bit .mp3"),
        ("a", "24 bit", "24 bit without ending"),
        ("a.flac", "32 bit", "32 bit .flac"),
    ],
)
def test_refused_endings(name, depth, got, tmp_path):
    with pytest.raises(ScoreError, match=f"expected .wav .* got {got}"):
        write_sound(sound_of(SAMPLES), tmp_path / name, depth=depth)
    assert list(tmp_path.iterdir()) == []


def test_unwritable_places_are_told(tmp_path):
    (tmp_path / "a.wav").mkdir()
    (tmp_path / "file").write_text("")
    for place in ("none/a.wav", "a.wav", "file/a.wav"):
        with pytest.raises(ModewrightError, match="expected a place to write to"):
            write_sound(sound_of(SAMPLES), tmp_path / place)
    assert sorted(p.name for p in tmp_path.iterdir()) == ["a.wav", "file"]


def test_failure_leaves_the_old_file_and_nothing_else(tmp_path, monkeypatch):
    path = tmp_path / "a.wav"
    write_sound(sound_of(SAMPLES), path)
    before = path.read_bytes()

    def full(*_):
        raise KeyboardInterrupt

    monkeypatch.setattr(soundfile.SoundFile, "write", full)
    with pytest.raises(KeyboardInterrupt):
        write_sound(sound_of(-SAMPLES), path)
    assert path.read_bytes() == before
    assert [p.name for p in tmp_path.iterdir()] == ["a.wav"]
