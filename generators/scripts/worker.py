"""The process in which a script runs: its text is executed, its bracket proven and written.

No sandbox: a script may do all that its user may. That is why it needs to be allowed.
"""

from __future__ import annotations

import os
import sys
import traceback
from types import ModuleType
from typing import Any

from generators.scripts.job import ENTRY, BadShapeError, ScriptJob, Trouble
from layouts.brackets.scripted import ScriptedBracket

__all__ = ["answer"]


def answer(job: ScriptJob) -> ScriptedBracket | Trouble:
    """Run the script and check its result; whatever it raises is reported, with its line."""
    sys.dont_write_bytecode = True  # no folder of ours beside the user's files
    folder = os.path.dirname(os.path.abspath(job.file))
    sys.path.insert(0, folder)  # modules of the user's own beside it
    try:
        returned = _returned(job)
    except BaseException as error:
        what = " ".join(f"{type(error).__name__} {error}".split())
        line, remedy = _line_of(error, job), "fix the script"
        return Trouble(line=line, why="stops with an error", value=what, remedy=remedy)
    finally:
        sys.path.remove(folder)
    try:
        from generators.scripts.shape import bracket_of  # the kernel: not needed for most errors

        return bracket_of(returned, job)
    except BadShapeError as error:
        return Trouble(line=job.line, why=error.why, value=error.value, remedy=error.remedy)


def _returned(job: ScriptJob) -> Any:
    """What the script's function gives for the sizes."""
    module = ModuleType("bracket_script")
    module.__file__ = os.path.abspath(job.file)
    sys.modules[module.__name__] = module  # where dataclasses look for their own names
    exec(compile(job.source, job.file, "exec", dont_inherit=True), module.__dict__)
    return getattr(module, ENTRY)(job.sizes)


def _line_of(error: BaseException, job: ScriptJob) -> int:
    """The last line of the script itself that was being executed."""
    frames = traceback.extract_tb(error.__traceback__)
    lines = [frame.lineno for frame in frames if frame.filename == job.file and frame.lineno]
    return lines[-1] if lines else job.line
