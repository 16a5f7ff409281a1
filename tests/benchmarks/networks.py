"""Networks of packs as they grow to the largest: time to solve one.

Run by hand: ``python -m tests.benchmarks.networks``; with ``--check`` the exit status is 1 where
10,000 cells take more than 2 s, or a cell of them more than 8 times one of 1,000.
"""

from __future__ import annotations

import statistics
import sys
import time
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from layouts.cells import lattice as lattices
from layouts.currents.network import solve
from layouts.currents.strips import StripNetwork, touching_network
from layouts.pack import Lattice
from tests.samples import sample_pack

ROUNDS = 3
MOST_S = 2.0
MOST_RATIO = 8.0


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Rows:
    """Cells in rows, a group each."""

    xy_mm: NDArray[np.float64]
    group: NDArray[np.int64]
    neighbours: NDArray[np.int64]


def network_of(series: int, parallel: int) -> StripNetwork:
    """A honeycomb of whole rows, a link over every touching pair."""
    pack = sample_pack(series, parallel)
    group = np.repeat(np.arange(1, series + 1), parallel)
    column = 2 * np.tile(np.arange(parallel), series) + group % 2
    sites = np.column_stack([column, group]).astype(np.int64)
    step = (pack.pitch_mm / 2, pack.pitch_mm * 3**0.5 / 2)
    pairs = lattices.neighbour_pairs(sites, Lattice.HONEYCOMB)
    return touching_network(pack, Rows(xy_mm=sites * step, group=group, neighbours=pairs))


def solve_s(network: StripNetwork) -> float:
    """Processor's time [s] of one solve, median; the currents are looked at too."""
    times = []
    for _ in range(ROUNDS):
        begin = time.process_time()
        flow = solve(network.network, 100.0)
        times.append(time.process_time() - begin)
        assert np.all(flow.cell_a > 0)
    return statistics.median(times)


def main() -> int:
    """Measure and print."""
    seconds = {n: solve_s(network_of(n // 50, 50)) for n in (1_000, 10_000)}
    for cells, took in seconds.items():
        print(f"{took:7.3f} s  {cells} cells ({took / cells * 1e6:.1f} us a cell)")
    ratio = seconds[10_000] / seconds[1_000] / 10.0
    print(f"{ratio:7.2f} x  a cell of the largest (at most {MOST_RATIO:g})")
    return int("--check" in sys.argv and (ratio > MOST_RATIO or seconds[10_000] > MOST_S))


if __name__ == "__main__":
    sys.exit(main())
