"""``modewright render``: sounds, told faults, and scores damaged at random."""

import pathlib
import random
import re

import numpy as np
import pytest
import soundfile

SCORE = """
length = "0.4 s"
start = "as stated"

[[strikes]]
at = "0.01 s"
strength = "80 %"
width = "1 ms"

[[holds]]
mode = 1
at = "0.05 s"
until = "0.3 s"
level = "12 um"
attack = "20 ms"
decay = "30 ms"
sustain = "70 %"
release = "40 ms"
then = "free"

[holds.oscillator]
rate = "8 Hz"
depth = "40 %"
phase = "90 deg"
shape = "triangle"

[[changes]]
at = "0.2 s"
mode = 4
to = "damped"

[[noises]]
at = "0.1 s"
until = "0.2 s"
level = "5 %"
seed = 7
"""


@pytest.fixture
def analysed_once(bench_g3, monkeypatch):
    """Take the analysis from the shared fixture: these tests are about what follows it."""
    monkeypatch.setattr("modewright.workflows.render.analyse", lambda *_, **__: bench_g3)


@pytest.fixture
def score(tmp_path):
    path = tmp_path / "score.toml"
    path.write_text(SCORE, encoding="utf-8")
    return path


def names(folder):
    return sorted(p.name for p in folder.iterdir())


def test_render_of_the_example(example, score, tmp_path, call):
    sound = tmp_path / "note.wav"
    ended = call("render", example, "--score", score, "-o", sound, "--accuracy", "draft")
    assert (ended.code, ended.err) == (0, "")
    told = re.match(r"(.*): 0\.40 s, full scale = ([\d.]+) V peak", ended.out)
    assert told[1] == str(sound)
    with soundfile.SoundFile(sound) as file:
        assert file.comment.startswith(f"full scale = {told[2]} V peak. design ")
        assert np.abs(file.read()).max() <= 10 ** (-3 / 20)
    assert names(tmp_path) == ["note.wav", "score.toml"]


@pytest.mark.usefixtures("analysed_once")
def test_example_score_and_both_kinds_of_file(example, tmp_path, call):
    swell = example.parent / "swell.toml"
    for words, subtype in ((("a.flac",), "PCM_24"), (("a.wav", "--depth", "32 bit"), "FLOAT")):
        ended = call("render", example, "--score", swell, "-o", tmp_path / words[0], *words[1:])
        assert ended.code == 0
        assert "8.00 s" in ended.out
        assert soundfile.info(tmp_path / words[0]).subtype == subtype


@pytest.mark.usefixtures("analysed_once")
@pytest.mark.parametrize(
    ("score", "part"),
    [
        ("", "expected a score written as text (TOML, UTF-8), got an empty file.\n"),
        ('length = "1 s"\nspeed = 3\n', ":2: speed: "),
        (
            'length = "1 s"\n[[holds]]\nmode = 6\nat = "0 s"\n',
            ':3: holds[1].mode: expected a treated mode (1 "',
        ),
        ('length = "1 s"\n[[holds]]\nmode = 1\nat = "2 s"\nuntil = "1 s"\n', "later than 2 s"),
        ('length = "2 h"\n', "length: expected"),
        ("length = \x00", "score.toml"),
    ],
    ids=["nothing", "unknown key", "untreated", "ends early", "too long", "no toml"],
)
def test_bad_scores_are_told(score, part, example, tmp_path, call):
    path = tmp_path / "score.toml"
    path.write_text(score, encoding="utf-8")
    ended = call("render", example, "--score", path, "-o", tmp_path / "a.wav")
    assert (ended.code, ended.out) == (2, "")
    assert part in ended.err
    assert names(tmp_path) == ["score.toml"]


@pytest.mark.usefixtures("analysed_once")
@pytest.mark.parametrize("name", ["none.toml", "none.mid", "."])
def test_missing_score(name, example, tmp_path, call):
    ended = call("render", example, "--score", tmp_path / name, "-o", tmp_path / "a.wav")
    assert ended.code == 2
    assert "nothing of this name" in ended.err or "got a folder" in ended.err
    assert names(tmp_path) == []


@pytest.mark.usefixtures("analysed_once")
def test_file_that_is_no_midi(example, tmp_path, call):
    (tmp_path / "a.mid").write_bytes(b"not music")
    ended = call("render", example, "--score", tmp_path / "a.mid", "-o", tmp_path / "a.wav")
    assert ended.code == 2
    assert "a.mid: expected a standard MIDI file" in ended.err


