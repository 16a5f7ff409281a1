"""The log of an internal fault: where a traceback goes instead of the terminal."""

from __future__ import annotations

import platform
import tempfile
import traceback
from pathlib import Path

from generators.version import VERSION

__all__ = ["write_log"]


def write_log(error: BaseException, log: Path | None) -> Path:
    """Write the traceback and what it ran on; into the system's folder for temporary files where
    ``log`` is None or can't be written. Returns where it went."""
    text = "".join(
        [
            f"cellstead {VERSION}, Python {platform.python_version()}, {platform.platform()}\n",
            *traceback.format_exception(error),
        ]
    )
    if log is not None:
        try:
            log.write_text(text, encoding="utf-8", errors="backslashreplace")
            return log
        except OSError as trouble:
            text += f"\nnot written to {log}: {trouble}\n"
    with tempfile.NamedTemporaryFile(
        "w",
        prefix="cellstead-",
        suffix=".log",
        delete=False,
        encoding="utf-8",
        errors="backslashreplace",
    ) as file:
        file.write(text)
    return Path(file.name)
