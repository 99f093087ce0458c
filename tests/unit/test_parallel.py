"""The same results one after another, on processes, and on a cluster."""

from __future__ import annotations

import math
import os
import signal
import subprocess
import sys
import time

import pytest

from modewright.errors import ModewrightError
from modewright.parallel import map_tasks

TASKS = [0.5, 1.5, 2.5, 3.5]


def test_serial_gives_every_task_in_order() -> None:
    assert list(map_tasks(math.sin, TASKS, "serial")) == [
        (i, math.sin(t)) for i, t in enumerate(TASKS)
    ]


@pytest.mark.slow
def test_processes_and_cluster_give_the_same() -> None:
    distributed = pytest.importorskip("distributed")
    expected = list(map_tasks(math.sin, TASKS, "serial"))
    assert sorted(map_tasks(math.sin, TASKS, "processes")) == expected
    with distributed.LocalCluster(
        n_workers=1, threads_per_worker=1, processes=False, dashboard_address=None
    ) as cluster:
        assert sorted(map_tasks(math.sin, TASKS, cluster.scheduler_address)) == expected


def test_address_that_is_none() -> None:
    with pytest.raises(ModewrightError, match="dask"):
        list(map_tasks(math.sin, TASKS, "nowhere://x"))


def dies_at_two(number: float) -> float:
    if number == 2:
        os.kill(os.getpid(), signal.SIGKILL)
    return number


@pytest.mark.slow
def test_a_process_that_is_killed_is_told_with_what_to_do() -> None:
    with pytest.raises(ModewrightError, match="killed") as told:
        list(map_tasks(dies_at_two, [2.0], "processes"))
    assert "run the same command again" in told.value.hint


@pytest.mark.slow
def test_workers_of_a_cluster_that_are_killed_are_told_with_what_to_do() -> None:
    distributed = pytest.importorskip("distributed")
    dask = pytest.importorskip("dask")
    with (
        dask.config.set({"distributed.scheduler.allowed-failures": 0}),
        distributed.LocalCluster(
            n_workers=1, threads_per_worker=1, processes=True, dashboard_address=None
        ) as cluster,
        pytest.raises(ModewrightError, match=r"workers of tcp.* killed"),
    ):
        list(map_tasks(dies_at_two, [2.0], cluster.scheduler_address))


CLUSTER = """
import time
from distributed import LocalCluster
with LocalCluster(
    n_workers=1, processes=False, protocol="tcp", host="127.0.0.1", dashboard_address=None
) as cluster:
    print(cluster.scheduler_address, flush=True)
    time.sleep(100)
"""


@pytest.mark.slow
def test_a_scheduler_that_is_lost_is_told_and_what_came_before_stands() -> None:
    pytest.importorskip("distributed")
    with subprocess.Popen(
        [sys.executable, "-c", CLUSTER], stdout=subprocess.PIPE, text=True, process_group=0
    ) as cluster:
        assert cluster.stdout is not None
        address = cluster.stdout.readline().strip()
        found = map_tasks(time.sleep, [0.0, 20.0], address)
        assert next(found) == (0, None)
        os.killpg(cluster.pid, signal.SIGKILL)
        with pytest.raises(ModewrightError, match=f"the scheduler {address} killed or lost"):
            list(found)
