"""A mode is addressed by its number, or by its label, which survives a change of order."""

from __future__ import annotations

import difflib
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

__all__ = ["ModeAddressError", "known_number", "mode_number"]

_LISTED_AT_MOST = 16
_CLOSE = 0.5
_LONGEST_WORD = 80


class ModeAddressError(ValueError):
    """No mode bears this number or label.

    Parameters
    ----------
    expected : str
        What would have been right.
    hint : str
        Labels that come close; empty if none does.
    """

    def __init__(self, expected: str, hint: str = "") -> None:
        super().__init__(f"expected {expected}. {hint}".strip())
        self.expected = expected
        self.hint = hint


def mode_number(address: int | str, labels: Sequence[str]) -> int:
    """Number of a mode, 1 being the lowest.

    Parameters
    ----------
    address : int or str
        Its number, or its label; case, blanks and the kind of minus sign do not matter.
    labels : sequence of str
        Of all modes, in rising order of frequency.

    Returns
    -------
    int

    Raises
    ------
    ModeAddressError
        If there is no such mode, or several bear the label; lists the labels.

    Examples
    --------
    >>> mode_number("Torsion 1", ["bending 1", "torsion 1"])
    2
    """
    if isinstance(address, int):
        if 1 <= address <= len(labels):
            return address
        raise ModeAddressError(f"a number from 1 to {len(labels)}")
    wanted = _folded(address)
    found = [i for i, label in enumerate(labels, 1) if _folded(label) == wanted]
    if len(found) == 1:
        return found[0]
    if found:
        raise ModeAddressError(
            f"a label that one mode bears, or a number: {' and '.join(map(str, found))} bear it"
        )
    raise ModeAddressError(
        f"a number from 1 to {len(labels)} or {_known(labels)}", _close(address, labels)
    )


def known_number(address: int | str) -> int:
    """The number of a mode whose label has been looked up.

    Raises
    ------
    TypeError
        If it is still a label.
    """
    if isinstance(address, str):
        raise TypeError(f'mode: expected a number, got the label "{address}" not looked up yet')
    return address


def _folded(label: str) -> str:
    return " ".join(label.casefold().replace("\N{MINUS SIGN}", "-").split())


def _known(labels: Sequence[str]) -> str:
    shown = [f'"{label}"' for label in labels[:_LISTED_AT_MOST]]
    rest = len(labels) - len(shown)
    return f"one of the labels {', '.join(shown)}" + (f" and {rest} more" if rest else "")


def _close(word: str, labels: Sequence[str]) -> str:
    if len(word) > _LONGEST_WORD:
        return ""
    by_folded = {_folded(label): label for label in labels}
    close = difflib.get_close_matches(_folded(word), list(by_folded), n=3, cutoff=_CLOSE)
    quoted = [f'"{by_folded[label]}"' for label in close]
    return f"Did you mean {' or '.join(quoted)}?" if quoted else ""
