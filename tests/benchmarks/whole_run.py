"""The first example from file to report, against the bare import of CadQuery in the same run.

Run by hand: ``python -m tests.benchmarks.whole_run``; with ``--check`` the exit status is 1
where the ratio of medians is above its limit.
"""

from __future__ import annotations

import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).parents[2]
ROUNDS = 5
MOST_RATIO = 4.0


def wall_s(command: list[str]) -> float:
    """Wall time of one process [s]; it must end with status 0."""
    begin = time.perf_counter()
    subprocess.run([sys.executable, *command], cwd=ROOT, capture_output=True, check=True)
    return time.perf_counter() - begin


def main() -> int:
    """Measure both in turns, so that what else runs slows both, and print."""
    kernel: list[float] = []
    whole: list[float] = []
    with tempfile.TemporaryDirectory() as folder:
        make = ["-m", "generators", "make", "--out", folder]
        wall_s(make)  # files come into the system's memory
        for _ in range(ROUNDS):
            kernel.append(wall_s(["-c", "import cadquery"]))
            whole.append(wall_s(make))
    for name, times in (("import cadquery", kernel), ("the first example", whole)):
        told = " ".join(f"{one:.2f}" for one in times)
        print(f"{statistics.median(times):6.2f} s  {name} ({told})")
    ratio = statistics.median(whole) / statistics.median(kernel)
    print(f"{ratio:6.2f} x  (at most {MOST_RATIO:g})")
    return int("--check" in sys.argv and ratio > MOST_RATIO)


if __name__ == "__main__":
    sys.exit(main())
