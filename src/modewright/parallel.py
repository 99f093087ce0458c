"""The same work one after another, on the cores of this machine, or on a cluster.

Every task is worked out by itself, so that the results are the same whichever way.
"""

# pyright: reportUnknownMemberType=false, reportUnknownVariableType=false
# pyright: reportUnknownArgumentType=false, reportMissingTypeStubs=false

from __future__ import annotations

import multiprocessing
import os
import signal
import threading
from concurrent.futures import CancelledError, ProcessPoolExecutor, as_completed
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from multiprocessing import resource_tracker
from typing import TYPE_CHECKING, TypeVar

from modewright.errors import ModewrightError

if TYPE_CHECKING:
    from collections.abc import Callable, Generator, Iterator, Sequence

__all__ = ["map_tasks"]

TaskT = TypeVar("TaskT")
ResultT = TypeVar("ResultT")


def map_tasks(
    function: Callable[[TaskT], ResultT], tasks: Sequence[TaskT], scheduler: str = "processes"
) -> Iterator[tuple[int, ResultT]]:
    """Work out tasks and give each result as soon as it is there.

    Parameters
    ----------
    function : callable
        At the top of a module, so that another process finds it.
    tasks : sequence
    scheduler : str
        ``serial``, ``processes``, or the address of a dask scheduler, ``tcp://host:port``.

    Yields
    ------
    tuple of (int, result)
        Number of the task, in the order in which they end.

    Raises
    ------
    ModewrightError
        If the scheduler cannot be reached or is lost, dask is not installed, or a process that was
        at work died; whatever was given before that stands.
    """
    if scheduler == "serial" or not tasks:
        yield from ((number, function(task)) for number, task in enumerate(tasks))
    elif scheduler == "processes":
        yield from _on_processes(function, tasks)
    else:
        yield from _on_cluster(function, tasks, scheduler)


def _on_processes(
    function: Callable[[TaskT], ResultT], tasks: Sequence[TaskT]
) -> Iterator[tuple[int, ResultT]]:
    # The field solver does not survive a fork.
    context = multiprocessing.get_context("spawn")
    workers = min(len(tasks), multiprocessing.cpu_count())
    pool = ProcessPoolExecutor(
        max_workers=workers, mp_context=context, initializer=_end_with_parent
    )
    try:
        with _interrupts_held():
            running = {pool.submit(function, task): number for number, task in enumerate(tasks)}
        for done in as_completed(running):
            yield running[done], done.result()
    except BrokenProcessPool as error:
        raise _died("one of the processes") from error
    finally:
        pool.shutdown(cancel_futures=True)


@contextmanager
def _interrupts_held() -> Generator[None]:
    """Start processes that never hear Ctrl-C: the parent, which does, ends their work.

    A terminal interrupts the whole group, and a worker would be hit wherever it is, in its imports
    or between two pieces as well. What is held back here reaches the parent afterwards.
    """
    # The tracker lets interrupts through again when it starts: let it start before.
    resource_tracker.ensure_running()
    held = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, held)


def _end_with_parent() -> None:
    """Let a worker end when its parent is killed, which would leave it waiting for ever."""
    threading.Thread(target=_wait_for_parent, daemon=True).start()


def _wait_for_parent() -> None:
    parent = multiprocessing.parent_process()
    if parent is not None:
        parent.join()
        os._exit(1)


def _on_cluster(
    function: Callable[[TaskT], ResultT], tasks: Sequence[TaskT], address: str
) -> Iterator[tuple[int, ResultT]]:
    try:
        from distributed import Client, KilledWorker
        from distributed import as_completed as as_ended
    except ImportError as error:
        raise ModewrightError(
            "--scheduler: expected dask, got none installed.",
            hint='Run: pip install "modewright[cluster]"',
        ) from error
    try:
        client = Client(address, timeout="10s")
    except (OSError, ValueError) as error:
        raise ModewrightError(
            f'--scheduler: expected a dask scheduler, got none at "{address}".',
            hint='Give "serial", "processes", or an address such as tcp://127.0.0.1:8786.',
        ) from error
    with client:
        futures = client.map(function, tasks, pure=False)
        running = {future.key: number for number, future in enumerate(futures)}
        try:
            for done in as_ended(futures):
                yield running[done.key], done.result()
        except KilledWorker as error:
            raise _died(f"several workers of {address}") from error
        except CancelledError as error:
            raise _died(f"the scheduler {address}") from error


def _died(who: str) -> ModewrightError:
    return ModewrightError(
        f"Expected every process to end its work, got {who} killed or lost, perhaps for want of "
        "memory.",
        hint="What is solved is kept: run the same command again, and it goes on from there. If it "
        'happens again, give "--scheduler serial".',
    )
