"""How placing grows with the number of cells, in an odd shape, measured and drawn.

Run by hand: ``python -m tests.benchmarks.placing``; writes ``out/placing-growth.svg``. The odd
shape is a triangle with two things in it. Every time is also given as a ratio to that of the
smallest field in the same run; with ``--check`` the exit status is 1 where a ratio grows faster
than ``MOST_EXPONENT`` of the cells' ratio, or where the first answer for some 100 cells takes
longer than the best one.
"""

from __future__ import annotations

import statistics
import sys
import time
from math import log10
from pathlib import Path

import numpy as np
from shapely import Point, Polygon, affinity, box

from layouts.pack import Lattice
from layouts.placing.place import place_most
from layouts.placing.values import Effort

ROOT = Path(__file__).parents[2]
PITCH_MM, REACH_MM = 19.5, 10.75
CELLS = (100, 200, 500, 1000, 2000, 4000, 7000)
ROUNDS = 3
MOST_EXPONENT = 1.5  # time against cells: one field's boundary grows with their root


def odd_shape(cells: int) -> Polygon:
    """The triangle with a round and a square thing in it, sized for about so many cells."""
    made = Polygon([(0, 0), (420, 0), (150, 300)]).difference(box(280, -1, 310, 30))
    made = made.difference(Point(170, 110).buffer(18 / np.cos(np.pi / 96), quad_segs=24))
    # 155 cells at size 1, of which the walls' margin costs some 45
    size = np.sqrt((cells + 2.2 * np.sqrt(cells)) / 184)
    return affinity.scale(made, size, size, origin=(0, 0))


def measured_s(cells: int, effort: Effort, rounds: int) -> tuple[int, float]:
    """Cells placed, and the median time [s]."""
    cavity, times, count = odd_shape(cells), [], 0
    for _ in range(rounds):
        begin = time.perf_counter()
        count = place_most(
            cavity, pitch_mm=PITCH_MM, reach_mm=REACH_MM, lattice=Lattice.HONEYCOMB, effort=effort
        ).count
        times.append(time.perf_counter() - begin)
    return count, statistics.median(times)


def drawn(series: dict[str, list[tuple[int, float]]]) -> str:
    """An SVG with both axes in decades: cells across, seconds up."""
    width, high, left, foot = 640, 420, 70, 50
    x_low, x_high, y_low, y_high = 1.7, 4.0, -2.0, 2.0

    def at(cells: float, seconds: float) -> tuple[float, float]:
        x = left + (log10(cells) - x_low) / (x_high - x_low) * (width - left - 20)
        y = high - foot - (log10(seconds) - y_low) / (y_high - y_low) * (high - foot - 20)
        return round(x, 1), round(y, 1)

    out = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {high}"'
        ' font-family="sans-serif" font-size="12">',
        f'<rect width="{width}" height="{high}" fill="#fff"/>',
    ]
    for decade in (0.01, 0.1, 1, 10, 100):
        (x, y), (right, _) = at(10**x_low, decade), at(10**x_high, decade)
        out.append(f'<path d="M{x} {y}H{right}" stroke="#ccc"/>')
        out.append(f'<text x="{x - 6}" y="{y + 4}" text-anchor="end">{decade:g} s</text>')
    for cells in CELLS:
        (x, y), (_, top) = at(cells, 10**y_low), at(cells, 10**y_high)
        out.append(f'<path d="M{x} {y}V{top}" stroke="#eee"/>')
        out.append(f'<text x="{x}" y="{y + 18}" text-anchor="middle">{cells}</text>')
    out.append(f'<text x="{width / 2}" y="{high - 8}" text-anchor="middle">cells placed</text>')
    for (name, points), dash in zip(series.items(), ("", "7 4"), strict=True):
        spots = [at(cells, seconds) for cells, seconds in points]
        line = " ".join(f"{x},{y}" for x, y in spots)
        out.append(
            f'<polyline points="{line}" fill="none" stroke="#000" stroke-width="1.6"'
            f' stroke-dasharray="{dash}"/>'
        )
        out += [f'<circle cx="{x}" cy="{y}" r="3"/>' for x, y in spots]
        x, y = spots[-1]
        out.append(f'<text x="{x}" y="{y - 12}" text-anchor="end">{name}</text>')
    return "\n".join([*out, "</svg>", ""])


def main() -> int:
    """Measure, print, draw."""
    # compiled code is loaded, and made where it is not there yet, before the clock runs
    measured_s(60, Effort.BEST, 1)
    series: dict[str, list[tuple[int, float]]] = {"first answer": [], "best answer": []}
    for cells in CELLS:
        for name, effort, rounds in (
            ("first answer", Effort.QUICK, ROUNDS),
            ("best answer", Effort.BEST, 1),
        ):
            series[name].append(measured_s(cells, effort, rounds))
            count, seconds = series[name][-1]
            start, base = series[name][0]
            print(
                f"{name:13s} {count:5d} cells {seconds:7.3f} s  {seconds / base:6.1f} x the time"
                f" of {start}, for {count / start:5.1f} x the cells",
                flush=True,
            )
    picture = ROOT / "out" / "placing-growth.svg"
    picture.write_text(drawn(series), encoding="utf-8")
    print(f"drawn to {picture.relative_to(ROOT)}")
    first = series["first answer"]
    exponents = [
        np.log(seconds / first[0][1]) / np.log(cells / first[0][0]) for cells, seconds in first[1:]
    ]
    failed = max(exponents) > MOST_EXPONENT or first[0][1] > series["best answer"][0][1]
    return int("--check" in sys.argv and failed)


if __name__ == "__main__":
    sys.exit(main())
