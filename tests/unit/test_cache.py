"""Kept results: the same arrays back, or none; never something else."""

import dataclasses
import os
import random
import time

import numpy as np
import pytest

from modewright.cache import cache_folder, fingerprint, keep_arrays, kept_arrays
from modewright.errors import ModewrightError

KEY = fingerprint("a key")
ARRAYS = {
    "values": np.array([1.5, -0.0, np.pi]),
    "words": np.array(["bending 1", "torsion 2"]),
    "order": np.array(3),
}


@pytest.fixture(autouse=True)
def folder(tmp_path, monkeypatch):
    chosen = tmp_path / "made when needed"
    monkeypatch.setenv("MODEWRIGHT_CACHE", str(chosen))
    return chosen


def check_same(found):
    assert set(found) == set(ARRAYS)
    for name, array in ARRAYS.items():
        assert found[name].dtype == array.dtype
        assert found[name].tobytes() == array.tobytes()


def test_same_bits_come_back(folder):
    assert kept_arrays("modes", KEY) is None
    keep_arrays("modes", KEY, ARRAYS)
    check_same(kept_arrays("modes", KEY))
    assert kept_arrays("modes", fingerprint("another")) is None
    assert kept_arrays("others", KEY) is None
    assert len(list(folder.iterdir())) == 1


def test_damaged_files_count_as_missing(folder):
    keep_arrays("modes", KEY, ARRAYS)
    (file,) = folder.iterdir()
    content = file.read_bytes()
    rng = random.Random(5)  # noqa: S311 (not a secret)
    for case in range(400):
        damaged = bytearray(content)
        if case % 4 == 0:
            damaged = damaged[: rng.randrange(len(content))]
        else:
            place = rng.randrange(len(content))
            damaged[place] ^= rng.randint(1, 255)
        file.write_bytes(damaged)
        assert kept_arrays("modes", KEY) is None
    keep_arrays("modes", KEY, ARRAYS)
    check_same(kept_arrays("modes", KEY))


def test_parts_that_a_killed_process_left_are_dropped_and_young_ones_stay(folder):
    keep_arrays("modes", KEY, ARRAYS)
    old, young, other = (folder / name for name in (".0a.part", ".0b.part", "notes.part"))
    for path in (old, young, other):
        path.write_bytes(b"half")
    for path in (old, other):
        os.utime(path, (time.time() - 2 * 24 * 3600,) * 2)
    keep_arrays("modes", fingerprint("next"), ARRAYS)
    assert [path.exists() for path in (old, young, other)] == [False, True, True]
    check_same(kept_arrays("modes", KEY))


def test_only_so_many_are_kept(folder, monkeypatch):
    monkeypatch.setattr("modewright.cache._KEEP_AT_MOST", 3)
    for number in range(6):
        keep_arrays("modes", fingerprint(number), ARRAYS)
    assert len(list(folder.iterdir())) == 3
    check_same(kept_arrays("modes", fingerprint(5)))


def test_unusable_folder_is_told(tmp_path, monkeypatch):
    (tmp_path / "file").write_text("")
    monkeypatch.setenv("MODEWRIGHT_CACHE", str(tmp_path / "file" / "folder"))
    for use in (lambda: kept_arrays("modes", KEY), lambda: keep_arrays("modes", KEY, ARRAYS)):
        with pytest.raises(ModewrightError, match=r"expected a folder to keep results in, got: "):
            use()


def test_where_it_lies(tmp_path, monkeypatch):
    monkeypatch.delenv("MODEWRIGHT_CACHE")
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "xdg"))
    assert cache_folder() == tmp_path / "xdg/modewright"
    monkeypatch.delenv("XDG_CACHE_HOME")
    monkeypatch.setenv("HOME", str(tmp_path))
    assert cache_folder() == tmp_path / ".cache/modewright"


@dataclasses.dataclass
class Box:
    width: float
    height: float


@dataclasses.dataclass
class Crate:
    width: float
    height: float


def test_fingerprint_tells_contents_apart():
    things = [
        (1,), (1.0,), (True,), ("1",), (None,), ((1,),), (1, 2), ((1, 2),), (12,), ("1", "2"),
        ("12",), (Box(1.0, 2.0),), (Box(2.0, 1.0),), (Crate(1.0, 2.0),),
        (np.array([1.0, 2.0]),), (np.array([[1.0, 2.0]]),), (np.array([1, 2]),),
        (np.array([1.0, 2.0], dtype=np.float32),), (np.array([0.0]),), (np.array([-0.0]),),
    ]  # fmt: skip
    found = [fingerprint(*thing) for thing in things]
    assert len(set(found)) == len(things)
    assert fingerprint(Box(1.0, 2.0)) == fingerprint(Box(1.0, 2.0))
    assert fingerprint(np.eye(3)) == fingerprint(np.asfortranarray(np.eye(3)))


def test_fingerprint_of_another_version_differs(monkeypatch):
    before = fingerprint(1)
    monkeypatch.setattr("modewright.cache.__version__", "99.0")
    assert fingerprint(1) != before


def test_fingerprint_refuses_what_it_cannot_see_into():
    with pytest.raises(TypeError, match="expected plain contents, got set"):
        fingerprint((1, {2}))