@pytest.mark.parametrize(
    ("name", "words"), [("a.mp3", ()), ("a", ()), ("a.flac", ("--depth", "32 bit"))]
)
def test_wrong_ending_is_told_before_anything_is_computed(
    name, words, example, score, tmp_path, monkeypatch, call
):
    monkeypatch.setattr("modewright.workflows.render.analyse", None)
    ended = call("render", example, "--score", score, "-o", tmp_path / name, *words)
    assert ended.code == 2
    assert "expected .wav (24 or 32 bit) or .flac (24 bit)" in ended.err


@pytest.mark.usefixtures("analysed_once")
def test_unwritable_output(example, tmp_path, call):
    (tmp_path / "a.wav").mkdir()
    unread = tmp_path / "no_score.toml"  # not even looked at
    for place, fault in (
        ("no/such/folder.wav", "expected a folder that can be written to, got "),
        ("/proc/a.wav", "expected a folder that can be written to, got /proc "),
        ("a.wav", "expected a file to write, got a folder"),
        ("a.ogg", "Write to a.wav."),
    ):
        ended = call("render", example, "--score", unread, "-o", tmp_path / place)
        assert ended.code == 2
        assert fault in ended.err
    assert names(tmp_path) == ["a.wav"]


@pytest.mark.usefixtures("analysed_once")
def test_interrupted_render_leaves_the_old_file(example, score, tmp_path, monkeypatch, call):
    sound = tmp_path / "a.wav"
    sound.write_bytes(b"an older sound")

    def stop(*_):
        raise KeyboardInterrupt

    monkeypatch.setattr(soundfile.SoundFile, "write", stop)
    ended = call("render", example, "--score", score, "-o", sound)
    assert (ended.code, ended.err.strip()) == (130, "Interrupted.")
    assert sound.read_bytes() == b"an older sound"
    assert names(tmp_path) == ["a.wav", "score.toml"]


def test_options_that_are_missing(example, call):
    ended = call("render", example)
    assert ended.code == 2
    assert "Missing option" in ended.err


# Numbers that replace one of a score; the length is left alone, lest a test play for an hour.
NUMBERS = [
    "0",
    "-1",
    "1e-12",
    "3",
    "1e9",
    "1e300",
    "nan",
    "inf",
    "1e-320",
    "0.05",
    "99999999999999",
]
WORDS = ["", '"', "[", "]", "=", "[[holds]]", "[holds]", "\n", "null", "''", "mode = 2", "\ufeff",
         "é", "\x07", "true", "{}", "until", "1 s", "um", "%"]  # fmt: skip
QUANTITY = re.compile(r"(?<=\")[\d.]+(?= )|(?<== )\d+")


def damaged(rng):
    """Score with one to three faults: a number, a piece of text, or a line of it."""
    text = SCORE
    for _ in range(rng.randint(1, 3)):
        kind = rng.randrange(4)
        if kind < 2:
            found = [m for m in QUANTITY.finditer(text) if m.start() > text.find("start")]
            if found:
                one = rng.choice(found)
                text = text[: one.start()] + rng.choice(NUMBERS) + text[one.end() :]
        elif kind == 2:
            at = rng.randrange(len(text))
            text = text[:at] + rng.choice(WORDS) + text[at + rng.randint(0, 5) :]
        else:
            lines = text.splitlines()
            one, other = rng.randrange(len(lines)), rng.randrange(len(lines))
            lines[one] = rng.choice(["", lines[other]])
            text = "\n".join(lines)
    return text


@pytest.mark.usefixtures("analysed_once")
def test_damaged_scores_are_played_or_told(example, tmp_path, call):
    rng = random.Random(11)  # noqa: S311 (not a secret)
    score, sound = tmp_path / "score.toml", tmp_path / "a.wav"
    played = 0
    for _ in range(300):
        score.write_text(damaged(rng), encoding="utf-8")
        ended = call("render", example, "--score", score, "-o", sound)
        assert ended.code in (0, 2), pathlib.Path(score).read_text(encoding="utf-8")
        if ended.code == 2:
            assert "expected" in ended.err
            assert not sound.exists()
            continue
        played += 1
        assert np.isfinite(soundfile.read(sound)[0]).all()
        sound.unlink()
    assert 30 < played < 270, played


