"""The table of materials that comes with the tool."""

from __future__ import annotations

import tomllib
from functools import lru_cache
from importlib import resources

from modewright.materials.model import ROOM_TEMPERATURE_K, Material, Sourced

__all__ = ["material_named", "material_names"]


@lru_cache(maxsize=1)
def _table() -> dict[str, Material]:
    text = (
        resources.files("modewright.materials").joinpath("table.toml").read_text(encoding="utf-8")
    )
    rows: dict[str, dict[str, dict[str, float | str]]] = tomllib.loads(text)
    return {name: _material(name, row) for name, row in rows.items()}


def _material(name: str, row: dict[str, dict[str, float | str]]) -> Material:
    constants = {key: _sourced(entry) for key, entry in row.items()}
    return Material(name=name, temperature_k=ROOM_TEMPERATURE_K, **constants)


def _sourced(entry: dict[str, float | str]) -> Sourced:
    return Sourced(
        value=float(entry["value"]), spread=float(entry["spread"]), source=str(entry["source"])
    )


def material_names() -> tuple[str, ...]:
    """Names of all materials of the table, in its order."""
    return tuple(_table())


def material_named(name: str) -> Material:
    """Material of the table at 20 °C.

    Parameters
    ----------
    name : str
        One of `material_names`.

    Returns
    -------
    Material

    Raises
    ------
    ValueError
        If the table has no such row.

    Examples
    --------
    >>> material_named("carbon spring steel").youngs_modulus_pa.value
    207000000000.0
    """
    if name not in _table():
        raise ValueError(f"name: expected one of {', '.join(_table())}; got {name}")
    return _table()[name]
