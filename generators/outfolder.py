"""The output folder: tried before the work begins, and its errors reported in one line."""

from __future__ import annotations

import errno
import os
import tempfile
from pathlib import Path

__all__ = ["OutputFolderError", "has_no_room", "output_trouble", "prepare"]

PROBE_BYTES = 65_536  # more than one block of any usual disk, so that a full one shows

# whatever file they name, the disk is at its end and no fault of the tool's
_NO_ROOM = frozenset({errno.ENOSPC, errno.EDQUOT, errno.EFBIG, errno.EROFS})


class OutputFolderError(Exception):
    """The output folder can't be written to, is full, or holds something else."""

    def __init__(self, folder: Path, *, why: str, remedy: str) -> None:
        """``folder``: where writing was tried; ``why``, ``remedy``: what is wrong, the remedy."""
        super().__init__(f"--out: {why} ({folder}), {remedy}")
        self.folder = folder
        self.why = why
        self.remedy = remedy


def prepare(out_dir: Path, name: str, *, holds: str = "result.json") -> None:
    """Make ``out_dir`` and make sure that ``out_dir/name`` may be written and replaced.

    ``holds``: the file by which an earlier result is known. Raises OutputFolderError. A folder
    of that name that no run has written is left alone: a run replaces its folder as a whole.
    """
    try:
        out_dir.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryFile(dir=out_dir) as probe:
            probe.write(b"\0" * PROBE_BYTES)
            probe.flush()
        folder = out_dir / name
        foreign = folder.exists() and not (
            folder.is_dir() and ((folder / holds).is_file() or not any(folder.iterdir()))
        )
    except (OSError, ValueError) as error:  # ValueError: a zero byte in the name
        raise _told(error, out_dir) from error
    if foreign:
        raise OutputFolderError(
            folder,
            why="contains something other than an earlier result",
            remedy="move it away, or give another name or folder",
        )


def has_no_room(error: BaseException) -> bool:
    """Whether an error means that a disk is at its end."""
    return isinstance(error, OSError) and error.errno in _NO_ROOM


def output_trouble(error: OSError, out_dir: Path) -> OutputFolderError | None:
    """The same error as an OutputFolderError; None where it has nothing to do with it."""
    if has_no_room(error):
        return _told(error, out_dir)
    for name in (error.filename, error.filename2):
        if isinstance(name, str | bytes | os.PathLike):
            path = Path(os.path.abspath(os.fsdecode(name)))
            if path.is_relative_to(os.path.abspath(out_dir)):
                return _told(error, out_dir)
    return None


def _told(error: OSError | ValueError, out_dir: Path) -> OutputFolderError:
    why = getattr(error, "strerror", None) or str(error)
    if getattr(error, "errno", None) in _NO_ROOM - {errno.EROFS}:
        remedy = "free some disk space or give a folder on another disk"
    else:
        remedy = "give a writable folder"
    return OutputFolderError(out_dir, why=f"can't be written: {why}", remedy=remedy)
