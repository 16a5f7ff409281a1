"""A folder written beside its place and swapped in when it is whole.

Beside ``out_dir/NAME`` a run makes ``.NAME-xxxxxxxx.cellstead-new``; for the moment of the swap
the old folder is called ``.NAME-xxxxxxxx.cellstead-old``. A run that is killed leaves them behind;
the next one finds them by these names, and by a lock that ends with its process.
"""

from __future__ import annotations

import os
import re
import shutil
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from generators.outfolder import OutputFolderError, output_trouble
from generators.own_files import move_along
from generators.signals import held, stop_if_asked

try:
    import fcntl
except ImportError:  # not a POSIX system
    fcntl = None  # type: ignore[assignment]

__all__ = ["recover", "written_beside"]

NEW, OLD = ".cellstead-new", ".cellstead-old"
LOCK_WAIT_S = 10.0  # others hold the folder's lock for the moment of a swap
LONGEST_RUN_S = 24 * 3600.0  # without locks a younger folder counts as that of a run going on


@contextmanager
def written_beside(out_dir: Path, name: str, *, holds: str, notes: list[str]) -> Iterator[Path]:
    """Gives a sibling folder to write to; it becomes ``out_dir/name`` once the block is done.

    ``out_dir`` exists. ``holds``: the file by which a result is known; under ``files`` it lists
    all others. What the old folder holds besides is moved along, and told in ``notes``. Whatever
    is raised in the block passes through, the sibling folder is removed and the last good result
    is kept. Raises OutputFolderError where the old folder can't be replaced."""
    with held(), _locked(out_dir):
        beside = Path(tempfile.mkdtemp(prefix=f".{name}-", suffix=NEW, dir=out_dir))
        lock = _lock(beside)
    try:
        yield beside
        beside.chmod(0o755)  # a temporary folder is closed to others; a result is not
        stop_if_asked()
        with held(), _locked(out_dir):
            notes += _swap(beside, out_dir / name, holds)
    finally:
        with held():
            _remove(beside)
            if lock is not None:
                os.close(lock)


def recover(out_dir: Path, name: str, *, holds: str) -> tuple[str, ...]:
    """Put right what a killed run has left in ``out_dir``; returns what there is to say of it.

    A result that was on its way out is put back where no other has taken its place; unfinished
    folders are removed. Those of a run that still goes on are left alone. Raises
    OutputFolderError."""
    folder = out_dir / name
    try:
        with held(), _locked(out_dir):
            notes = _put_back(folder, _left(out_dir, name, OLD))
            superseded = _left(out_dir, name, OLD) if (folder / holds).is_file() else []
            for one in [*superseded, *_left(out_dir, name, NEW)]:
                if not _in_use(one):
                    _remove(one)
    except OSError as error:
        trouble = output_trouble(error, out_dir)
        if trouble is None:
            raise
        raise trouble from error
    return notes


def _put_back(folder: Path, olds: list[Path]) -> tuple[str, ...]:
    """The newest folder that was on its way out, where nothing stands in its place."""
    if not olds:
        return ()
    if folder.is_dir() and not folder.is_symlink() and not any(folder.iterdir()):
        folder.rmdir()
    if os.path.lexists(folder):
        return ()
    os.replace(max(olds, key=lambda one: one.lstat().st_mtime_ns), folder)
    return (f"{folder}: a run was killed while replacing it, the result before it was put back",)


def _left(out_dir: Path, name: str, kind: str) -> list[Path]:
    """Folders of a run of ``name``; the eight characters are those that tempfile chooses."""
    known = re.compile(rf"\.{re.escape(name)}-[a-z0-9_]{{8}}{re.escape(kind)}")
    return sorted(one for one in out_dir.iterdir() if known.fullmatch(one.name))


def _swap(beside: Path, folder: Path, holds: str) -> tuple[str, ...]:
    """Put the new folder in the place of the old one, which then lies where the new one was."""
    if not os.path.lexists(folder):
        os.replace(beside, folder)
        return ()
    old = folder.with_name(beside.name.removesuffix(NEW) + OLD)
    try:
        notes = move_along(folder, beside, holds)
        os.replace(folder, old)
        os.replace(beside, folder)
    except OSError as error:
        raise OutputFolderError(
            folder,
            why=f"can't be replaced: {error.strerror}",
            remedy="close the program that has it open",
        ) from error
    finally:
        if os.path.lexists(old):  # else stopped before the first step
            os.replace(old, beside if os.path.lexists(folder) else folder)
    return notes


def _remove(folder: Path) -> None:
    """A folder, or a link to one; what can't be removed stays for the next run."""
    for _ in range(2):  # a process that ends with its run may still have written a file
        if folder.is_symlink():
            with suppress(OSError):
                folder.unlink()
        shutil.rmtree(folder, ignore_errors=True)


@contextmanager
def _locked(folder: Path) -> Iterator[None]:
    """The folder's lock for the block, so that two runs don't swap at once.

    After ``LOCK_WAIT_S``, and where the file system has no locks, it goes on without.
    """
    lock, limit_s = _lock(folder), time.monotonic() + LOCK_WAIT_S
    while lock is None and fcntl is not None and time.monotonic() < limit_s:
        if not _in_use(folder):
            break
        time.sleep(0.01)
        lock = _lock(folder)
    try:
        yield
    finally:
        if lock is not None:
            os.close(lock)


def _lock(folder: Path) -> int | None:
    """The folder's lock, held until it is closed; None where it is taken, or can't be had."""
    if fcntl is None:
        return None
    number = os.open(folder, os.O_RDONLY)
    try:
        fcntl.flock(number, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        os.close(number)
        return None
    return number


def _in_use(folder: Path) -> bool:
    """Whether a run that still goes on holds the folder."""
    if fcntl is None:
        return time.time() - folder.lstat().st_mtime < LONGEST_RUN_S
    try:
        number = os.open(folder, os.O_RDONLY)
    except OSError:  # gone, or no folder
        return False
    try:
        fcntl.flock(number, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        return True
    except OSError:  # a file system without locks
        return time.time() - folder.lstat().st_mtime < LONGEST_RUN_S
    finally:
        os.close(number)
    return False
