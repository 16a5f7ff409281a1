"""A process that begins as a copy of this one, with all that is loaded: on Linux alone.

Elsewhere, or where this process has threads or libraries that do not stand it, a fresh interpreter
is started in its place (``generators/second_process.py``); what it gives is the same.
"""

from __future__ import annotations

import os
import selectors
import signal
import sys
import threading
import traceback
from collections.abc import Iterable
from contextlib import suppress
from importlib import import_module
from typing import IO

__all__ = ["ForkedProcess", "may_fork"]

# The kernel, the compiler and the bar on a terminal have threads of their own or locks that a copy
# would find shut.
NOT_COPIED = frozenset({"OCP", "cadquery", "numba", "rich"})
PIECE = 1 << 20  # bytes read at once


def may_fork() -> bool:
    """Whether a copy of this process would work."""
    return (
        sys.platform == "linux"
        and threading.active_count() == 1
        and NOT_COPIED.isdisjoint(sys.modules)
    )


class ForkedProcess:
    """As much of ``subprocess.Popen`` as a second process needs: three pipes and its end."""

    def __init__(self, module: str, others: Iterable[IO[bytes]], steps_back: int) -> None:
        """``module`` has a ``serve()``; ``others``: pipes of this process that the copy must not
        hold open, since their other ends wait for them to close; ``steps_back``: behind the run
        where cores are few."""
        theirs_in, ours_in = os.pipe()
        ours_out, theirs_out = os.pipe()
        ours_said, theirs_said = os.pipe()
        self.returncode: int | None = None
        self.stdin: IO[bytes] | None = os.fdopen(ours_in, "wb")
        self.stdout: IO[bytes] = os.fdopen(ours_out, "rb")
        self.stderr: IO[bytes] = os.fdopen(ours_said, "rb")
        ends = (theirs_in, theirs_out, theirs_said)
        # a signal that comes before the copy has its own handlers would unwind the run in it
        before = signal.pthread_sigmask(signal.SIG_BLOCK, signal.valid_signals())
        self.pid = os.fork()
        if self.pid == 0:
            os.nice(steps_back)
            _serve_and_end(module, ends, (self.stdin, self.stdout, self.stderr, *others), before)
        signal.pthread_sigmask(signal.SIG_SETMASK, before)
        for end in ends:
            os.close(end)

    def poll(self) -> int | None:
        """Its exit status, None while it lives."""
        if self.returncode is None:
            pid, status = os.waitpid(self.pid, os.WNOHANG)
            if pid:
                self.returncode = os.waitstatus_to_exitcode(status)
        return self.returncode

    def wait(self) -> int:
        """Its exit status, once it has ended."""
        if self.returncode is None:
            self.returncode = os.waitstatus_to_exitcode(os.waitpid(self.pid, 0)[1])
        return self.returncode

    def kill(self) -> None:
        """End it at once."""
        if self.poll() is None:
            os.kill(self.pid, signal.SIGKILL)

    def communicate(self) -> tuple[bytes, bytes]:
        """All that it gives and says until it ends."""
        told: dict[int, list[bytes]] = {self.stdout.fileno(): [], self.stderr.fileno(): []}
        with selectors.DefaultSelector() as waiting:
            for end in told:
                waiting.register(end, selectors.EVENT_READ)
            while waiting.get_map():
                for key, _ in waiting.select():
                    piece = os.read(key.fd, PIECE)
                    if piece:
                        told[key.fd].append(piece)
                    else:
                        waiting.unregister(key.fd)
        self.wait()
        out, said = told.values()
        return b"".join(out), b"".join(said)


def _serve_and_end(
    module: str,
    ends: tuple[int, int, int],
    not_ours: Iterable[IO[bytes]],
    mask: Iterable[int],
) -> None:
    """The copy's whole life: it never comes back to what the run was doing."""
    status = 1
    try:
        for number in (signal.SIGINT, signal.SIGTERM, signal.SIGHUP):
            if signal.getsignal(number) != signal.SIG_IGN:  # nohup
                signal.signal(number, signal.SIG_DFL)
        signal.pthread_sigmask(signal.SIG_SETMASK, mask)
        for standard, end in enumerate(ends):
            os.dup2(end, standard)
        for end in ends:
            if end > 2:
                os.close(end)
        for pipe in not_ours:
            if not pipe.closed:
                pipe.close()
        sys.stdin = os.fdopen(0, closefd=False)
        sys.stdout = os.fdopen(1, "w", closefd=False)
        sys.stderr = os.fdopen(2, "w", closefd=False)
        import_module(module).serve()
        sys.stdout.flush()
        status = 0
    except BaseException:  # whatever it is, it is told, and ends this process alone
        with suppress(OSError):
            traceback.print_exc()
            sys.stderr.flush()
    finally:
        os._exit(status)
