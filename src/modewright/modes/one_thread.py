"""Linear algebra on one thread.

A door to the libraries that set the number of threads, which carry no types: hence the switches.
The dense matrices of the search have tens of columns, the sparse ones some thousands of rows:
threads spend longer on waiting for each other than on the work, several times longer where another
program wants the processor too. On one thread sums also come out the same every time.
"""

# pyright: reportMissingTypeStubs=false, reportUnknownMemberType=false
# pyright: reportUnknownVariableType=false, reportUnusedImport=false

from __future__ import annotations

import functools
from typing import TYPE_CHECKING, ParamSpec, TypeVar

# Each brings a library of linear algebra, which has to be there before threads can be limited.
import ngsolve
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
    """Let linear algebra, dense and sparse, run on one thread while a function runs."""

    @functools.wraps(function)
    def limited(*args: _Arguments.args, **kwargs: _Arguments.kwargs) -> _Result:
        # The factorisation starts threads of its own, which spin while they wait.
        ngsolve.SetNumThreads(1)
        with _CONTROLLER.limit(limits=1, user_api="blas"):
            return function(*args, **kwargs)

    return limited
