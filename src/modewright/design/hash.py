"""Content hash of a design: equal for equal bodies and electronics, however they are written."""

from __future__ import annotations

import dataclasses
import hashlib
import json
from typing import TYPE_CHECKING, Any

from modewright.design.read import kind_of
from modewright.design.source import MAX_DRAWING_BYTES, read_bytes
from modewright.parameters import spec_of

if TYPE_CHECKING:
    import pathlib

__all__ = ["SHORT_DIGITS", "content_hash", "short_hash"]

_DIGITS = 12
SHORT_DIGITS = 12


def content_hash(section: object, folder: pathlib.Path) -> str:
    """Hash of a design or of any of its sections.

    Independent of comments, order, spelling of units and of whether a default is written out.
    Quantities count to 12 significant digits. A file that the design refers to counts by its
    content, not by its name.

    Parameters
    ----------
    section : dataclass of parameters
        Design or section.
    folder : path
        Folder from which file names in the design are counted.

    Returns
    -------
    str
        SHA-256 in 64 hexadecimal digits.

    Raises
    ------
    DesignError
        If a file that the design refers to cannot be read.
    """
    canonical = json.dumps(_canonical(section, folder), sort_keys=True, separators=(",", ":"))
    return hashlib.sha256(canonical.encode("utf-8")).hexdigest()


def short_hash(section: object, folder: pathlib.Path) -> str:
    """First 12 digits of `content_hash`, for file names and pages."""
    return content_hash(section, folder)[:SHORT_DIGITS]


def _canonical(value: Any, folder: pathlib.Path) -> Any:  # noqa: ANN401 (any field)
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        fields = {
            field.name: _canonical_field(field, getattr(value, field.name), folder)
            for field in dataclasses.fields(value)
            if spec_of(field) is not None
        }
        return {"kind": kind_of(type(value)), "fields": fields}
    if isinstance(value, tuple):
        entries: tuple[Any, ...] = value  # pyright: ignore[reportUnknownVariableType]
        return [_canonical(entry, folder) for entry in entries]
    if isinstance(value, float):
        # Adding zero turns -0.0 into 0.0.
        return f"{value + 0.0:.{_DIGITS}g}"
    return value


def _canonical_field(
    field: dataclasses.Field[Any],
    value: Any,  # noqa: ANN401 (any field)
    folder: pathlib.Path,
) -> Any:  # noqa: ANN401
    if field.name == "file" and isinstance(value, str) and value:
        return hashlib.sha256(read_bytes(folder / value, MAX_DRAWING_BYTES)).hexdigest()
    return _canonical(value, folder)
