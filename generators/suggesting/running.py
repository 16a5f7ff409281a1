"""Where a sweep's work runs: in this process, over all cores, or on a Dask cluster.

Whatever runs it, the answers come in the order of the jobs, so results do not depend on it.
"""

from __future__ import annotations

import importlib
import logging
import multiprocessing
import os
import signal
import threading
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any, TypeVar

from layouts.suggesting.setting import Setting

if TYPE_CHECKING:
    from layouts.suggesting.runner import Runner

__all__ = ["ClusterError", "cores", "on_cluster", "over_processes", "quiet"]

CONNECT_S = 5.0  # an address that answers does so at once
CHUNK = 4  # estimates are short: handed out one by one they would wait for the post
_Job = TypeVar("_Job")
_Answer = TypeVar("_Answer")
Progress = Callable[[str, float], None]

_setting: list[Setting] = []  # of a worker process: handed over once, not with every job


class ClusterError(Exception):
    """The cluster can't be used; the message is one line."""


def quiet(stage: str, share: float) -> None:
    """Reports no progress."""


def cores() -> int:
    """How many processes may run at once here."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


def _take(setting: Setting) -> None:
    """Begins a worker: it keeps the setting, leaves stopping to the process that began it, and ends
    with that one where it is killed: the pool's own pipes don't tell."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    threading.Thread(target=_end_with_parent, daemon=True).start()
    _setting[:] = [setting]


def _end_with_parent() -> None:
    parent = multiprocessing.parent_process()
    if parent is not None:
        parent.join()
        os._exit(1)


def _do(work: Callable[[Setting, Any], Any], job: Any) -> Any:
    return work(_setting[0], job)


@contextmanager
def over_processes(
    setting: Setting, jobs: int, report_progress: Progress = quiet
) -> Iterator[Runner]:
    """A runner over ``jobs`` fresh processes; for one the work is done here."""
    if jobs <= 1:
        yield _Here(report_progress)
        return
    pool = ProcessPoolExecutor(
        max_workers=jobs,
        mp_context=multiprocessing.get_context("spawn"),
        initializer=_take,
        initargs=(setting,),
    )
    try:
        yield _Pooled(pool, report_progress)
    finally:
        pool.shutdown(wait=True, cancel_futures=True)


class _Here:
    """Does the work in this process."""

    def __init__(self, report_progress: Progress) -> None:
        self._report = report_progress

    def __call__(
        self,
        work: Callable[[Setting, _Job], _Answer],
        setting: Setting,
        jobs: Sequence[_Job],
        stage: str,
    ) -> list[_Answer]:
        answers = []
        for k, job in enumerate(jobs):
            self._report(stage, k / len(jobs))
            answers.append(work(setting, job))
        return answers


class _Pooled:
    """Hands the work to a pool that has the setting already."""

    def __init__(self, pool: ProcessPoolExecutor, report_progress: Progress) -> None:
        self._pool = pool
        self._report = report_progress

    def __call__(
        self,
        work: Callable[[Setting, _Job], _Answer],
        setting: Setting,
        jobs: Sequence[_Job],
        stage: str,
    ) -> list[_Answer]:
        answers: list[_Answer] = []
        chunk = CHUNK if len(jobs) > 20 * CHUNK else 1
        for answer in self._pool.map(_do, [work] * len(jobs), jobs, chunksize=chunk):
            self._report(stage, len(answers) / len(jobs))
            answers.append(answer)
        return answers


@contextmanager
def on_cluster(
    setting: Setting, address: str, report_progress: Progress = quiet
) -> Iterator[Runner]:
    """A runner on a Dask cluster whose workers have this package installed too.

    Raises ClusterError where it can't be reached, has no worker, or fails at work.
    """
    try:
        distributed: Any = importlib.import_module("distributed")
    except ImportError as error:
        raise ClusterError(
            'a cluster needs the package "distributed", which is not installed: '
            'pip install "cellstead[cluster]"'
        ) from error
    log = logging.getLogger("distributed")
    level = log.level
    log.setLevel(logging.CRITICAL)  # what goes wrong is reported in one line, below
    try:
        client = _client(distributed, address)
        try:
            yield _Clustered(client, setting, report_progress)
        finally:
            client.close(timeout=CONNECT_S)
    finally:
        log.setLevel(level)


def _client(distributed: Any, address: str) -> Any:
    """A connected client of a cluster with one worker at least."""
    try:
        client = distributed.Client(address, timeout=CONNECT_S, set_as_default=False)
    except (OSError, ValueError, TypeError, RuntimeError) as error:
        raise ClusterError(
            f"no Dask scheduler can be reached ({address}): {_in_a_line(error)}; start one, or "
            "omit --cluster to use this machine"
        ) from error
    try:
        client.wait_for_workers(1, timeout=CONNECT_S)
    except OSError as error:  # its TimeoutError is one
        client.close(timeout=CONNECT_S)
        raise ClusterError(
            f"the Dask scheduler has no worker ({address}): start one, or omit --cluster to use "
            "this machine"
        ) from error
    return client


def _in_a_line(error: Exception) -> str:
    """An error's own words, not too many of them."""
    return (" ".join(str(error).split()) or type(error).__name__)[:120]


class _Clustered:
    """Sends the setting once, then jobs that refer to it."""

    def __init__(self, client: Any, setting: Setting, report_progress: Progress) -> None:
        self._client = client
        self._report = report_progress
        self._sent = client.scatter(setting, hash=False)

    def __call__(
        self,
        work: Callable[[Setting, _Job], _Answer],
        setting: Setting,
        jobs: Sequence[_Job],
        stage: str,
    ) -> list[_Answer]:
        self._report(stage, 0.0)
        try:
            futures = [self._client.submit(work, self._sent, job, pure=False) for job in jobs]
            answers: list[_Answer] = self._client.gather(futures)
        except ImportError as error:
            raise ClusterError(
                f"a worker of the cluster can't import what it needs: {_in_a_line(error)}; "
                "install the same version of cellstead there"
            ) from error
        except OSError as error:
            raise ClusterError(
                f"the connection to the cluster was lost: {_in_a_line(error)}"
            ) from error
        return answers
