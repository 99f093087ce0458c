"""Standard MIDI files as scores, made here with the MIDI library or byte by byte."""

import random
import struct

import mido
import pytest

from made_up_plant import make_plant
from modewright.errors import ScoreError
from modewright.loop.close import close_loop
from modewright.loop.settings import LoopSettings, ModeControl
from modewright.sound.midi_score import read_midi, score_from_midi

TICKS = 480


@pytest.fixture(scope="module")
def regulators():
    controls = (
        ModeControl(mode=1, level_m=40e-6),
        ModeControl(mode=2, level_m=20e-6),
        ModeControl(mode=4, level_m=10e-6),
    )
    return close_loop(make_plant(), LoopSettings(modes=controls)).regulators


def saved(folder, *tracks, kind=1):
    file = mido.MidiFile(type=kind, ticks_per_beat=TICKS)
    for messages in tracks:
        file.tracks.append(mido.MidiTrack(messages))
    path = folder / "score.mid"
    file.save(path)
    return path


def note(velocity, time, kind="note_on"):
    return mido.Message(kind, note=55, velocity=velocity, time=time)


def turn(control, value, time):
    return mido.Message("control_change", control=control, value=value, time=time)


def tempo(bpm, time=0):
    return mido.MetaMessage("set_tempo", tempo=mido.bpm2tempo(bpm), time=time)


def changes_of(score, mode):
    """What happens to a mode; 0 stands for all of them."""
    return [(c.at_s, c.to) for c in score.changes if c.mode in (0, mode)]


def test_notes_strike_and_releases_damp(tmp_path, regulators):
    # 120 beats per minute unless a tempo is set (Standard MIDI Files 1.0).
    notes = [note(127, TICKS), note(0, TICKS), note(64, 0), note(9, TICKS, "note_off")]
    path = saved(tmp_path, notes, kind=0)
    score = score_from_midi(read_midi(path), regulators)
    assert [(s.at_s, s.strength) for s in score.strikes] == [(0.5, 1.0), (1.0, 64 / 127)]
    for mode in (1, 2, 4):
        assert changes_of(score, mode) == [
            (0.5, "free"), (1.0, "damped"), (1.0, "free"), (1.5, "damped"),
        ]  # fmt: skip
    assert score.length_s == pytest.approx(1.5 + 3)
    assert score.holds == ()


def test_tempo_changes_in_another_track(tmp_path, regulators):
    tempos = [tempo(60), tempo(240, TICKS), tempo(30, 2 * TICKS)]
    notes = [note(1, TICKS), note(2, TICKS), note(3, TICKS), note(4, TICKS)]
    score = score_from_midi(read_midi(saved(tmp_path, tempos, notes)), regulators)
    # One beat of 1 s, two of 0.25 s, then beats of 2 s.
    assert [s.at_s for s in score.strikes] == pytest.approx([1.0, 1.25, 1.5, 3.5], abs=1e-5)


def test_controllers_hold_the_treated_modes_in_their_order(tmp_path, regulators):
    turns = [
        turn(16, 127, 0),
        turn(18, 64, TICKS),  # third treated mode: number 4
        turn(16, 32, TICKS),
        turn(7, 100, 0),  # volume is none of ours
        turn(19, 127, 0),  # there is no fourth treated mode
        turn(16, 0, TICKS),
        turn(18, 0, TICKS),
        note(0, 2 * TICKS),
    ]
    score = score_from_midi(read_midi(saved(tmp_path, turns)), regulators)
    found = sorted((h.mode, h.at_s, h.until_s, h.level_m) for h in score.holds)
    wanted = [
        (1, 0.0, 1.0, 40e-6),
        (1, 1.0, 1.5, 40e-6 * 32 / 127),
        (4, 0.5, 2.0, 10e-6 * 64 / 127),
    ]
    for row, expected in zip(found, wanted, strict=True):
        assert row == pytest.approx(expected)


def test_notes_leave_alone_what_a_controller_holds(tmp_path, regulators):
    track = [turn(17, 127, 0), note(90, TICKS), note(0, TICKS), turn(17, 0, TICKS), note(90, TICKS)]
    score = score_from_midi(read_midi(saved(tmp_path, track)), regulators)
    assert changes_of(score, 1) == [(0.5, "free"), (1.0, "damped"), (2.0, "free")]
    assert changes_of(score, 2) == [(2.0, "free")]


def test_controller_that_is_never_released_holds_to_the_end(tmp_path, regulators):
    path = saved(tmp_path, [turn(17, 127, 0), note(0, TICKS)])
    score = score_from_midi(read_midi(path), regulators)
    (hold,) = score.holds
    assert (hold.mode, hold.until_s) == (2, pytest.approx(score.length_s))


def variable_length(number):
    """Variable-length quantity of Standard MIDI Files 1.0: seven bits per byte, highest first."""
    found = [number & 127]
    while number := number >> 7:
        found.insert(0, number & 127 | 128)
    return bytes(found)


