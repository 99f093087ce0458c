"""The design file that a new design starts from."""

from __future__ import annotations

import pathlib
from importlib import resources

from modewright.design.load import parse_design
from modewright.design.show import starter_text

__all__ = ["starter_design_text"]

_HEADER = """\
# A design for modewright.
#
# Quantities are text with their unit: "1.2 mm", "440 Hz", "20 degC". A line that starts with "#"
# shows the value that holds unless you change it: take the "#" away and write your own.
# See the complete design, or what is wrong with it, with: modewright check FILE

"""


def starter_design_text() -> str:
    """Commented design file that can be used as it stands.

    Returns
    -------
    str
        TOML; every key is explained by the description that the reader uses.
    """
    file = resources.files("modewright.design").joinpath("starter.toml")
    loaded = parse_design(file.read_bytes(), folder=pathlib.Path())
    return _HEADER + starter_text(loaded.design)