@pytest.mark.usefixtures("analysed_once")
def test_scores_of_any_bytes_are_told(example, tmp_path, call):
    rng = random.Random(12)  # noqa: S311 (not a secret)
    score = tmp_path / "score.toml"
    for _ in range(50):
        content = bytearray(SCORE.encode())
        for _ in range(20):
            content[rng.randrange(len(content))] = rng.randrange(256)
        score.write_bytes(content)
        ended = call("render", example, "--score", score, "-o", tmp_path / "a.wav")
        assert ended.code == 2


def test_settings_of_strike_and_listening_have_limits(example, score, tmp_path, call):
    text = example.read_text(encoding="utf-8")
    text, count = re.subn(r'(?m)^force = ".*"$', 'force = "1e300 N"', text)
    assert count == 1
    design = tmp_path / "design.toml"
    design.write_text(text + '\n[listening]\nceiling = "-1e9 dB"\n', encoding="utf-8")
    ended = call("render", design, "--score", score, "-o", tmp_path / "a.wav")
    assert ended.code == 2
    assert "strike.force: expected at most 10000 N" in ended.err
    assert "listening.ceiling: expected at least -100 dB" in ended.err


BLOW = 'length = "1 s"\n[[strikes]]\nat = "0 s"\n'


def test_bare_body_is_heard_as_motion_in_metres(strip, tmp_path, call):
    score = tmp_path / "score.toml"
    score.write_text(BLOW, encoding="utf-8")
    ended = call("render", strip, "--score", score, "-o", tmp_path / "a.wav", "--accuracy", "draft")
    assert (ended.code, ended.err) == (0, "")
    assert "the sound is the motion of the reference point" in ended.out
    with soundfile.SoundFile(tmp_path / "a.wav") as file:
        assert re.match(r"full scale = [\d.e-]+ m peak\. ", file.comment)
        assert np.abs(file.read()).max() == pytest.approx(10 ** (-3 / 20), abs=1e-4)


def test_score_that_needs_a_loop_says_at_once_what_to_add(strip, tmp_path, monkeypatch, call):
    def never(*_, **__):
        raise AssertionError("nothing long should have begun")

    monkeypatch.setattr("modewright.chain.body.solve_modes", never)
    score = tmp_path / "score.toml"
    score.write_text(BLOW + '[[holds]]\nmode = 1\nat = "0 s"\n', encoding="utf-8")
    ended = call("render", strip, "--score", score, "-o", tmp_path / "a.wav")
    assert ended.code == 2
    assert "loop: expected a pickup and a driver, got a design without." in ended.err
    score.write_text("length = 3\n", encoding="utf-8")
    ended = call("render", strip, "--score", score, "-o", tmp_path / "a.wav")
    assert "score.toml:1: length: expected" in ended.err


@pytest.mark.parametrize("content", [b"", b"garbage"])
def test_damaged_midi_files_are_told_in_words(content, example, tmp_path, call):
    path = tmp_path / "score.mid"
    path.write_bytes(content)
    ended = call("render", example, "--score", path, "-o", tmp_path / "a.wav")
    assert ended.code == 2
    assert "expected a standard MIDI file, got" in ended.err
    assert "got: ." not in ended.err


LATE = BLOW + '[[strikes]]\nat = "0.99 s"\n[[strikes]]\nat = "1 s"\n[[strikes]]\nat = "40 s"\n'


def test_events_after_the_end_and_rates_in_fractions_are_told(strip, tmp_path, call):
    score, design = tmp_path / "score.toml", tmp_path / "design.toml"
    score.write_text(LATE, encoding="utf-8")
    text = strip.read_text(encoding="utf-8")
    design.write_text(text + '\n[electronics]\nconverter_rate = "47999.5 Hz"\n', encoding="utf-8")
    words = ("--score", score, "--accuracy", "draft", "-o")
    ended = call("render", design, *words, tmp_path / "a.wav")
    assert ended.code == 0
    told = "is not heard: strikes[3] at 1 s, strikes[4] at 40 s. Make the score longer"
    assert told in ended.out
    assert "sounds +0.0180 cents off" in ended.out
    text = design.read_text(encoding="utf-8").replace("47999.5 Hz", "96001 Hz")
    design.write_text(text, encoding="utf-8")
    ended = call("render", design, *words, tmp_path / "b.flac")
    assert ended.code == 2
    assert "b.flac: expected a sampling rate that FLAC can hold, got 96001 Hz." in ended.err
    assert names(tmp_path) == ["a.wav", "design.toml", "score.toml", "strip.toml"]
