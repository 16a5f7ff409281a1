"""The first example from file to report, against the bare import of CadQuery in the same run: all
of it, and without pictures and looks at layers.

Run by hand: ``python -m tests.benchmarks.whole_run``; with ``--check`` the exit status is 1
where a ratio of medians is above its limit. Wall time is judged, on two cores that do nothing
else; processor time of all processes is told too, which other work on the machine disturbs less:
two cores that are never idle take half of it.
"""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).parents[2]
ROUNDS = 5
KERNEL, WHOLE, ALONE = "import cadquery", "the first example", "its parts, proofs and files alone"
MOST_RATIO = {WHOLE: 5.0, ALONE: 4.0}


def taken_s(command: list[str]) -> tuple[float, float]:
    """Wall and processor time of one process and those that it starts [s]; it must end with
    status 0."""
    begin, before = time.perf_counter(), os.times()
    subprocess.run([sys.executable, *command], cwd=ROOT, capture_output=True, check=True)
    after = os.times()
    used = after.children_user - before.children_user
    used += after.children_system - before.children_system
    return time.perf_counter() - begin, used


def main() -> int:
    """Measure all in turns, so that what else runs slows all, and print."""
    times: dict[str, list[tuple[float, float]]] = {KERNEL: [], WHOLE: [], ALONE: []}
    with tempfile.TemporaryDirectory() as folder:
        commands = {
            KERNEL: ["-c", "import cadquery"],
            WHOLE: ["-m", "generators", "make", "--out", folder],
            ALONE: ["-m", "tests.benchmarks.parts_alone", "make", "--out", folder],
        }
        taken_s(commands[WHOLE])  # files come into the system's memory
        for _ in range(ROUNDS):
            for name, command in commands.items():
                times[name].append(taken_s(command))
    wall, used = (
        {name: statistics.median(one[k] for one in each) for name, each in times.items()}
        for k in range(2)
    )
    for name in times:
        print(f"{wall[name]:6.2f} s, processors {used[name]:6.2f} s  {name}")
    slow = False
    for name, most in MOST_RATIO.items():
        ratio = wall[name] / wall[KERNEL]
        slow |= ratio > most
        print(
            f"{ratio:6.2f} x, processors {used[name] / used[KERNEL]:6.2f} x  {name} "
            f"(at most {most:g} x)"
        )
    return int("--check" in sys.argv and slow)


if __name__ == "__main__":
    sys.exit(main())
