"""A folder written beside its place and swapped in when it is whole."""

from __future__ import annotations

import os
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from generators.outfolder import OutputFolderError

__all__ = ["written_beside"]


@contextmanager
def written_beside(out_dir: Path, name: str) -> Iterator[Path]:
    """Gives a sibling folder to write to; it becomes ``out_dir/name`` once the block is done.

    ``out_dir`` exists. Whatever is raised in the block passes through, the sibling folder is
    removed and the last good result is kept. Raises OutputFolderError where the old folder can't be
    replaced."""
    beside = Path(tempfile.mkdtemp(prefix=f".{name}-", dir=out_dir))
    try:
        yield beside
        beside.chmod(0o755)  # a temporary folder is closed to others; a result is not
        _swap(beside, out_dir / name)
    finally:
        shutil.rmtree(beside, ignore_errors=True)


def _swap(beside: Path, folder: Path) -> None:
    """Put the new folder in the place of the old one; the old one goes only after that."""
    if not folder.exists():
        os.replace(beside, folder)
        return
    old = Path(tempfile.mkdtemp(prefix=f".{folder.name}-old-", dir=folder.parent))
    kept = old / "was"
    try:
        os.replace(folder, kept)
        os.replace(beside, folder)
    except OSError as error:
        raise OutputFolderError(
            folder,
            why=f"can't be replaced: {error.strerror}",
            remedy="close the program that has it open",
        ) from error
    finally:
        if not folder.exists() and kept.exists():  # stopped between the two, at whatever point
            os.replace(kept, folder)
        shutil.rmtree(old, ignore_errors=True)
