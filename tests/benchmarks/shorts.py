"""The short check as packs grow: time a cell.

Run by hand: ``python -m tests.benchmarks.shorts``; with ``--check`` the exit status is 1 where a
cell of 10,000 takes more than 4 times that of one of 1,000, or 1,000 cells more than 1 s.
"""

from __future__ import annotations

import statistics
import sys
import time
from dataclasses import replace

import numpy as np

from layouts.holders.fastening import CellBlock
from layouts.holders.posts import cell_outline, choose_posts, post_sites
from layouts.pack import EnclosureStyle
from layouts.shorts.short_check import shorts
from layouts.strips.laying import join
from tests.layouts.boxed import arrange
from tests.samples import sample_pack

SIZES = ((10, 10), (20, 50), (50, 200), (100, 100))
ROUNDS = 3
MOST_RATIO = 4.0
MOST_S = 1.0


def short_check_s(series: int, parallel: int) -> float:
    """Processor's time [s] of the check of one pack, median; its plan is not counted."""
    pack = sample_pack(series, parallel)
    pack = replace(pack, enclosure=replace(pack.enclosure, style=EnclosureStyle.NONE))
    cell_layout = arrange(pack)
    interconnect = join(pack, cell_layout)
    outline = cell_outline(pack, cell_layout)
    posts = choose_posts(pack, post_sites(pack, cell_layout, interconnect, outline), 0)
    nowhere = np.zeros((0, 2))
    cell_block = CellBlock(
        outline=outline,
        posts=posts,
        boss_seats=(),
        saddles=nowhere,
        saddles_lower=nowhere,
        saddles_upper=nowhere,
        box_mm=(0.0, 0.0, 0.0, 0.0),
    )
    times = []
    for _ in range(ROUNDS):
        begin = time.process_time()
        shorts(pack, cell_layout, interconnect, cell_block, ())
        times.append(time.process_time() - begin)
    return statistics.median(times)


def main() -> int:
    """Measure and print."""
    cell_us: dict[int, float] = {}
    least_s: dict[int, float] = {}
    for series, parallel in SIZES:
        cells = series * parallel
        seconds = short_check_s(series, parallel)
        each = seconds / cells * 1e6
        print(f"{seconds:7.3f} s  {cells} cells, {series}S{parallel}P ({each:.0f} us a cell)")
        cell_us[cells] = max(each, cell_us.get(cells, 0.0))
        least_s[cells] = seconds
    ratio = cell_us[10_000] / cell_us[1_000]
    print(f"{ratio:7.2f} x  a cell of the largest (at most {MOST_RATIO:g})")
    return int("--check" in sys.argv and (ratio > MOST_RATIO or least_s[1_000] > MOST_S))


if __name__ == "__main__":
    sys.exit(main())
