"""A pack file's bracket script: read, run in a process of its own, and put into the pack.

Nothing heavy is loaded here: the kernel is the process's own.
"""

from __future__ import annotations

import ast
import os
from dataclasses import replace
from typing import TYPE_CHECKING

from generators.limited_process import NoAnswer, WorkFaultError, answers
from generators.packfile.faults import Caution, Fault, PackFileError
from layouts.errors import PlanError
from layouts.pack import EnclosureStyle

if TYPE_CHECKING:
    from generators.packfile.resolve import ReadPack
    from generators.scripts.job import ScriptJob, Trouble
    from layouts.brackets.scripted import ScriptedBracket

__all__ = ["LIMIT_S", "run_script", "with_bracket"]

LIMIT_S = 60.0  # a script that runs longer is ended; loading the kernel takes some 3 of them
LARGEST_BYTES = 1_000_000
FIELD = "mount.script"


def with_bracket(read: ReadPack, *, allowed: bool) -> ReadPack:
    """The pack with what its bracket script gives, and a caution; as it is where it has none.

    ``allowed``: whether scripts may be run. Raises PackFileError where the script may not be run,
    can't be, or gives no bracket that can be mounted and printed.
    """
    name = read.pack.mount.script
    if name is None or read.pack.enclosure.style is EnclosureStyle.NONE:
        return read
    if not allowed:
        from layouts.brackets.script import ALLOW, NOT_RUN

        raise read.refused(PlanError(field=FIELD, why=NOT_RUN, value=name, remedy=ALLOW))
    from generators.scripts.job import ScriptJob, Trouble
    from layouts.brackets.scripted import sizes_for

    try:
        sizes = sizes_for(read.pack)
    except PlanError as error:
        raise read.refused(error) from error
    file = os.path.normpath(os.path.join(os.path.dirname(read.file), name))
    source = _source(read, file, name)
    job = ScriptJob(file=file, source=source, line=_entry_line(read, file, source), sizes=sizes)
    given = run_script(job)
    if isinstance(given, Trouble):
        raise _refused(read, file, given.line, given.why, given.value, given.remedy)
    caution = Caution(
        field=FIELD,
        text=f"the strength of the brackets of {given.name} is not checked, whatever load says: "
        "test one well above the required load before relying on it",
    )
    mount = replace(read.pack.mount, given=given)
    return replace(read, pack=replace(read.pack, mount=mount), cautions=(*read.cautions, caution))


def run_script(job: ScriptJob, *, limit_s: float | None = None) -> ScriptedBracket | Trouble:
    """What a script gives, run in a process that is ended after ``limit_s`` (None: ``LIMIT_S``).

    All that it prints goes to standard error. Raises RuntimeError for a fault of ours.
    """
    from generators.scripts.job import Trouble
    from generators.scripts.worker import answer

    limit = LIMIT_S if limit_s is None else limit_s
    try:
        (given,) = answers(answer, [job], limit_s=limit)
    except WorkFaultError as error:
        raise RuntimeError(f"proving a script's bracket failed: {error}") from error
    if not isinstance(given, NoAnswer):
        return given
    if given.late:
        return Trouble(
            line=job.line,
            why=f"is not done after {limit:g} s",
            value=None,
            remedy="look for an infinite loop, or simplify it",
        )
    return Trouble(
        line=job.line,
        why="ends its process without a result",
        value=f"exit status {given.status}",
        remedy="remove what ends it",
    )


def _source(read: ReadPack, file: str, name: str) -> str:
    """The script's text."""
    try:
        with open(file, "rb") as stream:
            data = stream.read(LARGEST_BYTES + 1)
    except (OSError, ValueError) as error:  # ValueError: a zero byte in the name
        why = getattr(error, "strerror", None) or str(error)
        told = PlanError(
            field=FIELD,
            why=f"can't be read: {why}",
            value=name,
            remedy="give the path of a Python file, relative to this file's folder",
        )
        raise read.refused(told) from error
    if len(data) > LARGEST_BYTES:
        raise _refused(read, file, 1, "is too large", None, "give at most 1 MB")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data[: error.start].count(b"\n") + 1
        raise _refused(
            read, file, line, "is not UTF-8 text", None, "save it as UTF-8 text"
        ) from error


def _entry_line(read: ReadPack, file: str, source: str) -> int:
    """The line of the script's function. Raises PackFileError where it has none."""
    from generators.scripts.job import ENTRY

    try:
        tree = ast.parse(source)
    except (SyntaxError, ValueError, RecursionError, MemoryError) as error:
        line = getattr(error, "lineno", None) or 1
        what = getattr(error, "msg", None) or str(error)
        raise _refused(read, file, line, "is not Python", what, "fix the script") from error
    for node in tree.body:
        if isinstance(node, ast.FunctionDef) and node.name == ENTRY:
            return node.lineno
    remedy = f"write def {ENTRY}(sizes), which returns a cadquery Workplane"
    raise _refused(read, file, 1, f"has no function {ENTRY}", None, remedy)


def _refused(
    read: ReadPack, file: str, line: int, why: str, value: str | None, remedy: str
) -> PackFileError:
    """A fault at a line of the script."""
    fault = Fault(line=line, field="bracket", why=why, value=value, remedy=remedy, file=file)
    return PackFileError(read.file, [fault])
