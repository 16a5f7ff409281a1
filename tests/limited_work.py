"""Work for a limited process that goes wrong in every way."""

from __future__ import annotations

import ctypes
import os
import signal
import sys
import time

from generators.second_process import serve_one
from layouts.errors import PlanError

__all__ = ["crashes", "hangs", "serve", "works"]


class OwnFaultError(Exception):
    """One that does not cross over from process to process."""

    def __init__(self, words: str, *, why: str) -> None:
        super().__init__(words)
        self.why = why


def works(job: str) -> str:
    """Do what the job says; what it gives is the job."""
    if job == "crash":
        os.kill(os.getpid(), signal.SIGSEGV)
    elif job == "end":
        os._exit(7)
    elif job == "hang":
        time.sleep(60)
    elif job == "loop in C":
        ctypes.CDLL(None).pause()  # holds no lock of Python's, returns at no signal of ours
    elif job == "fault":
        raise ValueError("a fault of the work")
    elif job == "plan":
        try:
            raise ZeroDivisionError("of a library")
        except ZeroDivisionError as error:
            raise PlanError(field="holder", why="is odd", remedy="use 3", value="2") from error
    elif job == "own fault":
        raise OwnFaultError("its own", why="can't be made from its words alone")
    elif job == "memory":
        try:
            bytearray(400_000_000)
        except MemoryError:
            return "no memory"
    elif job == "print":
        print("printed")
        print("told", file=sys.stderr)
    return job


def crashes(file: object) -> None:
    """End as a library does that writes where it may not."""
    os.kill(os.getpid(), signal.SIGSEGV)


def hangs(file: object) -> None:
    """Do not end."""
    time.sleep(60)


def serve() -> None:
    """The same as a second process."""
    serve_one(works)
