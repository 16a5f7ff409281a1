"""How long a sweep of a box over the built-in cells takes, and what a second process gains.

Run by hand: ``python -m tests.benchmarks.suggesting``. With ``--check`` exit status 1 where two
processes take more than 0.75 of the time of one (not asked of a single core), or where the
results differ. Seconds are those of the machine at hand.
"""

from __future__ import annotations

import sys
import time

from generators.suggesting.given import given_box, make_given
from generators.suggesting.running import cores, over_processes
from layouts.suggesting.setting import Asked, Axis, Setting
from layouts.suggesting.sweep import SweepResult, sweep

BOX_MM = (240.0, 240.0, 105.0)
ASKED = Asked(volts_v=36.0)
MOST_RATIO = 0.75
ALL = (Axis.Z, Axis.X, Axis.Y)


def timed(setting: Setting, jobs: int) -> tuple[float, SweepResult]:
    """Wall time of a sweep, processes begun and ended in it [s], and what it found."""
    begin = time.perf_counter()
    with over_processes(setting, jobs) as run:
        found = sweep(setting, run)
    return time.perf_counter() - begin, found


def main() -> int:
    """Measure and print."""
    setting = make_given(given_box(BOX_MM), ASKED, cells=None, axes=ALL).setting
    alone_s, alone = timed(setting, 1)
    two_s, two = timed(setting, 2)
    ratio = two_s / alone_s
    same = alone == two
    print(f"{len(alone.rows)} layouts, {alone.planned} packs planned, {alone.looked_at} considered")
    print(f"{alone_s:6.2f} s  one process")
    print(f"{two_s:6.2f} s  two processes, {ratio:.2f} of that, limit {MOST_RATIO}")
    print("the same result" if same else "the results differ")
    slow = cores() > 1 and ratio > MOST_RATIO
    return int("--check" in sys.argv[1:] and (slow or not same))


if __name__ == "__main__":
    sys.exit(main())
