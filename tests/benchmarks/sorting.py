"""Sorting cells: the whole command on 5,000 of them, and how even 100 become.

Run by hand: ``python -m tests.benchmarks.sorting``. Cells are invented and seeded. Each large
pack runs twice, since the first compiles what is kept; the second is told, in seconds of the clock
and of the processor. With ``--check`` the exit status is 1 where the processor took more than 10 s,
or where a pack of 10S10P differs by more than 0.1 % or is not 5 times more even than random.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import numpy as np

from layouts.sorting.even_groups import even_groups
from layouts.sorting.spread import mean_of_random, spread_of
from tests.layouts.sorting.lots import invented

ROOT = Path(__file__).parents[2]
LARGE = ((100, 50), (50, 100), (14, 357), (1000, 5), (2500, 2))
SEEDS = 20
MOST_S = 10.0
MOST_RATIO, LEAST_TIMES = 0.001, 5.0


def whole_command(series: int, parallel: int, folder: Path) -> tuple[float, float]:
    """Seconds of clock and processor from list and pack file to the result's folder."""
    count = series * parallel
    ah, mohm = invented(count + count // 25, seed=1)
    (folder / "pack.yaml").write_text(
        f'name: large\ncell: {{format: "21700", chemistry: nmc, capacity_ah: 4.8}}\n'
        f"series: {series}\nparallel: {parallel}\n",
        encoding="utf-8",
    )
    rows = [
        f"C{k:04d},{1000 * one:.0f},{ohm:.2f},3.600"
        for k, (one, ohm) in enumerate(zip(ah, mohm, strict=True))
    ]
    heading = "label,capacity_mah,internal_resistance_mohm,rested_v"
    (folder / "cells.csv").write_text("\n".join([heading, *rows]) + "\n", encoding="utf-8")
    words = ["sort", "cells.csv", "pack.yaml", "--resistance-off", "20"]
    begin, before = time.perf_counter(), os.times()
    subprocess.run(
        [sys.executable, "-m", "generators", *words],
        cwd=folder,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        check=True,
        stdout=subprocess.DEVNULL,
    )
    after = os.times()
    used = after.children_user + after.children_system
    used -= before.children_user + before.children_system
    return time.perf_counter() - begin, used


def hundred() -> tuple[float, float]:
    """Of 10S10P over some seeds: the worst range, and the least gain over random orders."""
    worst, least = 0.0, np.inf
    for seed in range(SEEDS):
        ah, mohm = invented(100, seed)
        groups = even_groups(ah, mohm, series=10, parallel=10)
        found = spread_of(groups, ah, mohm).capacity_ratio
        by_chance = mean_of_random(np.arange(100), ah, mohm, series=10, parallel=10)
        worst = max(worst, found)
        least = min(least, by_chance.capacity_ratio / found)
    return worst, float(least)


def main() -> int:
    """Measure and print."""
    bad = False
    for series, parallel in LARGE:
        with tempfile.TemporaryDirectory() as folder:
            whole_command(series, parallel, Path(folder))
            clock_s, used_s = whole_command(series, parallel, Path(folder))
        bad |= used_s > MOST_S
        print(f"{series:5d}S{parallel}P  {clock_s:5.1f} s clock, {used_s:5.1f} s processor")
    worst, least = hundred()
    bad |= worst > MOST_RATIO or least < LEAST_TIMES
    print(f"10S10P, {SEEDS} seeds: groups within {100 * worst:.3f} %, {least:.0f} times random")
    return int("--check" in sys.argv and bad)


if __name__ == "__main__":
    sys.exit(main())
