"""Bytes of every kind, from missing files to deep nesting."""

import pathlib
import re

import pytest

from modewright.design.lines import map_lines
from modewright.design.source import MAX_BYTES, parse_source, read_bytes
from modewright.errors import DesignError


@pytest.mark.parametrize(
    ("content", "expected"),
    [
        (b"", "got an empty file"),
        (b" \n\t\n", "got an empty file"),
        (b"\x89PNG\r\n\x1a\n\x00", "TOML, UTF-8.*got the byte 0x89 at position 0"),
        ('a = "b"\n'.encode("utf-16-le"), "f:1: file: .*got bytes of zero.*Save the file as UTF-8"),
        ('name = "Ä"\n'.encode("latin-1"), "f:1: file: .*got the byte 0xc4"),
        (b"a = 1\n\nb = [1, 2\nc = 3\n", "f:4: notation: expected TOML notation, got column"),
        (b"a = \n", "f:1: notation: expected a value after the equals sign"),
        (b'a = 1\nb = "x\nc = 1\n', 'f:2: notation: .*closing quote in the same line.*Add " at'),
        (b"a = ['x', \"y # z]\n", 'f:1: notation: expected a closing quote.*Add " at'),
        (b"a = 1\nb = 'x\n", "f:2: notation: expected a closing quote.*Add ' at"),
        (b'a = """x\n', "f:1: notation: expected TOML notation"),
        (b"a = 3 # it's\nb\n", "f:2: notation: expected TOML notation"),
        (b"[a\n", "f:1: notation"),
        (b"a = 1\na = 2\n", "f:2: notation: expected each key and table once.*Remove one"),
        (b"[a]\n[b]\n[a]\n", "f:3: notation: expected each key and table once"),
        (b"a = " + b"[" * 3000 + b"]" * 3000, "nested at most 16 deep"),
        (b"a = " + b"[" * 20 + b"]" * 20, "nested at most 16 deep"),
        (b".".join([b"a"] * 4000) + b" = 1", "nested at most 16 deep"),
        (b"a = " + b"9" * 5000, "f: notation|f:1: notation"),
        (b"a = 1 #" + b"x" * 20000, "f:1: file: expected at most 10000 characters in a line"),
        (b"#" * (MAX_BYTES + 1), "at most 1000000 bytes"),
        (b"a = 'x\x00'\n", "f:1: file: .*got bytes of zero"),
    ],
)
def test_damaged_content(content, expected):
    try:
        problems = parse_source(content, "f").problems
    except DesignError as error:
        problems = error.problems
    assert any(re.search(expected, str(problem)) for problem in problems), problems


def test_windows_line_ends_and_byte_order_mark():
    source = parse_source(b"\xef\xbb\xbf[a]\r\nb = 1\r\n")
    assert source.values == {"a": {"b": 1}}
    assert source.lines.of(("a", "b")) == 2


def test_missing_folder_and_large(tmp_path: pathlib.Path):
    with pytest.raises(DesignError, match="nothing of this name"):
        read_bytes(tmp_path / "none.toml")
    with pytest.raises(DesignError, match="got a folder"):
        read_bytes(tmp_path)
    large = tmp_path / "large.toml"
    large.write_bytes(b"#" * (MAX_BYTES + 1))
    with pytest.raises(DesignError, match=f"at most {MAX_BYTES} bytes, got {MAX_BYTES + 1}"):
        read_bytes(large)
    with pytest.raises(DesignError, match="file"):
        read_bytes(pathlib.Path("a\x00b"))
    with pytest.raises(DesignError, match="file"):
        read_bytes(pathlib.Path("x" * 5000))


LINES = '''# heading
title = "a # b"   # 2
multi = """
x = 1 [not] "a table"
"""
"quoted key".inner = 1

[a . b]
list = [1,
  {c = 1, "d]" = [2]},
]
[[a.e]]
f = 'x = 2'
[a.e.g]
h = 1979-05-27 07:32:00
[[a.e]]
f = 1'''


@pytest.mark.parametrize(
    ("path", "line"),
    [
        (("title",), 2),
        (("multi",), 3),
        (("quoted key",), 6),
        (("quoted key", "inner"), 6),
        (("a",), 8),
        (("a", "b"), 8),
        (("a", "b", "list"), 9),
        (("a", "b", "list", 1, "c"), 10),
        (("a", "b", "list", 1, "d]"), 10),
        (("a", "e"), 12),
        (("a", "e", 0), 12),
        (("a", "e", 0, "f"), 13),
        (("a", "e", 0, "g", "h"), 15),
        (("a", "e", 1), 16),
        (("a", "e", 1, "f"), 17),
        (("a", "e", 1, "missing"), 16),
        (("missing",), 0),
    ],
)
def test_lines_of_keys(path, line):
    assert map_lines(LINES).of(path) == line
