"""Quantities that a user gives on the command line."""

from __future__ import annotations

from modewright.errors import TransducerError
from modewright.units import UnitError, parse_quantity

__all__ = ["positive_amount"]


def positive_amount(name: str, text: str, unit: str, example: str) -> float:
    """Read an amount above zero.

    Parameters
    ----------
    name : str
        Of the option.
    text : str
        As given.
    unit : str
        SI unit of the result.
    example : str
        What would do.

    Returns
    -------
    float
        [unit]

    Raises
    ------
    TransducerError
        If it is no such quantity, or not above zero.
    """
    try:
        value = parse_quantity(text, unit)
    except UnitError as error:
        raise TransducerError(
            f"{name}: expected {error.expected}, got {text}.", hint=f"Try {example}."
        ) from error
    if value <= 0:
        raise TransducerError(
            f"{name}: expected more than 0 {unit}, got {text}.", hint=f"Try {example}."
        )
    return value
