"""Damaged files of spaces: each is read or refused in a line, in under 20 s, whatever it holds.

Run by hand: ``python -m tests.benchmarks.damaged_files`` for 500 files a format (some minutes a
format), ``--count N`` for others, ``--only step`` for one. Damage is drawn from ``--seed``. Many
are read in one process; those that were not read in time once more alone, as a command does it,
and timed from outside. Exit status 1 where a file is told in no line, is a fault
of the tool's own, or takes 20 s or more. With ``--keep DIR`` files that are refused by a crash or
by time stay there.
"""

from __future__ import annotations

import argparse
import random
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from generators.limited_process import NoAnswer, WorkFaultError, answers
from generators.spaces.errors import UnreadableError
from generators.spaces.opening import libraries
from generators.spaces.reading import (
    LIMIT_S,
    MEMORY_BYTES,
    Read,
    SpaceFile,
    read_space_files,
)
from tests.damaged_files import FORMATS, damaged, sound_file, timed_read

LONGEST_S = 20.0


def files(kind: str, count: int, seed: int, folder: Path) -> list[SpaceFile]:
    """Sound file first, then damaged ones."""
    sound = sound_file(kind, folder)
    data = sound.read_bytes()
    first = SpaceFile(
        path=str(sound), name=sound.name, units=None, as_name="room", mend=False, use="room",
        height_mm=70.0,
    )  # fmt: skip
    found = [first]
    for number in range(count):
        file = folder / f"{number:04d}.{kind}"
        file.write_bytes(damaged(data, kind, random.Random(f"{seed} {kind} {number}")))
        found.append(replace(first, path=str(file), name=file.name))
    return found


def alone(file: SpaceFile) -> tuple[Read | UnreadableError, float]:
    """The same as a command has it, its process included."""
    begin_s = time.perf_counter()
    (given,) = read_space_files([file])
    return given, time.perf_counter() - begin_s


def counted(kind: str, chosen: argparse.Namespace, folder: Path) -> Counter[str]:
    """All files of a format by how they end."""
    count: Counter[str] = Counter()
    mutants = files(kind, chosen.count, chosen.seed, folder)
    longest_s = 0.0
    given: Sequence[tuple[Read | UnreadableError, float] | NoAnswer] = answers(
        timed_read,
        mutants,
        limit_s=LIMIT_S,
        loads=libraries(mutants[0].name),
        memory_bytes=MEMORY_BYTES,
        quiet=True,
    )
    assert not isinstance(given[0], NoAnswer) and not isinstance(given[0][0], UnreadableError)
    reasons: Counter[str] = Counter()
    for file, one in zip(mutants[1:], given[1:], strict=True):
        if isinstance(one, NoAnswer):
            count["not in time" if one.late else "crash of a library"] += 1
            if chosen.keep is not None:
                chosen.keep.mkdir(parents=True, exist_ok=True)
                (chosen.keep / file.name).write_bytes(Path(file.path).read_bytes())
        if isinstance(one, NoAnswer) and not one.late:
            count["refused"] += 1
            continue
        answer, seconds = alone(file) if isinstance(one, NoAnswer) else one
        longest_s = max(longest_s, seconds)
        count["20 s or more"] += seconds >= LONGEST_S
        if isinstance(answer, UnreadableError):
            count["refused"] += 1
            reasons[answer.why[:60]] += 1
            count["more than a line"] += "\n" in str(answer)
        else:
            count["read"] += 1
    print(f"{kind}: {dict(count)}, longest {longest_s:.1f} s")
    for why, number in reasons.most_common(12):
        print(f"    {number:4d}  {why}")
    return count


def main() -> int:
    """Damage, read, count."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--count", type=int, default=500)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--only", choices=FORMATS)
    parser.add_argument("--keep", type=Path)
    chosen = parser.parse_args()
    bad = 0
    for kind in FORMATS if chosen.only is None else (chosen.only,):
        with tempfile.TemporaryDirectory() as folder:
            try:
                count = counted(kind, chosen, Path(folder))
            except WorkFaultError as error:
                print(f"{kind}: a fault of the tool's own: {error}")
                bad += 1
                continue
            bad += count["20 s or more"] + count["more than a line"]
    return int(bad > 0)


if __name__ == "__main__":
    sys.exit(main())
