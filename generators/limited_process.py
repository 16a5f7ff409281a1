"""Work on what strangers have written, in a process with limits on its time and memory.

What it is given may hang, fill the memory or crash a library: that ends the process, not the run.
No sandbox. Nothing heavy is loaded here.
"""

from __future__ import annotations

import contextlib
import importlib
import math
import os
import pickle
import signal
import subprocess
import sys
import tempfile
import time
import traceback
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import IO, Any, TypeVar

__all__ = ["NoAnswer", "WorkFaultError", "answers", "serve"]

# For what is loaded, on a slow machine; so much later than its job's limit the process ends by
# itself, in case its parent has gone.
LOAD_S = 60.0
LOOK_S = 0.02  # between two looks at how far it is
STDERR = 2
# Each thread of a numerical library reserves memory, on machines of many cores more than a limit.
ONE_THREAD = {"OPENBLAS_NUM_THREADS": "1", "OMP_NUM_THREADS": "1"}

Job = TypeVar("Job")
Answer = TypeVar("Answer")


@dataclass(frozen=True, kw_only=True, slots=True)
class NoAnswer:
    """A job that ended its process, or did not end in time (``late``).

    ``status``: the exit status, below zero the signal's number.
    """

    late: bool
    status: int


class WorkFaultError(RuntimeError):
    """An exception that the work itself does not report, with its traceback."""


def answers(
    work: Callable[[Job], Answer],
    jobs: Sequence[Job],
    *,
    limit_s: float,
    loads: Sequence[str] = (),
    memory_bytes: int | None = None,
    quiet: bool = False,
) -> list[Answer | NoAnswer]:
    """What ``work``, a function of a module, gives for each job.

    One process does one job after another; after one that has no answer the next starts. It is
    ended, with whatever it has started, where a job takes longer than ``limit_s``. ``loads``:
    modules that it loads before that time begins. ``memory_bytes``: of its own data, at most
    (Linux; elsewhere as the system has it). Whatever it prints goes to standard error, with
    ``quiet`` nowhere. Raises WorkFaultError, its cause what the work raised, and OSError where
    there is no room for temporary files.
    """
    given: list[Answer | NoAnswer] = []
    while len(given) < len(jobs):
        rest = jobs[len(given) :]
        task = (tuple(loads), work, rest)
        done, process, late = _run(task, limit_s, memory_bytes, quiet)
        given += done
        if len(done) < len(rest):
            given.append(NoAnswer(late=late, status=process.returncode))
    return given


def _run(
    task: tuple[tuple[str, ...], Callable[[Job], Answer], Sequence[Job]],
    limit_s: float,
    memory_bytes: int | None,
    quiet: bool,
) -> tuple[list[Answer], subprocess.Popen[bytes], bool]:
    """One process's answers, up to the first that is lacking; whether that one came too late."""
    # files that have no name: nothing stays behind, whatever ends either process
    with tempfile.TemporaryFile() as asked, tempfile.TemporaryFile() as told:
        pickle.dump(task, asked, protocol=5)
        asked.flush()
        asked.seek(0)
        process = subprocess.Popen(
            [
                sys.executable,
                "-c",
                f"from {__name__} import serve; serve()",
                str(math.ceil(limit_s + LOAD_S)),
                str(memory_bytes or 0),
            ],
            stdin=asked,
            stdout=told,
            stderr=subprocess.DEVNULL if quiet else STDERR,
            env=None if memory_bytes is None else os.environ | ONE_THREAD,
            start_new_session=True,  # with whatever it starts, so that all of it can be ended
        )
        try:
            late = not _ends(process, told, limit_s)
        finally:
            end(process)
        return _read(told), process, late


def _ends(process: subprocess.Popen[bytes], told: IO[bytes], limit_s: float) -> bool:
    """Wait for its end; False where no answer has come for ``limit_s``, or it can't even load."""
    size, since_s = 0, time.monotonic() + LOAD_S
    while process.poll() is None:
        now_s, now_size = time.monotonic(), os.fstat(told.fileno()).st_size
        if now_size != size:
            size, since_s = now_size, now_s
        elif now_s - since_s > limit_s:
            return False
        time.sleep(LOOK_S)
    return True


def _read(told: IO[bytes]) -> list[Any]:
    """The whole answers in a file. Raises WorkFaultError."""
    told.seek(0)
    found: list[Any] = []
    with contextlib.suppress(EOFError, pickle.UnpicklingError):  # one cut off
        while True:
            is_fault, answer = pickle.load(told)
            if is_fault:
                text, cause = answer
                raise WorkFaultError(text) from cause
            found.append(answer)
    return found[1:]  # the first says that all is loaded


def end(process: subprocess.Popen[bytes]) -> None:
    """End a process that has a session of its own, where it still runs, with all in it."""
    if process.poll() is None and hasattr(os, "killpg"):
        os.killpg(process.pid, signal.SIGKILL)
    elif process.poll() is None:
        process.kill()
    process.wait()


def serve() -> None:
    """The process's part: jobs in on standard input, answers out where standard output leads.

    Arguments: seconds a job after which it ends by itself, should its parent be gone by then; its
    memory in bytes, 0 for no limit.
    """
    out = os.fdopen(os.dup(1), "wb")  # not handed on to processes that it starts
    os.dup2(STDERR, 1)
    alarm_s, memory_bytes = int(sys.argv[1]), int(sys.argv[2])
    _limit(memory_bytes)
    try:
        if hasattr(signal, "alarm"):
            signal.alarm(alarm_s)
        loads, work, jobs = pickle.load(sys.stdin.buffer)
        for name in loads:
            importlib.import_module(name)
        out.write(pickle.dumps((False, None), protocol=5))
        out.flush()
        for job in jobs:
            if hasattr(signal, "alarm"):
                signal.alarm(alarm_s)
            out.write(pickle.dumps((False, work(job)), protocol=5))
            out.flush()
    except Exception as error:
        out.write(_fault(error))
        out.flush()
    sys.stdout.flush()
    sys.stderr.flush()
    os._exit(0)  # threads that the work has left behind don't hold anything up


def _fault(error: Exception) -> bytes:
    """A fault's traceback, and itself where it can cross over."""
    text = traceback.format_exc()
    try:
        fault = pickle.dumps((True, (text, error)), protocol=5)
        pickle.loads(fault)
    except Exception:  # any class may refuse, in its own way
        return pickle.dumps((True, (text, None)), protocol=5)
    return fault


def _limit(memory_bytes: int) -> None:
    """Limit the process's data, and write no image of it to the disk where it crashes."""
    try:
        import resource
    except ImportError:  # not a POSIX system
        return
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    if memory_bytes:
        _, most = resource.getrlimit(resource.RLIMIT_DATA)
        limit = memory_bytes if most == resource.RLIM_INFINITY else min(memory_bytes, most)
        resource.setrlimit(resource.RLIMIT_DATA, (limit, most))
