"""How soon the command line answers, against the bare import of CadQuery in the same run.

Run by hand: ``python -m tests.benchmarks.start_up``. Exit status 1 where help or a fault in a
pack file takes more than 0.3 of that import.
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).parents[2]
ROUNDS = 5
MOST_RATIO = 0.3

COMMANDS = {
    "--help": ["--help"],
    "faults of a pack file": ["check", "{bad}"],
    "make, faults of a pack file": ["make", "{bad}"],
    "check of a sound pack file": ["check", "layouts/examples/river-raft.yaml"],
    "schema": ["schema"],
}
BAD = "name: a/b\ncell: {format: x}\nseries: 0\nparalel: 2\nholder: {web_mm: 0.1}\n"


def best_s(command: list[str]) -> float:
    """Shortest wall time of a process over some rounds [s]: what else runs only adds."""
    times = []
    for _ in range(ROUNDS):
        begin = time.perf_counter()
        subprocess.run([sys.executable, *command], cwd=ROOT, capture_output=True, check=False)
        times.append(time.perf_counter() - begin)
    return min(times)


def main() -> int:
    """Measure and print; 1 where a ratio is too large."""
    with tempfile.TemporaryDirectory() as folder:
        bad = Path(folder) / "bad.yaml"
        bad.write_text(BAD, encoding="utf-8")
        kernel_s = best_s(["-c", "import cadquery"])
        print(f"{kernel_s:6.2f} s  import cadquery")
        worst = 0.0
        for name, arguments in COMMANDS.items():
            words = [word.format(bad=bad) for word in arguments]
            seconds = best_s(["-m", "generators", *words])
            worst = max(worst, seconds / kernel_s)
            print(f"{seconds:6.2f} s  {seconds / kernel_s:5.2f} x  {name}")
    return int(worst > MOST_RATIO)


if __name__ == "__main__":
    sys.exit(main())
