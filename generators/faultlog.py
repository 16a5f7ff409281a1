"""The log of an internal fault: where a traceback goes instead of the terminal."""

from __future__ import annotations

import os
import platform
import stat
import tempfile
import traceback
from pathlib import Path

from generators.version import VERSION

__all__ = ["is_log", "write_log"]

FIRST, THEN = "cellstead ", ", Python "  # how a log's first line begins, and goes on


def is_log(path: Path) -> bool:
    """Whether a log of this tool lies there, and not somebody's file of the same name."""
    try:
        if not stat.S_ISREG(os.lstat(path).st_mode):
            return False
        with open(path, encoding="utf-8", errors="replace") as file:
            line = file.readline(200)
    except OSError:
        return False
    return line.startswith(FIRST) and THEN in line


def write_log(error: BaseException, log: Path | None) -> Path | None:
    """Write the traceback and what it ran on; into the system's folder for temporary files where
    ``log`` is None, is somebody else's file or can't be written. Returns where it went; None where
    it can't be written at all."""
    text = "".join(
        [
            f"{FIRST}{VERSION}{THEN}{platform.python_version()}, {platform.platform()}\n",
            *traceback.format_exception(error),
        ]
    )
    if log is not None and (is_log(log) or not os.path.lexists(log)):
        try:
            log.write_text(text, encoding="utf-8", errors="backslashreplace")
            return log
        except OSError as trouble:
            text += f"\nnot written to {log}: {trouble}\n"
    try:
        with tempfile.NamedTemporaryFile(
            "w",
            prefix="cellstead-",
            suffix=".log",
            delete=False,
            encoding="utf-8",
            errors="backslashreplace",
        ) as file:
            file.write(text)
    except OSError:
        return None
    return Path(file.name)
