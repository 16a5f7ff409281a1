"""How far cans of different potential must stand apart, and whether they do.

All limits: common practice, no source. No known spacing stops a cell's fire from spreading: it ran
along rows of 18650 cells 3 mm apart in air (Niu et al., Fire Technology 56, 2020, 2491, abstract).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from layouts.cells.arrangement import CellLayout
from layouts.checks import Check
from layouts.pack import Pack

SAME_GROUP_MM = 0.4
NEXT_GROUP_MM = 1.0
HIGH_VOLTS = 15.0  # above this a barrier stands between the cans
HIGH_VOLTS_MM = 2.0
FULL_PACK_MM = 3.0  # first group beside last group
BARRIER_WEB_MM = 2.3  # groove of 1.1 for the barrier and 0.6 of plastic on each side
ROUNDING_MM = 1e-6  # far below what a printer can do, far above float noise


def pair_volts(
    group_a: NDArray[np.int64], group_b: NDArray[np.int64], *, full_v: float
) -> NDArray[np.float64]:
    """Volts between cans of two groups, full cells: steps between the groups * full volts."""
    return np.asarray(np.abs(group_a - group_b) * full_v, dtype=np.float64)


def required_gaps_mm(
    group_a: NDArray[np.int64], group_b: NDArray[np.int64], *, series: int, full_v: float
) -> tuple[NDArray[np.float64], NDArray[np.bool_]]:
    """Smallest gap between two cans [mm] and whether a barrier must stand between, per pair."""
    step = np.abs(group_a - group_b)
    high = step * full_v > HIGH_VOLTS
    gap = np.where(step == 0, SAME_GROUP_MM, NEXT_GROUP_MM)
    gap = np.where(high, HIGH_VOLTS_MM, gap)
    gap = np.where(high & (step == series - 1), FULL_PACK_MM, gap)
    return gap, high


def close_pairs(xy_mm: NDArray[np.float64], *, reach_mm: float) -> NDArray[np.int64]:
    """All pairs of points at most ``reach_mm`` apart, (m, 2) with i < j, in order.

    Points are sorted into square bins of side ``reach_mm``; only bins that touch are
    compared, so time grows with the number of points.
    """
    bins = np.floor((xy_mm - xy_mm.min(axis=0)) / reach_mm).astype(np.int64) + 1
    width = int(bins[:, 0].max()) + 2
    key = bins[:, 1] * width + bins[:, 0]
    order = np.argsort(key, kind="stable")
    ranked = key[order]
    found = [np.empty((0, 2), dtype=np.int64)]
    for step in (0, 1, width - 1, width, width + 1):
        first = np.searchsorted(ranked, key + step, side="left")
        count = np.searchsorted(ranked, key + step, side="right") - first
        i = np.repeat(np.arange(len(key)), count)
        inside = np.arange(len(i)) - np.repeat(np.cumsum(count) - count, count)
        j = order[np.repeat(first, count) + inside]
        near = np.hypot(*(xy_mm[i] - xy_mm[j]).T) <= reach_mm
        if step == 0:
            near &= i < j
        found.append(np.column_stack([i[near], j[near]]))
    pairs = np.sort(np.concatenate(found), axis=1)
    return np.asarray(pairs[np.lexsort((pairs[:, 1], pairs[:, 0]))], dtype=np.int64)


def _barred(cell_layout: CellLayout, pairs: NDArray[np.int64]) -> NDArray[np.bool_]:
    """Which pairs (i < j) have a seam's barrier between them."""
    count = len(cell_layout.xy_mm)
    lines = [np.sort(seam.pairs, axis=1) for seam in cell_layout.seams if seam.barrier]
    keys = [line[:, 0] * count + line[:, 1] for line in lines if len(line)]
    if not keys:
        return np.zeros(len(pairs), dtype=np.bool_)
    return np.isin(pairs[:, 0] * count + pairs[:, 1], np.concatenate(keys))


def can_spacing(pack: Pack, cell_layout: CellLayout) -> Check:
    """Do all cans keep the gap that their volts need, at worst case?

    Worst case: both cans lie against the sides of their pockets that face each other, so gap =
    centre distance - diameter - clearance. Every pair of cans is looked at, whether their sites
    touch or not. The pair reported is the one with the smallest margin."""
    about = (
        "gap between cans, both shifted towards each other, required by the voltage between them"
    )
    source = "common practice, no source"
    if len(cell_layout.xy_mm) < 2:
        return Check(
            id="can_spacing",
            about=about,
            holds=True,
            value=None,
            limit=None,
            unit="mm",
            source=source,
            remedy="",
            where="a single cell has no neighbour",
        )
    reach_mm = max(pack.pocket_mm + FULL_PACK_MM, pack.pitch_mm) + ROUNDING_MM
    pairs = close_pairs(cell_layout.xy_mm, reach_mm=reach_mm)
    group = cell_layout.group
    a, b = group[pairs[:, 0]], group[pairs[:, 1]]
    need, barrier = required_gaps_mm(a, b, series=pack.series, full_v=pack.cell.full_v)
    volts = pair_volts(a, b, full_v=pack.cell.full_v)
    apart = np.hypot(*(cell_layout.xy_mm[pairs[:, 0]] - cell_layout.xy_mm[pairs[:, 1]]).T)
    gap = apart - pack.pocket_mm
    bare = barrier & ~_barred(cell_layout, pairs)
    spare = gap - need
    short = spare < -ROUNDING_MM
    holds = not bool(short.any() or bare.any())
    rank = np.lexsort((spare, ~bare, ~short))  # short ones first, then those without barrier
    at = int(rank[0])
    i, j = int(pairs[at, 0]), int(pairs[at, 1])
    if short[at]:
        remedy = (
            f"holder.web_mm: {pack.holder.web_mm + float(-spare[at]):.2f} or more, or fewer "
            "cells in a row so that the group path does not fold"
        )
    elif bare[at]:
        remedy = "fit an insulating barrier between these cans along the whole seam"
    else:
        remedy = ""
    return Check(
        id="can_spacing",
        about=about,
        holds=holds,
        value=float(gap[at]),
        limit=float(need[at]),
        unit="mm",
        source=source,
        remedy=remedy,
        where=f"cells {i + 1} and {j + 1}, groups {int(group[i])} and {int(group[j])}, "
        f"{float(volts[at]):.1f} V"
        + (", barrier missing" if bare[at] else ", barrier" if barrier[at] else ""),
    )
