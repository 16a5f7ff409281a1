"""Files of a space, read in a process of its own: a file that crashes or fills it is refused."""

from __future__ import annotations

import signal
from collections.abc import Sequence
from dataclasses import dataclass

from generators.limited_process import NoAnswer, answers
from generators.spaces.errors import UnreadableError
from generators.spaces.opening import (
    DRAWINGS,
    Use,
    found_file,
    libraries,
    read_prism,
    read_solid,
)
from layouts.spaces.space import Prism, Solid

__all__ = ["LIMIT_S", "SpaceFile", "read_one", "read_space_files"]

# Of one file, once the libraries are loaded; with that and the start of the command under 20 s,
# also for the kernel on a busy machine.
LIMIT_S = 10.0
MEMORY_BYTES = 4_000_000_000  # ten times the largest file

Read = tuple[Prism | Solid, tuple[str, ...]]


@dataclass(frozen=True, kw_only=True, slots=True)
class SpaceFile:
    """A file that a space names.

    ``path``; ``name``: how messages call it; ``units``: as the user states them; ``height_mm``: of
    the room over a drawing; ``as_name``: the body's; ``mend``: close holes; ``use``: what for.
    """

    path: str
    name: str
    units: str | None
    as_name: str
    mend: bool
    use: Use
    height_mm: float | None = None


def read_space_files(files: Sequence[SpaceFile]) -> list[Read | UnreadableError]:
    """Of each file its prism or solid with what to know about it, or why it can't be used."""
    there: list[SpaceFile] = []
    refused: dict[int, UnreadableError] = {}
    for number, one in enumerate(files):
        try:
            found_file(one.path, one.name, one.use)  # told without a process
            there.append(one)
        except UnreadableError as error:
            refused[number] = error
    loads = dict.fromkeys(name for one in there for name in libraries(one.name))
    given = iter(
        answers(
            read_one,
            there,
            limit_s=LIMIT_S,
            loads=tuple(loads),
            memory_bytes=MEMORY_BYTES,
            quiet=True,
        )
        if there
        else ()
    )
    return [
        refused[number] if number in refused else _in_words(next(given))
        for number in range(len(files))
    ]


def read_one(file: SpaceFile) -> Read | UnreadableError:
    """The same of one file, in this process."""
    try:
        if file.name.lower().endswith(DRAWINGS) and file.use == "room":
            assert file.height_mm is not None
            return read_prism(file.path, file.name, file.units, file.height_mm)
        return read_solid(
            file.path,
            file.name,
            file.units,
            as_name=file.as_name,
            mend=file.mend,
            use=file.use,
        )
    except UnreadableError as error:
        return error


def _in_words(given: Read | UnreadableError | NoAnswer) -> Read | UnreadableError:
    """No answer as a refusal."""
    if not isinstance(given, NoAnswer):
        return given
    if given.late:
        return UnreadableError(
            f"is not read after {LIMIT_S:g} s", "give a simpler drawing or a coarser mesh"
        )
    try:
        ending = signal.Signals(-given.status).name
    except ValueError:
        ending = f"exit status {given.status}"
    return UnreadableError(
        "is damaged: the library that reads it crashes",
        "save it again, or in another format",
        ending,
    )
