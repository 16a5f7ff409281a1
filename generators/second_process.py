"""A second process that does one job while the run goes on."""

from __future__ import annotations

import contextlib
import os
import pickle
import subprocess
import sys
import threading
from collections.abc import Callable
from types import TracebackType
from typing import IO, Any, Self

__all__ = ["SecondProcess", "serve_one"]


class SecondProcess:
    """A process that is started at once, so that it is ready when it gets its job.

    Use it as a context: leaving it ends the process whatever happened.
    """

    def __init__(self, module: str, what: str) -> None:
        """``module`` has a ``serve()`` that calls ``serve_one``; ``what`` fails, in words."""
        self._what = what
        self._input: IO[bytes] | None = None
        # standard input stays open as long as this process lives: so the other one knows
        self._process = subprocess.Popen(
            [sys.executable, "-c", f"from {module} import serve; serve()"],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
        )

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        way: TracebackType | None,
    ) -> None:
        if self._process.poll() is None:
            self._process.kill()
        self._process.wait()
        for pipe in (self._input, self._process.stdin, self._process.stdout, self._process.stderr):
            if pipe is not None and not pipe.closed:
                with contextlib.suppress(BrokenPipeError):  # it never read its input
                    pipe.close()

    def _start(self, job: Any) -> None:
        """Hand over what is to be done."""
        assert self._process.stdin is not None
        self._input, self._process.stdin = (
            self._process.stdin,
            None,
        )  # not for communicate() to close
        # a process that has died does not read: _result() says why, with what it said
        with contextlib.suppress(BrokenPipeError):
            self._input.write(pickle.dumps(job, protocol=5))
            self._input.flush()

    def _result(self) -> Any:
        """Wait for what the job gives; an OSError there is raised here as it was.

        Raises RuntimeError with what the process said where it fails otherwise.
        """
        out, complaint = self._process.communicate()
        if self._process.returncode != 0:
            raise RuntimeError(f"{self._what} failed: {complaint.decode(errors='replace').strip()}")
        result = pickle.loads(out)
        if isinstance(result, OSError):
            raise result
        return result


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
    except OSError as error:
        result = error
    sys.stdout.buffer.write(pickle.dumps(result))


def _end_with_parent() -> None:
    """Wait until nobody holds the other end of standard input."""
    os.read(sys.stdin.fileno(), 1)
    os._exit(1)
