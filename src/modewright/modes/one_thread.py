"""Linear algebra on one thread.

A door to the library that sets the number of threads, which carries no types: hence the switches.
The dense matrices of the search have tens of columns: threads spend longer on waiting for each
other than on the work, several times longer where another program wants the processor too.
"""

# pyright: reportMissingTypeStubs=false, reportUnknownMemberType=false
# pyright: reportUnknownVariableType=false, reportUnusedImport=false

from __future__ import annotations

import functools
from typing import TYPE_CHECKING, ParamSpec, TypeVar

# Each brings a library of linear algebra, which has to be there before threads can be limited.
import ngsolve  # noqa: F401
import numpy.linalg  # noqa: F401
import scipy.linalg  # noqa: F401
from threadpoolctl import ThreadpoolController

if TYPE_CHECKING:
    from collections.abc import Callable

__all__ = ["on_one_thread"]

_Arguments = ParamSpec("_Arguments")
_Result = TypeVar("_Result")

_CONTROLLER = ThreadpoolController()


def on_one_thread(function: Callable[_Arguments, _Result]) -> Callable[_Arguments, _Result]:
    """Let dense linear algebra run on one thread while a function runs."""

    @functools.wraps(function)
    def limited(*args: _Arguments.args, **kwargs: _Arguments.kwargs) -> _Result:
        with _CONTROLLER.limit(limits=1, user_api="blas"):
            return function(*args, **kwargs)

    return limited
