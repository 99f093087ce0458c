"""Faults of the system that no verb foresaw: told with place and what to do, never a traceback."""

import errno
import os

import pytest


@pytest.mark.parametrize(
    ("fault", "told"),
    [
        (
            OSError(errno.ENOSPC, os.strerror(errno.ENOSPC), "/some/file"),
            "/some/file: expected to read and write, got: No space left on device. Make room",
        ),
        (
            PermissionError(errno.EACCES, "Permission denied", b"/a"),
            "/a: expected to read and write, got: Permission denied. Choose another place",
        ),
        (OSError("odd"), "modewright: expected to read and write, got: odd. See whether"),
        (MemoryError(), "expected enough memory, got none left. Close other programs"),
    ],
)
def test_fault_of_the_system(fault, told, strip, monkeypatch, call):
    def fail(*_, **__):
        raise fault

    monkeypatch.setattr("modewright.cli.check.check_design", fail)
    ended = call("check", strip)
    assert (ended.code, ended.out) == (2, "")
    assert told in ended.err
    assert "Traceback" not in ended.err
