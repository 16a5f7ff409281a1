"""A second process that does one job while the run goes on."""

from __future__ import annotations

import contextlib
import os
import pickle
import subprocess
import sys
import threading
import traceback
import weakref
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from types import TracebackType
from typing import IO, Any, Self

from generators.forked_process import ForkedProcess, may_fork
from layouts.errors import PlanError

__all__ = ["OtherProcessError", "SecondProcess", "serve_one"]


# a copy of this process must hold none of their pipes
_begun: weakref.WeakSet[SecondProcess] = weakref.WeakSet()

# Where cores are few the run itself, which all wait for, goes first: the second process steps back
# by so many of the 19 steps that there are, before it loads anything. One that takes long steps
# back less, so that it does not end alone.
STEPS_BACK, STEPS_BACK_LONG = 10, 6
STEP_BACK = "import os\nif hasattr(os, 'nice'): os.nice({})\n"


class OtherProcessError(RuntimeError):
    """The traceback of an error that was raised in the other process."""


@dataclass(frozen=True, kw_only=True, slots=True)
class _Raised:
    error: OSError | PlanError
    told: str


class SecondProcess:
    """A process that is started at once, so that it is ready when it gets its job, or one that
    ``fork`` begins as a copy of this one.

    Use it as a context: leaving it ends the process whatever happened.
    """

    def __init__(self, module: str, what: str, *, forked: bool = False, long: bool = False) -> None:
        """``module`` has a ``serve()`` that calls ``serve_one``; ``what`` fails, in words;
        ``forked``: it begins with ``fork``, which must come before its job; ``long``: it takes
        longer than others."""
        self._what, self._module = what, module
        self._steps_back = STEPS_BACK_LONG if long else STEPS_BACK
        self._input: IO[bytes] | None = None
        self._writing: threading.Thread | None = None
        self._process: subprocess.Popen[bytes] | ForkedProcess | None = None
        if not forked:
            self._process = self._started()
        _begun.add(self)

    def _started(self) -> subprocess.Popen[bytes]:
        code = f"{STEP_BACK.format(self._steps_back)}from {self._module} import serve; serve()"
        # standard input stays open as long as this process lives: so the other one knows
        return subprocess.Popen(
            [sys.executable, "-c", code],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
        )

    def fork(self) -> None:
        """Begin as a copy of this process, where it has not begun; afresh where something was
        loaded meanwhile that does not stand a copy."""
        if self._process is None and may_fork():
            others = [pipe for one in _begun for pipe in one._pipes()]
            self._process = ForkedProcess(self._module, others, self._steps_back)
        elif self._process is None:
            self._process = self._started()

    def _pipes(self) -> Iterator[IO[bytes]]:
        process = self._process
        if process is not None:
            for pipe in (self._input, process.stdin, process.stdout, process.stderr):
                if pipe is not None and not pipe.closed:
                    yield pipe

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        way: TracebackType | None,
    ) -> None:
        if self._process is None:
            return
        if self._process.poll() is None:
            self._process.kill()
        self._process.wait()
        if self._writing is not None:
            self._writing.join()  # nobody reads any more
        for pipe in self._pipes():
            with contextlib.suppress(BrokenPipeError):  # it never read its input
                pipe.close()

    def _start(self, job: Any) -> None:
        """Hand over what is to be done."""
        assert self._process is not None and self._process.stdin is not None
        self._input, self._process.stdin = (
            self._process.stdin,
            None,
        )  # not for communicate() to close
        # it may still be loading, and a pipe holds little: the run does not wait until it reads
        self._writing = threading.Thread(
            target=_written, args=(self._input, pickle.dumps(job, protocol=5)), daemon=True
        )
        self._writing.start()

    def _result(self) -> Any:
        """Wait for what the job gives.

        An OSError or PlanError there is raised here as it was, its cause what was told there;
        RuntimeError with what the process said where it fails otherwise.
        """
        assert self._process is not None
        out, complaint = self._process.communicate()
        if self._process.returncode != 0:
            raise RuntimeError(f"{self._what} failed: {complaint.decode(errors='replace').strip()}")
        result = pickle.loads(out)
        if isinstance(result, _Raised):
            raise result.error from OtherProcessError(result.told)
        return result


def _written(pipe: IO[bytes], job: bytes) -> None:
    # a process that has died does not read: _result() says why, with what it said
    with contextlib.suppress(BrokenPipeError):
        pipe.write(job)
        pipe.flush()


def serve_one(work: Callable[[Any], Any]) -> None:
    """The process's part: a job in on standard input, what it gives out on standard output.

    It ends with the process that has started it, also where that one is killed: nothing is written
    any more into a folder that the next run removes.
    """
    try:
        job = pickle.load(sys.stdin.buffer)
    except EOFError:
        os._exit(1)
    threading.Thread(target=_end_with_parent, daemon=True).start()
    try:
        result = work(job)
    except (OSError, PlanError) as error:
        result = _Raised(error=error, told="".join(traceback.format_exception(error)))
    sys.stdout.buffer.write(pickle.dumps(result))


def _end_with_parent() -> None:
    """Wait until nobody holds the other end of standard input."""
    os.read(sys.stdin.fileno(), 1)
    os._exit(1)