def raw_file(track, kind=0, tracks=1, division=TICKS):
    head = b"MThd" + struct.pack(">IHHH", 6, kind, tracks, division & 0xFFFF)
    return head + b"MTrk" + struct.pack(">I", len(track)) + track


END = b"\x00\xff\x2f\x00"


def test_running_status(tmp_path, regulators):
    # One status byte, then four controller values under it (MIDI 1.0, running status).
    track = b"\x00\xb0\x10\x7f" + b"".join(
        variable_length(240) + bytes([16, value]) for value in (64, 32, 0)
    )
    path = tmp_path / "running.mid"
    path.write_bytes(raw_file(track + END))
    holds = score_from_midi(read_midi(path), regulators).holds
    assert [h.at_s for h in holds] == pytest.approx([0, 0.25, 0.5])
    assert [h.until_s for h in holds] == pytest.approx([0.25, 0.5, 0.75])
    assert [h.level_m for h in holds] == pytest.approx([40e-6, 40e-6 * 64 / 127, 40e-6 * 32 / 127])


NOTE = b"\x00\x90\x37\x7f" + variable_length(TICKS) + b"\x37\x00"


@pytest.mark.parametrize(
    ("content", "got"),
    [
        (b"", "a file that ends too early"),
        (b"not music", "no MIDI file"),
        (b"RIFF" + raw_file(NOTE + END), "no MIDI file"),
        (raw_file(NOTE + END).replace(b"MTrk", b"MUSI"), "a damaged file"),
        (raw_file(NOTE + END)[:-3], "a file that ends too early"),
        (raw_file(NOTE + END, kind=2), "type 2, whose tracks do not sound together"),
        (raw_file(NOTE + END, kind=7), "type 7, whose tracks"),
        (raw_file(NOTE + END, division=0), "a beat divided into no parts at all"),
        # 25 frames per second, 40 ticks each
        (raw_file(NOTE + END, division=-(25 << 8) + 40), "time counted in film frames"),
        (raw_file(b"\x00\xff\x59\x02\x63\x07" + NOTE + END), "a damaged file"),
        (raw_file(b"\x00\x37\x7f" + END), "a damaged file"),
        (raw_file(b"\x00\x90\x37\xf0" + END), "a damaged file"),
    ],
    ids=["empty", "short", "no midi", "no track", "cut short", "type 2", "type 7", "no division",
         "frames", "99 sharps", "no status", "a number above 127"],
)  # fmt: skip
def test_what_cannot_be_played_is_told_in_our_own_words(content, got, tmp_path):
    path = tmp_path / "score.mid"
    path.write_bytes(content)
    with pytest.raises(ScoreError) as told:
        read_midi(path)
    assert f"score.mid: expected a standard MIDI file, got: {got}" in str(told.value)
    assert "save it as a MIDI file of type 0 or 1" in str(told.value)


def test_missing_file(tmp_path, regulators):
    with pytest.raises(ScoreError, match=r"expected a standard MIDI file, got: .*No such file"):
        score_from_midi(read_midi(tmp_path / "none.mid"), regulators)


def test_longer_than_an_hour(tmp_path, regulators):
    path = saved(tmp_path, [note(1, 2 * 3600 * TICKS)])
    with pytest.raises(ScoreError, match="expected at most an hour, got 3600 s"):
        score_from_midi(read_midi(path), regulators)


def sound_file(folder):
    tempos = [mido.MetaMessage("key_signature", key="G"), tempo(100), tempo(90, 960)]
    notes = [note(80, 0), turn(16, 90, 30), note(0, 480), turn(16, 0, 100)]
    notes.append(note(70, 20, "note_off"))
    return saved(folder, tempos, notes).read_bytes()


def damaged(content, rng):
    found = bytearray(content)
    for _ in range(rng.randint(1, 4)):
        place = rng.randrange(len(found))
        what = rng.randrange(4)
        if what == 0:
            found[place] = rng.randrange(256)
        elif what == 1:
            del found[place : place + rng.randint(1, 6)]
        elif what == 2:
            found[place:place] = rng.randbytes(rng.randint(1, 6))
        else:
            found[place] = rng.choice([0, 0x7F, 0x80, 0xFF])
        if not found:
            break
    return bytes(found)


def test_damaged_files_are_played_or_told(tmp_path, regulators):
    content = sound_file(tmp_path)
    rng = random.Random(7)  # noqa: S311 (not a secret)
    path = tmp_path / "damaged.mid"
    told = 0
    for _ in range(600):
        path.write_bytes(damaged(content, rng))
        try:
            score = score_from_midi(read_midi(path), regulators)
        except ScoreError:
            told += 1
            continue
        assert 0 < score.length_s <= 3600
        for section in (*score.strikes, *score.holds, *score.changes):
            assert section.at_s >= 0
        assert all(0 < s.strength <= 1 for s in score.strikes)
        assert not [fault for h in score.holds for fault in h.problems()]
    assert 100 < told < 600
