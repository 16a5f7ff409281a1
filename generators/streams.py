"""Standard streams that may be closed, full, or read by nobody: no command fails while it prints.

What can't be printed is passed over; the command line reports it once, at its end.
"""

from __future__ import annotations

import contextlib
import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any, TextIO, cast

__all__ = ["GuardedStream", "guarded_streams"]


class GuardedStream:
    """A text stream whose first error is kept in ``trouble``; from then on all goes nowhere."""

    def __init__(self, stream: TextIO) -> None:
        self._stream = stream
        self.trouble: OSError | None = None

    def write(self, text: str) -> int:
        """As of a file; always takes all."""
        if self.trouble is None:
            try:
                self._stream.write(text)
            except OSError as error:
                self._give_up(error)
        return len(text)

    def flush(self) -> None:
        """As of a file."""
        if self.trouble is None:
            try:
                self._stream.flush()
            except OSError as error:
                self._give_up(error)

    def __getattr__(self, name: str) -> Any:
        return getattr(self._stream, name)

    def _give_up(self, error: OSError) -> None:
        """Keep the error, and lead what is still buffered to the null device."""
        self.trouble = error
        with contextlib.suppress(OSError, ValueError):  # a stream without a number of its own
            _to_null(self._stream.fileno())


@contextmanager
def guarded_streams() -> Iterator[tuple[GuardedStream, GuardedStream]]:
    """Standard output and error, guarded for the block; closed ones lead to the null device.

    Any text prints on them, if need be with escapes.
    """
    for number in (0, 1, 2):  # else the next file that is opened becomes a standard stream
        try:
            os.fstat(number)
        except OSError:
            _to_null(number)
    with contextlib.ExitStack() as stack:
        streams = []
        for number, stream in ((1, sys.stdout), (2, sys.stderr)):
            if stream is None:  # Python has found it closed
                stream = stack.enter_context(open(number, "w", closefd=False))
            reconfigure = getattr(stream, "reconfigure", None)
            if reconfigure is not None:
                reconfigure(errors="backslashreplace")
            streams.append(GuardedStream(stream))
        output, error = streams
        before = sys.stdout, sys.stderr
        sys.stdout, sys.stderr = cast(TextIO, output), cast(TextIO, error)
        try:
            yield output, error
        finally:
            sys.stdout, sys.stderr = before


def _to_null(number: int) -> None:
    """Lead a file descriptor to the null device."""
    null = os.open(os.devnull, os.O_RDWR)
    if null != number:
        os.dup2(null, number)
        os.close(null)
