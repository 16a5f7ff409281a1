"""The printer in a file of its own, named in a pack file: ``printer: {profile: my-printer.yaml}``.

The file has keys of the section ``printer`` at its top level. Those of the pack file take
precedence, key by key, in the sections within it too.
"""

from __future__ import annotations

import os
from collections.abc import Iterator, Mapping
from dataclasses import replace

from generators.packfile.faults import Path
from generators.packfile.loader import LARGEST_BYTES, Document, Plain, load

__all__ = ["with_printer_file"]

SECTION: Path = ("printer",)
KEY: Path = ("printer", "profile")
NEEDS = "give keys of the section printer, such as hole_mm"


def with_printer_file(document: Document, folder: str) -> Document:
    """A pack file whose printer names a profile, with that file's keys beside its own.

    Faults of that file carry its name. ``folder``: where paths count from.
    """
    section = document.values.get("printer")
    path = section.get("profile") if isinstance(section, dict) else None
    if not isinstance(path, str) or path[:1].strip() == "":
        return document  # the form tells what is wrong with it, if anything is
    name = os.path.join(folder, path)
    try:
        with open(name, "rb") as stream:
            data = stream.read(LARGEST_BYTES + 1)
    except (OSError, ValueError) as error:  # ValueError: a zero byte in the name
        why = getattr(error, "strerror", None) or str(error)
        return _refused(document, f"can't be read: {why}", path)
    return _joined(document, load(data, needs=NEEDS), name)


def _joined(document: Document, inner: Document, name: str) -> Document:
    """The keys of the file put where the pack file has none."""
    lines = {(*SECTION, *at): line for at, line in inner.lines.items() if at}
    if KEY in lines:
        fault = document.fault(
            KEY, why="names a file that names a profile too", value=None, remedy="delete it there"
        )
        fault = replace(fault, line=lines[KEY], field="profile", file=name)
        return replace(document, faults=(*document.faults, fault), broken=document.broken | {KEY})
    faults = tuple(replace(fault, file=name) for fault in inner.faults)
    broken = frozenset((*SECTION, *at) for at in inner.broken)
    if not inner.whole:
        broken |= {SECTION}
    taken = {at: line for at, line in lines.items() if not _given(document, at)}
    own = document.values["printer"]
    assert isinstance(own, dict)  # it has the key that named the file
    values: dict[str, Plain] = {**document.values, "printer": _merged(own, inner.values)}
    return replace(
        document,
        values=values,
        lines={**taken, **document.lines},
        written={
            **{
                (*SECTION, *at): text
                for at, text in inner.written.items()
                if (*SECTION, *at) in taken
            },
            **document.written,
        },
        faults=(*document.faults, *faults),
        broken=document.broken | {at for at in broken if at == SECTION or at in taken},
        files={**document.files, **dict.fromkeys(_tops(taken), name)},
    )


def _given(document: Document, at: Path) -> bool:
    """Whether the pack file has the key, or a plain value or list above it."""
    if document.has(at):
        return True
    above = [at[:size] for size in range(len(SECTION) + 1, len(at)) if document.has(at[:size])]
    return any(not isinstance(_value(document.values, one), dict) for one in above)


def _value(values: Plain, path: Path) -> Plain:
    for key in path:
        if not isinstance(values, Mapping):
            return None
        values = values.get(str(key))
    return values


def _merged(own: Mapping[str, Plain], others: Mapping[str, Plain]) -> dict[str, Plain]:
    """Both, where they differ those of ``own``; sections key by key."""
    found = {**others, **own}
    for key, value in own.items():
        beside = others.get(key)
        if isinstance(value, dict) and isinstance(beside, dict):
            found[key] = _merged(value, beside)
    return found


def _tops(paths: Mapping[Path, int]) -> Iterator[Path]:
    """The paths that have none of the others above them."""
    return (at for at in paths if not any(at[:size] in paths for size in range(1, len(at))))


def _refused(document: Document, why: str, path: str) -> Document:
    fault = document.fault(
        KEY,
        why=why,
        value=path,
        remedy="give the path of a YAML file relative to this file's folder",
    )
    return replace(document, faults=(*document.faults, fault), broken=document.broken | {KEY})
