"""Steady temperatures of packs as they grow to the largest: time a cell.

Run by hand: ``python -m tests.benchmarks.heat``; with ``--check`` the exit status is 1 where a
cell of 10,000 takes more than 3 times that of one of 1,000, or all of them more than 2 s.
"""

from __future__ import annotations

import statistics
import sys
import time

from layouts.heat.limit import TemperatureLimits
from layouts.heat.model import HeatModel
from layouts.heat.polymers import polymer_heats
from layouts.heat.rating import rate_heat
from layouts.heat.steady import steady
from tests.layouts.heat.models import honeycomb_model

ROUNDS = 7
MOST_RATIO = 3.0
MOST_S = 2.0


def steady_s(model: HeatModel) -> float:
    """Processor's time [s] from the model to its temperatures, median."""
    times = []
    for _ in range(ROUNDS):
        begin = time.process_time()
        steady(model)
        times.append(time.process_time() - begin)
    return statistics.median(times)


def main() -> int:
    """Measure and print."""
    seconds = {n: steady_s(honeycomb_model(n // 100, 100, cell_w=0.05)) for n in (1_000, 10_000)}
    for cells, took in seconds.items():
        print(f"{took:7.3f} s  {cells} cells, steady ({took / cells * 1e6:.1f} us a cell)")
    ratio = seconds[10_000] / seconds[1_000] / 10.0
    print(f"{ratio:7.2f} x  a cell of the largest (at most {MOST_RATIO:g})")
    limits = TemperatureLimits(cells_c=60.0, polymer=polymer_heats()["asa"])
    begin = time.process_time()
    rate_heat(honeycomb_model(100, 100, cell_w=0.05), limits, charge_ah=400.0, peak_a=2000.0)
    print(f"{time.process_time() - begin:7.3f} s  10000 cells, the whole rating")
    return int("--check" in sys.argv and (ratio > MOST_RATIO or seconds[10_000] > MOST_S))


if __name__ == "__main__":
    sys.exit(main())
