"""A space in a file of its own: named in a pack file, or given to a command."""

from __future__ import annotations

import os
from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import TypeVar

from pydantic import ValidationError

from generators.packfile.faults import Fault, PackFileError, Path
from generators.packfile.loader import LARGEST_BYTES, Document, Plain, load
from generators.packfile.messages import told
from generators.packfile.space_building import SpaceError, SpaceFinding, built_space
from generators.packfile.space_models import SpaceSection
from generators.spaces.opening import DRAWINGS, SOLIDS
from layouts.spaces.space import Space

__all__ = ["read_space", "space_faults", "with_space_file"]

SPACE: Path = ("space",)
NEEDS = "give box_mm, outline_mm or file"

Told = TypeVar("Told")


def read_space(file: str | os.PathLike[str]) -> Space:
    """The space in a file: YAML with the keys of a pack file's section ``space``, or a mesh or
    STEP file of the free room, its lengths in mm unless the format carries a unit.

    Raises PackFileError with all that is wrong.
    """
    name = os.fsdecode(file)
    ending = os.path.splitext(name)[1].lower()
    base = os.path.basename(name)
    if ending in SOLIDS:
        try:
            return _built(_of_solid(name), name)
        except PackFileError as error:
            faults = [
                replace(one, remedy=f"{one.remedy} in a YAML file that says file: {base}")
                if "add " in one.remedy
                else one
                for one in error.faults
            ]
            raise PackFileError(name, faults) from error
    if ending in DRAWINGS:
        raise PackFileError(
            name,
            [
                Fault(
                    line=1,
                    field="file",
                    why="is a drawing, which has no height",
                    value=base,
                    remedy=f"give a YAML file that says file: {base} and height_mm",
                )
            ],
        )
    return _built(_under_space(_loaded(name), name), name)


def with_space_file(document: Document, folder: str) -> Document:
    """A pack file whose ``space`` is a path, with that file's keys in its place.

    Faults of that file carry its name. ``folder``: where paths count from.
    """
    path = document.values.get("space")
    if not isinstance(path, str):
        return document
    values = {key: value for key, value in document.values.items() if key != "space"}
    if os.path.splitext(path)[1].lower() in (*DRAWINGS, *SOLIDS):
        key: Path = (*SPACE, "file")
        return replace(
            document,
            values={**values, "space": {"file": path}},
            lines={**document.lines, key: document.line(SPACE)},
            written={**document.written, key: path},
        )
    name = os.path.join(folder, path)
    try:
        inner = _under_space(_loaded(name), name)
    except PackFileError as error:
        fault = error.faults[0]
        here = document.fault(
            SPACE,
            why=f"{fault.why}: {fault.value}",
            value=path,
            remedy="paths are relative to this file's folder",
        )
        return replace(
            document,
            values=values,
            faults=(*document.faults, here),
            broken=document.broken | {SPACE},
        )
    broken = inner.broken if inner.whole else inner.broken | {SPACE}
    return replace(
        document,
        values={**values, **({} if SPACE in broken else inner.values)},
        lines={**document.lines, **inner.lines},
        written={key: text for key, text in document.written.items() if key != SPACE}
        | dict(inner.written),
        faults=(*document.faults, *inner.faults),
        broken=document.broken | broken,
        files={**document.files, **inner.files},
    )


def space_faults(document: Document, findings: Iterable[SpaceFinding]) -> list[Fault]:
    """What building a space found, as faults of the file that it stands in."""
    faults = []
    for one in findings:
        path = (*SPACE, *one.path)
        value = document.written.get(path) if one.value is None else one.value
        faults.append(document.fault(path, why=one.why, value=value or None, remedy=one.remedy))
    return faults


def _loaded(name: str) -> Document:
    try:
        with open(name, "rb") as stream:
            data = stream.read(LARGEST_BYTES + 1)
    except (OSError, ValueError) as error:  # ValueError: a zero byte in the name
        fault = Fault(
            line=1,
            field="file",
            why="can't be read",
            value=getattr(error, "strerror", None) or str(error),
            remedy="give the path of a space: a YAML file, a mesh or a STEP file",
        )
        raise PackFileError(name, [fault]) from error
    return load(data, needs=NEEDS)


def _under_space(document: Document, name: str) -> Document:
    """A space file as if it stood in a pack file's section ``space``."""
    return replace(
        document,
        values={"space": document.values},
        lines=_below(document.lines),
        written=_below(document.written),
        faults=tuple(replace(fault, file=name) for fault in document.faults),
        broken=frozenset((*SPACE, *path) for path in document.broken),
        files={SPACE: name},
    )


def _below(rows: Mapping[Path, Told]) -> dict[Path, Told]:
    return {(*SPACE, *path): row for path, row in rows.items()}


def _of_solid(name: str) -> Document:
    """What a space file would say that names a mesh alone."""
    base = os.path.basename(name)
    key: Path = (*SPACE, "file")
    values: dict[str, Plain] = {"space": {"file": base}}
    return Document(values=values, lines={key: 1}, written={key: base}, files={SPACE: name})


def _built(document: Document, name: str) -> Space:
    if document.faults or not document.whole:
        raise PackFileError(name, document.faults)
    try:
        form = SpaceSection.model_validate(document.values["space"])
        return built_space(form, os.path.dirname(name))
    except ValidationError as error:
        faults = []
        for one in error.errors(include_url=False):
            one["loc"] = (*SPACE, *one["loc"])
            faults.append(told(one, document))
        raise PackFileError(name, faults) from error
    except SpaceError as error:
        raise PackFileError(name, space_faults(document, error.findings)) from error
