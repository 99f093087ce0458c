"""What keeps a board from being made."""

from __future__ import annotations

from modewright.errors import ModewrightError

__all__ = ["BoardError"]


class BoardError(ModewrightError):
    """A board cannot be laid out, or breaks a rule; nothing of it is written."""
