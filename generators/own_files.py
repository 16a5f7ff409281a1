"""Files in a result's folder that the run before did not write: the user's own move along."""

from __future__ import annotations

import hashlib
import json
import os
import shutil
from collections.abc import Iterator
from pathlib import Path

__all__ = ["file_rows", "move_along"]

MOST_TOLD = 4


def file_rows(folder: Path, *, but: str) -> list[dict[str, str]]:
    """Every file of a result but the one that lists them, with its SHA-256, sorted by path."""
    rows = []
    for path in sorted(folder.rglob("*")):
        relative = path.relative_to(folder).as_posix()
        if path.is_file() and relative != but:
            rows.append({"path": relative, "sha256": _digest(path)})
    return rows


def move_along(old: Path, new: Path, holds: str) -> tuple[str, ...]:
    """Put what ``old`` holds besides an earlier result into ``new`` too; says what, in one line.

    ``holds``: the file of a result that lists the others. A file of the result that was changed
    since, or whose name the new result needs, gets ``-kept`` into its name. Files are linked, so
    that nothing is lost whenever the run is killed; copied where that can't be. Raises OSError.
    """
    written = _written(old / holds)
    theirs = sorted(one for one in _entries(old) if not _is_result(old, new, one, holds, written))
    free = [one for one in theirs if not _taken(new, one)]
    moved = [one.as_posix() for one in free]
    for one in free:
        _put(old / one, new / one)
    for one in theirs:
        if one in free or _same(old / one, new / one):
            continue
        other = _free_name(new, one)
        _put(old / one, new / other)
        moved.append(f"{one.as_posix()} as {other.as_posix()}")
    if not moved:
        return ()
    more = f" and {len(moved) - MOST_TOLD} more" if len(moved) > MOST_TOLD else ""
    return (f"{old}: kept what no run has written: {', '.join(moved[:MOST_TOLD])}{more}",)


def _written(listing: Path) -> dict[str, str] | None:
    """SHA-256 of an earlier result's files by path; None where it has no list."""
    try:
        rows = json.loads(listing.read_text(encoding="utf-8"))["files"]
        return {str(row["path"]): str(row["sha256"]) for row in rows}
    except (OSError, ValueError, KeyError, TypeError):
        return None


def _entries(folder: Path) -> Iterator[Path]:
    """Files, links and empty folders below a folder, as paths from there."""
    for at, folders, files in os.walk(folder):
        here = Path(at).relative_to(folder)
        links = [name for name in folders if os.path.islink(os.path.join(at, name))]
        for name in [*files, *links]:
            yield here / name
        if not folders and not files and at != os.fspath(folder):
            yield here


def _is_result(old: Path, new: Path, one: Path, holds: str, written: dict[str, str] | None) -> bool:
    """Whether an earlier run wrote it, and nobody has changed it since."""
    path = old / one
    if one.as_posix() == holds:
        return True
    if path.is_symlink() or not path.is_file():
        return False
    if written is None:  # a result of an earlier version: what the new one writes too
        return os.path.lexists(new / one)
    return written.get(one.as_posix()) == _digest(path)


def _digest(path: Path) -> str:
    with open(path, "rb") as stream:
        return hashlib.file_digest(stream, "sha256").hexdigest()


def _taken(new: Path, one: Path) -> bool:
    """Whether the new result has something there, or a file where a folder is needed."""
    above = (new / parent for parent in one.parents)
    return os.path.lexists(new / one) or any(
        os.path.lexists(parent) and not parent.is_dir() for parent in above
    )


def _same(old: Path, new: Path) -> bool:
    """Whether both are folders, or files of the same content."""
    if old.is_symlink() or new.is_symlink():
        return False
    if old.is_dir() or new.is_dir():
        return old.is_dir() and new.is_dir()
    return old.is_file() and new.is_file() and _digest(old) == _digest(new)


def _free_name(new: Path, one: Path) -> Path:
    """A name beside its own that the new result does not have."""
    number = 1
    while True:
        mark = "-kept" if number == 1 else f"-kept-{number}"
        other = one.with_name(f"{one.stem}{mark}{one.suffix}")
        if any((new / parent).is_file() for parent in one.parents):
            other = Path(other.as_posix().replace("/", "-"))
        if not os.path.lexists(new / other):
            return other
        number += 1


def _put(source: Path, target: Path) -> None:
    """The same file under another path: linked, or copied where links can't be made."""
    target.parent.mkdir(parents=True, exist_ok=True)
    if source.is_symlink():
        os.symlink(os.readlink(source), target)
    elif source.is_dir():
        target.mkdir(exist_ok=True)
    else:
        try:
            os.link(source, target)
        except OSError:
            shutil.copy2(source, target)
