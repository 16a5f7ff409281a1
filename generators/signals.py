"""Signals that end a run: each unwinds as Ctrl-C does, and none cuts a swap of folders in two."""

from __future__ import annotations

import signal
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from types import FrameType

__all__ = ["StoppedBySignalError", "asked_to_stop", "ending_signals", "held", "stop_if_asked"]

# SIGHUP is POSIX's: the terminal has gone
ENDING = tuple(
    getattr(signal, name) for name in ("SIGINT", "SIGTERM", "SIGHUP") if hasattr(signal, name)
)
# A closing terminal and its shell both send one: the second must not cut the cleaning-up short.
CLEANING_S = 5.0

_came: list[tuple[int, float]] = []  # signals are the whole process's: number, time [s]


class StoppedBySignalError(KeyboardInterrupt):
    """A run that a signal has ended; ``number`` is the signal's."""

    def __init__(self, number: int) -> None:
        super().__init__(signal.Signals(number).name)
        self.number = number


@contextmanager
def ending_signals() -> Iterator[None]:
    """Raises StoppedBySignalError in the block at SIGINT, SIGTERM or SIGHUP.

    More of them within ``CLEANING_S`` change nothing. What the caller ignores stays ignored
    (``nohup``). Outside the main thread, where Python takes no signals, nothing is changed.
    """

    def stops(number: int, frame: FrameType | None) -> None:
        now_s = time.monotonic()
        if _came and now_s - _came[-1][1] < CLEANING_S:
            return
        _came.append((number, now_s))
        raise StoppedBySignalError(number)

    try:
        with _handled(stops, {signal.SIG_DFL, signal.default_int_handler}.__contains__):
            yield
    finally:
        _came.clear()


def asked_to_stop() -> int | None:
    """The signal that has come in this block of ``ending_signals``; None where none has.

    What it raises may be lost on its way: a library that is being loaded, or that calls back,
    turns it into an error of its own or drops it.
    """
    return _came[0][0] if _came else None


def stop_if_asked() -> None:
    """Raise StoppedBySignalError where a signal has come and the run goes on all the same."""
    number = asked_to_stop()
    if number is not None:
        raise StoppedBySignalError(number)


@contextmanager
def held() -> Iterator[None]:
    """Signals that Python handles act once the block is done; those left to the system at once."""
    came: list[int] = []

    def notes(number: int, frame: FrameType | None) -> None:
        came.append(number)

    with _handled(notes, callable):
        yield
    for number in came[:1]:
        signal.raise_signal(number)


@contextmanager
def _handled(
    handler: Callable[[int, FrameType | None], None], instead_of: Callable[[object], bool]
) -> Iterator[None]:
    """``handler`` in place of those handlers that ``instead_of`` takes, for the block."""
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    before = {one: signal.getsignal(one) for one in ENDING}
    taken = {one: old for one, old in before.items() if instead_of(old)}
    try:
        for one in taken:
            signal.signal(one, handler)
        yield
    finally:
        for one, old in taken.items():
            signal.signal(one, old)
