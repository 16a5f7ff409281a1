"""Grouping: time as fields grow, and the fronts reached against their bound.

Run by hand: ``python -m tests.benchmarks.grouping``; draws ``out/grouping-growth.svg``. The
fields are ragged ones (a strip with a slanted end and a bite), 100 to 7,000 cells, grouped
quickly; with ``--check`` the exit status is 1 where a cell of 7,000 takes more than 3 times that
of 1,000, in this one run. With ``--fronts`` also the table of fronts by the full search, bare
and with the default weight on volts (several minutes).
"""

from __future__ import annotations

import sys
import time
from pathlib import Path

import numpy as np

from layouts.grouping.group import group_sites
from layouts.grouping.values import Grouping, Wishes
from layouts.placing.values import Effort
from tests.layouts.grouping.fields import Points, honeycomb, judged, touching
from tests.layouts.grouping.test_search import LARGE

ROOT = Path(__file__).parents[2]
PICTURE = ROOT / "out" / "grouping-growth.svg"
SIZES = ((10, 10), (20, 10), (25, 20), (40, 25), (50, 40), (80, 50), (100, 70))
ROUNDS = 3
MOST_RATIO = 3.0


def ragged(cells: int) -> Points:
    """About 15 % more sites than ``cells`` in a block with a slanted end and a bite out of it."""
    columns = round((1.5 * cells) ** 0.5 * 1.2)
    rows = round(1.5 * cells / columns) + 2
    xy = honeycomb(columns, rows)
    wide, high = xy.max(axis=0)
    slant = xy[:, 0] + 0.4 * xy[:, 1] < wide
    bite = np.hypot(xy[:, 0] - 0.4 * wide, xy[:, 1]) > 0.25 * high
    return np.asarray(xy[slant & bite], dtype=np.float64)


def grouped(xy_mm: Points, series: int, parallel: int, weight: float, effort: Effort) -> Grouping:
    """One grouping of a field."""
    return group_sites(
        xy_mm,
        touching(xy_mm),
        series=series,
        parallel=parallel,
        wishes=Wishes(voltage_weight=weight),
        effort=effort,
    )


def growth() -> list[tuple[int, float, int, int]]:
    """Cells, seconds (best of some rounds), front and bound of the quick answer."""
    found = []
    for series, parallel in SIZES:
        xy_mm = ragged(series * parallel)
        times = []
        for _ in range(ROUNDS):
            begin = time.perf_counter()
            grouping = grouped(xy_mm, series, parallel, 0.2, Effort.QUICK)
            times.append(time.perf_counter() - begin)
        judged(xy_mm, grouping, series=series, parallel=parallel)
        found.append(
            (series * parallel, min(times), grouping.fewest_contacts, grouping.contact_bound)
        )
    return found


def drawing(points: list[tuple[int, float, int, int]]) -> str:
    """Seconds over cells, both scales logarithmic, as SVG text."""
    wide, high, edge = 640, 420, 60

    def x(cells: float) -> float:
        return edge + (wide - 2 * edge) * (np.log10(cells) - 2) / 2

    def y(seconds: float) -> float:
        return high - edge - (high - 2 * edge) * (np.log10(seconds) + 3) / 4

    lines = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {wide} {high}" '
        'font-family="sans-serif" font-size="13">',
        f'<rect width="{wide}" height="{high}" fill="white"/>',
        f'<text x="{edge}" y="30">Grouping in a ragged field, first answer: time against cells'
        "</text>",
    ]
    for cells in (100, 1000, 10000):
        lines.append(
            f'<path d="M{x(cells):.1f} {y(10):.1f}V{y(0.001):.1f}" stroke="#bbb"/>'
            f'<text x="{x(cells):.1f}" y="{high - edge + 20}" text-anchor="middle">{cells}</text>'
        )
    for seconds in (0.001, 0.01, 0.1, 1, 10):
        lines.append(
            f'<path d="M{x(100):.1f} {y(seconds):.1f}H{x(10000):.1f}" stroke="#bbb"/>'
            f'<text x="{edge - 8}" y="{y(seconds) + 4:.1f}" text-anchor="end">{seconds:g} s</text>'
        )
    for cells, limit in ((100, 0.3), (1000, 1.0), (7000, 10.0)):
        lines.append(
            f'<path d="M{x(cells) - 14:.1f} {y(limit):.1f}h28" stroke="black" stroke-width="3"/>'
        )
    way = " ".join(f"{x(cells):.1f},{y(seconds):.1f}" for cells, seconds, *_ in points)
    lines.append(f'<polyline points="{way}" fill="none" stroke="black" stroke-width="1.5"/>')
    for cells, seconds, *_ in points:
        lines.append(
            f'<circle cx="{x(cells):.1f}" cy="{y(seconds):.1f}" r="4" fill="white" stroke="black"/>'
        )
    lines.append(
        f'<text x="{edge}" y="{high - 14}">Circles: measured. Heavy bars: 0.3 s at 100 cells, '
        "1 s at 1000, 10 s at 7000.</text></svg>"
    )
    return "\n".join(lines) + "\n"


def group_contacts() -> None:
    """Print the table of fronts by the full search."""
    print("field               S   P  bound  goal | front volts     s | weighed: front volts")
    for name, (xy_mm, series, parallel, goal) in LARGE.items():
        begin = time.perf_counter()
        bare = grouped(xy_mm, series, parallel, 0.0, Effort.BEST)
        seconds = time.perf_counter() - begin
        weighed = grouped(xy_mm, series, parallel, Wishes().voltage_weight, Effort.BEST)
        for one in (bare, weighed):
            judged(xy_mm, one, series=series, parallel=parallel)
        print(
            f"{name:17s} {series:3d} {parallel:3d} {bare.contact_bound:6d} {goal:5d} | "
            f"{bare.fewest_contacts:5d} {bare.worst_volts:5.0f} {seconds:5.0f} | "
            f"{weighed.fewest_contacts:14d} {weighed.worst_volts:5.0f}",
            flush=True,
        )


def main() -> int:
    """Measure, draw and print."""
    points = growth()
    for cells, seconds, fewest_contacts, bound in points:
        print(f"{cells:6d} cells {seconds:7.3f} s   front {fewest_contacts} of at most {bound}")
    PICTURE.parent.mkdir(exist_ok=True)
    PICTURE.write_text(drawing(points), encoding="utf-8")
    print(f"drawn: {PICTURE.relative_to(ROOT)}")
    if "--fronts" in sys.argv:
        group_contacts()
    a_cell = {cells: seconds / cells for cells, seconds, *_ in points}
    ratio = a_cell[7000] / a_cell[1000]
    print(f"{ratio:6.2f} x  a cell of 7000 against one of 1000 (at most {MOST_RATIO:g})")
    return int("--check" in sys.argv and ratio > MOST_RATIO)


if __name__ == "__main__":
    sys.exit(main())
