"""Files whole or not at all."""

import pathlib
from concurrent.futures import ThreadPoolExecutor

import pytest

from modewright.errors import ModewrightError
from modewright.workflows.files import (
    check_folder,
    check_place,
    made_folder,
    write_bytes,
    write_text,
)


def names(folder):
    return sorted(p.name for p in folder.iterdir())


def test_content_and_replacement(tmp_path):
    path = tmp_path / "a.txt"
    write_text(path, "⌀5 × 3\n")
    assert path.read_bytes() == "⌀5 × 3\n".encode()
    write_bytes(path, b"\x00\xff")
    assert path.read_bytes() == b"\x00\xff"
    assert names(tmp_path) == ["a.txt"]


def test_places_that_cannot_be_written_to(tmp_path):
    (tmp_path / "folder").mkdir()
    (tmp_path / "file").write_text("mine")
    for place, got in (
        ("none/a.txt", "No such file or directory"),
        ("folder", "Is a directory"),
        ("file/a.txt", "Not a directory"),
    ):
        with pytest.raises(ModewrightError, match=f"expected a place to write to, got: {got}"):
            write_text(tmp_path / place, "x")
    assert names(tmp_path) == ["file", "folder"]
    assert (tmp_path / "file").read_text() == "mine"


def test_stop_while_writing_keeps_the_old_file(tmp_path, monkeypatch):
    path = tmp_path / "a.txt"
    write_text(path, "old")
    original = pathlib.Path.write_bytes

    def half(self, content):
        original(self, content[: len(content) // 2])
        raise KeyboardInterrupt

    monkeypatch.setattr(pathlib.Path, "write_bytes", half)
    with pytest.raises(KeyboardInterrupt):
        write_text(path, "a much longer text")
    assert path.read_text() == "old"
    assert names(tmp_path) == ["a.txt"]


def test_full_disk_keeps_the_old_file(tmp_path, monkeypatch):
    path = tmp_path / "a.txt"
    write_text(path, "old")

    def full(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(pathlib.Path, "write_bytes", full)
    with pytest.raises(ModewrightError, match="got: No space left on device"):
        write_text(path, "new")
    assert path.read_text() == "old"
    assert names(tmp_path) == ["a.txt"]


def test_folder_with_its_parents(tmp_path):
    wanted = tmp_path / "a" / "b"
    assert made_folder(wanted) == wanted
    assert made_folder(wanted).is_dir()
    (wanted / "file").write_text("")
    for place in ("file", "file/c"):
        with pytest.raises(ModewrightError, match="expected a folder or nothing, got: "):
            made_folder(wanted / place)


def test_places_are_seen_before_long_work(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    check_place(pathlib.Path("a.txt"))
    for place in (".", "..", "/", str(tmp_path)):
        with pytest.raises(ModewrightError, match="expected a file to write, got a folder"):
            check_place(pathlib.Path(place))
    with pytest.raises(ModewrightError, match="got a folder"):
        write_text(pathlib.Path(), "x")
    with pytest.raises(ModewrightError, match="expected a folder that can be written to, got none"):
        check_place(pathlib.Path("none/a.txt"))
    assert names(tmp_path) == []


def test_made_up_file_systems_are_seen_before_long_work(tmp_path):
    """A user with all rights may write to /proc as far as its permissions tell."""
    for place in ("/proc/a.txt", "/proc/b/c.txt"):
        with pytest.raises(ModewrightError, match="expected a folder that can be written to, got"):
            check_place(pathlib.Path(place))
    for place in ("/proc", "/proc/a/b", "/sys/a"):
        with pytest.raises(ModewrightError, match="expected a folder that can be written to, got"):
            check_folder(pathlib.Path(place))
    check_folder(tmp_path)
    check_folder(tmp_path / "a" / "b")
    (tmp_path / "file").write_text("mine")
    for place in ("file", "file/a", "x" * 300):
        with pytest.raises(ModewrightError, match="expected a folder"):
            check_folder(tmp_path / place)
    assert names(tmp_path) == ["file"]


def test_threads_that_write_the_same_file_do_not_meet(tmp_path):
    path = tmp_path / "a.bin"
    contents = [bytes([number]) * 200_000 for number in range(8)]
    with ThreadPoolExecutor(8) as pool:
        list(pool.map(lambda content: write_bytes(path, content), contents * 20))
    assert path.read_bytes() in contents
    assert names(tmp_path) == ["a.bin"]


def test_name_as_long_as_the_file_system_bears(tmp_path):
    path = tmp_path / ("a" * 251 + ".txt")
    write_text(path, "x")
    assert path.read_text() == "x"
