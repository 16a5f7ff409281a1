"""The one folder whose files the page reads and writes: names, and what lies outside of it."""

from __future__ import annotations

import os
import re
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any

from generators.packfile.faults import Path as KeyPath
from generators.packfile.loader import LARGEST_BYTES, load
from generators.page.fields import FILE_KEYS

__all__ = [
    "LARGEST_UPLOAD_BYTES", "UPLOADS", "FolderError", "free_name", "inside", "outside_faults",
    "pack_files", "read_text", "stored",
]  # fmt: skip

LARGEST_UPLOAD_BYTES = 20_000_000
UPLOADS = (".dxf", ".svg", ".stl", ".obj", ".3mf", ".step", ".stp", ".yaml", ".yml", ".csv")
YAML = (".yaml", ".yml")
MOST_LISTED = 200
NESTED = 3  # files that name files that name files


class FolderError(ValueError):
    """A file that can't be used; the message is one line."""


def inside(folder: Path, name: str) -> Path:
    """The path of a file in the folder or below it. Raises FolderError for any other."""
    try:
        path = (folder / name).resolve()
    except (OSError, ValueError) as error:  # ValueError: a zero byte
        raise FolderError(f"no file can have this name ({name[:60]!r})") from error
    if not path.is_relative_to(folder.resolve()) or not name.strip():
        raise FolderError(f"lies outside the page's folder ({name[:60]}): copy it there")
    return path


def pack_files(folder: Path) -> list[str]:
    """Names of the YAML files in the folder that have a pack's keys, in order."""
    found = []
    for path in sorted(folder.iterdir()):
        if path.suffix.lower() in YAML and path.is_file() and path.stat().st_size <= LARGEST_BYTES:
            values = load(path.read_bytes()).values
            if "cell" in values or "series" in values:
                found.append(path.name)
    return found[:MOST_LISTED]


def read_text(path: Path) -> str:
    """A pack file's text with its own line breaks. Raises FolderError."""
    try:
        with open(path, "rb") as stream:
            data = stream.read(LARGEST_BYTES + 1)
        if len(data) > LARGEST_BYTES:
            raise FolderError(f"{path.name} is larger than a pack file may be")
        return data.decode("utf-8")
    except (OSError, UnicodeDecodeError) as error:
        why = getattr(error, "strerror", None) or "is no UTF-8 text"
        raise FolderError(f"can't be read: {why} ({path.name})") from error


def free_name(folder: Path, wanted: str) -> Path:
    """A path in the folder that no file has yet, by a plain name like the wanted one.

    Raises FolderError for a kind of file that the page does not take."""
    stem, ending = os.path.splitext(os.path.basename(wanted.replace("\\", "/")))
    if ending.lower() not in UPLOADS:
        raise FolderError(f"{wanted[:60]} is no file for the page: it takes {', '.join(UPLOADS)}")
    stem = re.sub(r"[^A-Za-z0-9_-]+", "-", stem).strip("-_")[:60] or "file"
    path, number = folder / f"{stem}{ending.lower()}", 2
    while os.path.lexists(path):
        path, number = folder / f"{stem}-{number}{ending.lower()}", number + 1
    return path


def stored(folder: Path, wanted: str, data: bytes) -> str:
    """Write an uploaded file under a free name, which is returned; the same file again: no copy."""
    path = free_name(folder, wanted)
    plain = re.sub(r"-\d+$", "", path.stem)
    for one in sorted(folder.glob(f"{plain}*{path.suffix}")):
        if one.is_file() and one.stat().st_size == len(data) and one.read_bytes() == data:
            return one.name
    with open(path, "xb") as stream:
        stream.write(data)
    return path.name


def outside_faults(folder: Path, text: str) -> list[tuple[KeyPath, str, str]]:
    """Keys of a pack file that name a file outside the folder, or a script: (path, name, why)."""
    found = []
    for path, name in _named_files(load(text.encode()).values, folder, folder, NESTED):
        if path[-1:] == ("script",):
            found.append((path, name, "is a script, and the page runs none"))
            continue
        try:
            inside(folder, name)
        except FolderError as error:
            found.append((path, name, str(error)))
    return found


def _named_files(
    values: Any, folder: Path, at: Path, deep: int, path: KeyPath = ()
) -> Iterator[tuple[KeyPath, str]]:
    """(path of the key, file as the folder sees it), also those that a named YAML file names."""
    pairs: Iterable[tuple[str | int, Any]] = values.items() if isinstance(values, dict) else ()
    if isinstance(values, tuple):
        pairs = enumerate(values)
    for key, value in pairs:
        here = (*path, key)
        if not isinstance(value, str):
            yield from _named_files(value, folder, at, deep, here)
            continue
        if key not in FILE_KEYS and here != ("space",):
            continue
        name = os.path.join(at, value) if at != folder else value
        yield here, name
        if deep and value.lower().endswith(YAML):
            below = Path(os.path.join(folder, name))
            if below.is_file() and below.resolve().is_relative_to(folder.resolve()):
                data = below.read_bytes()[: LARGEST_BYTES + 1]
                inner = load(data).values
                for _, other in _named_files(inner, folder, below.parent, deep - 1):
                    yield here, other
