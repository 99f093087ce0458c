"""What the standard TOML reader can return."""

from __future__ import annotations

import datetime
from typing import TypeAlias, Union

__all__ = ["Toml", "TomlTable"]

Toml: TypeAlias = Union[
    str,
    int,
    float,
    bool,
    datetime.datetime,
    datetime.date,
    datetime.time,
    "list[Toml]",
    "dict[str, Toml]",
]
TomlTable: TypeAlias = dict[str, Toml]
