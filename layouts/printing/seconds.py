"""Seconds that a nozzle takes for lines: straight runs, closed lines, filled areas.

A run starts and ends at a speed that the printer takes a corner with, rises to its speed and falls
again, at one acceleration (uniformly accelerated motion). No look-ahead beyond a line's ends.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

from layouts.printing.lines import ClosedLines

__all__ = ["SMALL_LOOP_MM", "closed_lines_s", "fill_s", "run_s"]

FloatArray = NDArray[np.float64]

SMALL_LOOP_MM = math.tau * 6.5  # closed lines below this are printed slowly; common practice
LEAST_TURN = 1e-9


def run_s(
    length_mm: ArrayLike, speed_mm_s: float, corner_mm_s: float, acceleration_mm_s2: float
) -> FloatArray:
    """Seconds for straight runs from the corner speed up to the speed and down again.

    l >= (v^2 - c^2) / a: l/v + (v - c)^2 / (a v); else its peak is below v, and it takes
    2 (sqrt(c^2 + a l) - c) / a.
    """
    length = np.asarray(length_mm, dtype=np.float64)
    v, a = speed_mm_s, acceleration_mm_s2
    c = min(corner_mm_s, v)
    reached = length / v + (v - c) ** 2 / (a * v)
    peaked = 2.0 * (np.sqrt(c * c + a * length) - c) / a
    return np.where(length >= (v * v - c * c) / a, reached, peaked)


def closed_lines_s(
    lines: ClosedLines, *, speed_mm_s: float, small_mm_s: float, jerk_mm_s: float,
    acceleration_mm_s2: float,
) -> float:  # fmt: skip
    """Seconds for closed lines. A corner is taken at the speed whose change on one axis is the
    jerk; short lines at ``small_mm_s``."""
    if not len(lines.run_mm):
        return 0.0
    a, run = acceleration_mm_s2, lines.run_mm
    count = np.diff(np.append(lines.begins, len(run)))
    whole = np.add.reduceat(run, lines.begins)
    v = np.repeat(np.where(whole < SMALL_LOOP_MM, small_mm_s, speed_mm_s), count)
    out = np.minimum(v, jerk_mm_s / np.maximum(lines.turn, LEAST_TURN))
    before = np.arange(-1, len(run) - 1)
    before[lines.begins] = np.append(lines.begins[1:], len(run)) - 1
    into = out[before]
    peak = np.minimum(v, np.sqrt((into**2 + out**2) / 2.0 + a * run))
    peak = np.maximum(peak, np.maximum(into, out))
    even = np.maximum(run - (2.0 * peak**2 - into**2 - out**2) / (2.0 * a), 0.0)
    return float(((2.0 * peak - into - out) / a + even / peak).sum())


def fill_s(
    area_mm2: float, rim_mm: float, *, apart_mm: float, speed_mm_s: float, jerk_mm_s: float,
    acceleration_mm_s2: float,
) -> float:  # fmt: skip
    """Seconds for an area filled with parallel lines to and fro.

    There are rim / (pi apart) lines, of mean length pi area / rim (Cauchy and Crofton: the mean
    chord of a plane figure), each with a run of their distance to the next one.
    """
    if area_mm2 <= 0.0:
        return 0.0
    count = max(rim_mm / (math.pi * apart_mm), 1.0)
    mean_mm = area_mm2 / apart_mm / count
    runs_s = run_s((mean_mm, apart_mm), speed_mm_s, jerk_mm_s, acceleration_mm_s2)
    return count * float(runs_s.sum())
