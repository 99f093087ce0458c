"""What can go wrong, said so that the reader knows what to do next.

Every error the tool raises on purpose is a `ModewrightError`. A front end catches that one class,
prints it and leaves with exit code 2; anything else is a fault of the program and keeps its
traceback.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

__all__ = [
    "BodyError",
    "DesignError",
    "GeometryError",
    "LoopError",
    "LossError",
    "ModeProblemsError",
    "ModewrightError",
    "PieceError",
    "Problem",
    "Remark",
    "ScoreError",
    "SheetError",
    "SolveError",
    "TransducerError",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class Problem:
    """One fault of an input file: what, expected, got, and what to do.

    Parameters
    ----------
    what : str
        The thing at fault, in the words of the file, such as ``resonator.length``.
    expected, got : str
        What would have been right, and what was found.
    hint : str
        What to do about it; empty if nothing sensible can be said.
    file : str
        Path as the user gave it; empty when the value came from no file.
    line : int
        Line number from 1; 0 when the fault belongs to no single line.
    key : str
        Section of the design file that brings the thing along, such as ``features[2]``, where
        `what` is not itself a key of the file.
    """

    what: str
    expected: str
    got: str
    hint: str = ""
    file: str = ""
    line: int = 0
    key: str = ""

    def __str__(self) -> str:
        hint = f" {self.hint}" if self.hint else ""
        what = f"{self.key}, {self.what}" if self.key else self.what
        place = _place_text(self.file, self.line)
        return f"{place}{what}: expected {self.expected}, got {self.got}.{hint}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Remark:
    """A sentence about an input file, where expected and got do not say it.

    Parameters
    ----------
    text : str
    key : str
        Section or key of the file that it is about.
    file, line : str, int
        As in `Problem`.
    """

    text: str
    key: str
    file: str = ""
    line: int = 0

    def __str__(self) -> str:
        return f"{_place_text(self.file, self.line)}{self.key}: {self.text}"


def _place_text(file: str, line: int) -> str:
    return f"{file}:{line}: " if line else f"{file}: " if file else ""


class ModewrightError(Exception):
    """Base of every error the tool raises on purpose.

    Parameters
    ----------
    message : str
        What, expected and got in one or two sentences.
    hint : str
        What to do next.
    """

    def __init__(self, message: str, *, hint: str = "") -> None:
        super().__init__(f"{message} {hint}".strip())
        self.message = message
        self.hint = hint


class DesignError(ModewrightError):
    """A design file cannot be used; carries every problem found in it.

    Parameters
    ----------
    problems : sequence of Problem or Remark
        At least one.
    """

    def __init__(self, problems: Sequence[Problem | Remark]) -> None:
        self.problems = tuple(problems)
        count = len(self.problems)
        title = f"{count} problem{'s' if count != 1 else ''} found:"
        super().__init__("\n".join([title, *(f"  {p}" for p in self.problems)]))


class PieceError(DesignError):
    """Tolerances make a piece that is no sound body, of a design that is one."""


class GeometryError(ModewrightError):
    """An outline, feature or support does not make a body."""


class SheetError(GeometryError):
    """The sheet of an instrument does not give the blanks of its notes."""


class BodyError(GeometryError):
    """The parts of a body do not fit together; carries every fault found.

    Parameters
    ----------
    problems : sequence of Problem or Remark
        At least one; a key of the design file tells where each comes from.
    """

    def __init__(self, problems: Sequence[Problem | Remark]) -> None:
        self.problems = tuple(problems)
        count = len(self.problems)
        lines = "\n".join(f"  {problem}" for problem in self.problems)
        one = str(self.problems[0])
        super().__init__(one if count == 1 else f"{count} faults of the body:\n{lines}")


class SolveError(ModewrightError):
    """A numerical solution was not found or cannot be trusted."""


class LossError(SolveError):
    """A mode loses nothing, or so much that it does not ring."""


class TransducerError(ModewrightError):
    """A pickup or driver cannot work as described.

    Parameters
    ----------
    message, hint : str
        As for every error.
    key : str
        Key of the design file that matters, such as ``bias`` in the section of the part, or
        ``pickups[1].bias``; empty where none does.
    """

    def __init__(self, message: str, *, hint: str = "", key: str = "") -> None:
        super().__init__(message, hint=hint)
        self.key = key

    def within(self, section: str) -> TransducerError:
        """The same error with its key counted from the whole file.

        Parameters
        ----------
        section : str
            Of the part, such as ``pickups[1]``.
        """
        key = f"{section}.{self.key}" if self.key else section
        return TransducerError(self.message, hint=self.hint, key=key)


class LoopError(ModewrightError):
    """A loop is unstable, hopeless or badly specified."""


class ModeProblemsError(LoopError):
    """A design or a score asks for modes that are not there; carries every fault found.

    Parameters
    ----------
    problems : sequence of Problem
        At least one; what each is about is a key of the file.
    """

    def __init__(self, problems: Sequence[Problem]) -> None:
        self.problems = tuple(problems)
        super().__init__("\n".join(str(problem) for problem in self.problems))


class ScoreError(ModewrightError):
    """A score cannot be played."""
