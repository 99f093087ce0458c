"""Sound files read back with the audio file library."""

import numpy as np
import pytest
import soundfile

from modewright.errors import ModewrightError, ScoreError
from modewright.sound.audio_file import check_sound, write_sound
from modewright.sound.performance import Performance, make_sound
from modewright.sound.scaling import Sound
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


@pytest.mark.parametrize("rate_hz", [96001.0, 768e3, 0.3, 3e9])
def test_rate_that_flac_cannot_hold_is_refused_before_anything_is_written(rate_hz, tmp_path):
    sound = Sound(samples=SAMPLES, rate_hz=rate_hz, full_scale=1.0, unit="V", lowered_db=0.0)
    with pytest.raises(ScoreError, match="expected a sampling rate that FLAC can hold"):
        write_sound(sound, tmp_path / "a.flac")
    assert list(tmp_path.iterdir()) == []
    if 1 < rate_hz < 1e9:
        write_sound(sound, tmp_path / "a.wav")
        assert soundfile.info(tmp_path / "a.wav").samplerate == rate_hz


def test_file_of_more_than_four_gigabytes_is_refused(tmp_path):
    for depth, longest in (("24 bit", 2**32 / 3), ("32 bit", 2**32 / 4)):
        check_sound(tmp_path / "a.wav", depth, 400e3, int(longest) - 2000)
        with pytest.raises(ScoreError, match=r"a\.wav: expected at most .* s at this"):
            check_sound(tmp_path / "a.wav", depth, 400e3, int(longest) + 1)


def test_file_of_a_rate_in_fractions_of_hertz_says_how_far_off_it_sounds(tmp_path):
    sound = Sound(samples=SAMPLES, rate_hz=47999.5, full_scale=1.0, unit="V", lowered_db=0.0)
    write_sound(sound, tmp_path / "a.wav")
    with soundfile.SoundFile(tmp_path / "a.wav") as file:
        wanted = 1200 * np.log2(file.samplerate / 47999.5)
        assert f"Sounds {wanted:+.4f} cents off: the loop runs at 47999.5 Hz" in file.comment
    assert abs(wanted) == pytest.approx(0.018, abs=5e-4)
