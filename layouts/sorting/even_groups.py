"""Cells divided into groups of even capacity, and of like resistance within each group.

Capacity comes first: the smallest group ends the discharge of all. Where groups are even enough,
cells of like resistance go together, since they share their group's current by it. Small packs
are solved exactly (``all_ways``), others by swaps from several seeded starts (``swaps``).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from layouts.sorting.all_ways import best_of_all_ways, ways_to_group
from layouts.sorting.swaps import SwapCells, annealed, descended

__all__ = ["EVEN_RATIO", "even_groups"]

# Largest less smallest group's capacity over their mean. Testers repeat a capacity to some 0.3 %
# (judgement, no source): below this, evenness is not real, and resistance decides.
EVEN_RATIO = 0.0005
SMALL_CELLS = 20  # above, no pack but one with S or P of 1 has so few ways; saves their number
MOST_WAYS = 3_000_000  # looked at one by one: below a second
STARTS = 24
FEWER_CELLS = 1_000  # from here on one start: it takes its time, and many cells leave more ways
ROUNDS, FEW_ROUNDS = 15, 4  # of swaps that only better, over all pairs of cells
STEPS, STEPS_A_CELL = 100_000, 250
WARM, COLD = 0.3, 0.01  # temperatures in standard deviations, found by trial
COLDEST = 0.003  # for capacities alone
TIGHTER = 0.97  # the band that is tried next, where no grouping is even enough
TRIES = 24  # at it
NOISE = 1e-9  # relative: sums of the same capacities in another order


def even_groups(
    capacity_ah: NDArray[np.float64],
    resistance_mohm: NDArray[np.float64],
    *,
    series: int,
    parallel: int,
) -> NDArray[np.int64]:
    """(S, P) cells of every group, by their place in ``capacity_ah`` (S x P,).

    The same cells give the same groups. Even enough: the groups' capacities are within
    ``EVEN_RATIO``, or, where no grouping found is, as close as any found. Raises ValueError where
    the cells are not S x P.
    """
    count = series * parallel
    if not len(capacity_ah) == len(resistance_mohm) == count:
        raise ValueError(f"{len(capacity_ah)} cells for {series} groups of {parallel}")
    by_resistance = np.argsort(resistance_mohm, kind="stable").reshape(series, parallel)
    if series == 1 or parallel == 1:
        return by_resistance
    capacity, resistance = _scaled(capacity_ah), _scaled(resistance_mohm)
    spread = float(capacity_ah.std()) or 1.0
    enough = EVEN_RATIO * parallel * float(capacity_ah.mean()) / spread
    if count <= SMALL_CELLS and ways_to_group(series, parallel) <= MOST_WAYS:
        return best_of_all_ways(capacity, resistance, series, parallel, enough)
    batch = SwapCells(capacity, resistance, -enough / 2, enough / 2)
    found = _started(by_resistance, batch, weight=1.0, cold=COLD)
    if _range(found, capacity) <= enough * (1 + NOISE):
        return found
    alone = batch._replace(low=0.0, high=0.0)
    close = _started(by_resistance, alone, weight=0.0, cold=COLDEST)
    if count < FEWER_CELLS:
        close = _closer(close, alone)
    found = min(found, close, key=lambda groups: _range(groups, capacity))
    totals = capacity[found].sum(axis=1)
    band = batch._replace(low=float(totals.min()), high=float(totals.max()))
    return descended(found, band, _rounds(count))


def _scaled(values: NDArray[np.float64]) -> NDArray[np.float64]:
    """The same in standard deviations from the mean; zeros where all are alike."""
    return np.asarray((values - values.mean()) / (values.std() or 1.0))


def _range(groups: NDArray[np.int64], capacity: NDArray[np.float64]) -> float:
    return float(np.ptp(capacity[groups].sum(axis=1)))


def _scatter(groups: NDArray[np.int64], resistance: NDArray[np.float64]) -> float:
    inside = resistance[groups]
    return float(((inside - inside.mean(axis=1, keepdims=True)) ** 2).sum())


def _rounds(count: int) -> int:
    return ROUNDS if count < FEWER_CELLS else FEW_ROUNDS


def _started(
    start: NDArray[np.int64], batch: SwapCells, *, weight: float, cold: float
) -> NDArray[np.int64]:
    """The best of some seeded starts: the closest capacities as far as they are not even enough,
    then the least scatter of resistance."""
    count = start.size
    starts = STARTS if count < FEWER_CELLS else 1
    steps = max(STEPS, STEPS_A_CELL * count)
    enough = batch.high - batch.low
    found = []
    for seed in range(1, starts + 1):
        groups = annealed(start, batch, weight, WARM, cold, steps, seed)
        groups = descended(groups, batch, _rounds(count))
        over = max(_range(groups, batch.capacity) - enough, 0.0)
        found.append((round(over, 9), _scatter(groups, batch.resistance), seed, groups))
    return min(found, key=lambda one: one[:3])[3]


def _closer(groups: NDArray[np.int64], batch: SwapCells) -> NDArray[np.int64]:
    """The same or groups of closer capacities: the band is tightened round the middle between the
    smallest and the largest as long as swaps get all groups into it."""
    for seed in range(1, TRIES + 1):
        totals = batch.capacity[groups].sum(axis=1)
        low, high = float(totals.min()), float(totals.max())
        middle, half = (low + high) / 2, (high - low) / 2 * TIGHTER
        tight = batch._replace(low=middle - half, high=middle + half)
        tried = annealed(groups, tight, 0.0, WARM, COLDEST, STEPS, seed)
        tried = descended(tried, tight, ROUNDS)
        if _range(tried, batch.capacity) < high - low:
            groups = tried
    return groups
