"""Which mode a target names, by number or by label."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

__all__ = ["place_of_mode"]


def place_of_mode(name: str, labels: Sequence[str]) -> int | None:
    """Position of a mode among the modes of a body.

    Parameters
    ----------
    name : str
        Its label, its number counted from 1, or the beginning of one label only.
    labels : sequence of str
        Of all modes, in rising order.

    Returns
    -------
    int or None
        None if no mode, or more than one, is meant.

    Examples
    --------
    >>> labels = ("bending 1", "torsion 1", "bending 2")
    >>> place_of_mode("3", labels), place_of_mode("torsion", labels), place_of_mode("bend", labels)
    (2, 1, None)
    """
    if name.isdecimal():
        number = int(name)
        return number - 1 if 1 <= number <= len(labels) else None
    exact = [i for i, label in enumerate(labels) if label == name]
    begun = [i for i, label in enumerate(labels) if label.startswith(name)]
    found = exact or begun
    return found[0] if len(found) == 1 else None
