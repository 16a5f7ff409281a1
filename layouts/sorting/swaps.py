"""Swaps of two cells between two groups, compiled where numba is installed.

Capacities and resistances come in units of their own standard deviation, so that one temperature
serves both. A grouping is a table (S, P) of cells; what is changed is a copy.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from layouts.grouping.moves import MODULUS, next_random
from layouts.placing.compiled import compiled

__all__ = ["SwapCells", "annealed", "descended", "sums_of"]

_COOLING_STEPS = 512  # from one temperature to the next
_EPS = 1e-12  # less than this is float noise, and no gain


class SwapCells(NamedTuple):
    """Capacity and resistance of the cells (n,), and which capacities of a group are even enough:
    its sum from ``low`` to ``high``."""

    capacity: np.ndarray
    resistance: np.ndarray
    low: float
    high: float


@compiled
def sums_of(groups: np.ndarray, each: np.ndarray) -> np.ndarray:
    """(S,) sum of what is given for each cell, over the cells of every group."""
    series, parallel = groups.shape
    sums = np.zeros(series)
    for g in range(series):
        for k in range(parallel):
            sums[g] += each[groups[g, k]]
    return sums


@compiled
def _outside(total: float, low: float, high: float) -> float:
    """How far a group's capacity lies outside of what is even enough."""
    return max(low - total, total - high, 0.0)


@compiled
def _outside_change(one: float, other: float, more: float, batch: SwapCells) -> float:
    """How much farther two groups' capacities lie outside of the even band, ``more`` moved from
    the other to the one."""
    return (
        _outside(one + more, batch.low, batch.high)
        + _outside(other - more, batch.low, batch.high)
        - _outside(one, batch.low, batch.high)
        - _outside(other, batch.low, batch.high)
    )


@compiled
def _scatter_change(of_g: float, of_h: float, more: float, parallel: int) -> float:
    """Change of the resistances' squared deviations within two groups, where ``more`` goes from
    the sum of the second to that of the first."""
    return -2.0 * more * (of_g - of_h + more) / parallel


@compiled
def annealed(
    start: np.ndarray,
    batch: SwapCells,
    weight: float,
    warm: float,
    cold: float,
    steps: int,
    seed: int,
) -> np.ndarray:
    """Groups (S, P) after ``steps`` tried swaps, while the temperature falls from ``warm`` to
    ``cold``.

    The cost is the resistances' scatter within groups times ``weight``, and how far capacities
    lie outside of the even band, which weighs more the colder it is.
    """
    groups = start.copy()
    series, parallel = groups.shape
    capacity, resistance = sums_of(groups, batch.capacity), sums_of(groups, batch.resistance)
    state = seed % (MODULUS - 1) + 1
    fall = (cold / warm) ** (1.0 / max(1, steps // _COOLING_STEPS))
    heat = warm
    for step in range(steps):
        if step % _COOLING_STEPS == 0 and step:
            heat *= fall
        state = next_random(state)
        g = state % series
        state = next_random(state)
        # half of the swaps between groups that began with like resistances: most others cost much
        h = (g + 1) % series if state & 1 else (g + 1 + (state >> 1) % (series - 1)) % series
        state = next_random(state)
        i = state % parallel
        state = next_random(state)
        k = state % parallel
        one, other = groups[g, i], groups[h, k]
        more = batch.capacity[other] - batch.capacity[one]
        ohms = batch.resistance[other] - batch.resistance[one]
        outside = _outside_change(capacity[g], capacity[h], more, batch)
        scatter = _scatter_change(resistance[g], resistance[h], ohms, parallel)
        dearer = weight * scatter + outside / heat
        if dearer > 0.0:
            state = next_random(state)
            if math.exp(-dearer / heat) * MODULUS < state:
                continue
        groups[g, i], groups[h, k] = other, one
        capacity[g] += more
        capacity[h] -= more
        resistance[g] += ohms
        resistance[h] -= ohms
    return groups


@compiled
def descended(start: np.ndarray, batch: SwapCells, rounds: int) -> np.ndarray:
    """Groups (S, P) that no swap of two cells can better: first how far capacities lie outside of
    the even band, then, without loss of that, the resistances' scatter within groups.

    At most ``rounds``, each over all pairs of cells."""
    groups = start.copy()
    series, parallel = groups.shape
    capacity, resistance = sums_of(groups, batch.capacity), sums_of(groups, batch.resistance)
    for _ in range(rounds):
        changed = False
        for g in range(series - 1):
            for h in range(g + 1, series):
                for i in range(parallel):
                    for k in range(parallel):
                        one, other = groups[g, i], groups[h, k]
                        more = batch.capacity[other] - batch.capacity[one]
                        ohms = batch.resistance[other] - batch.resistance[one]
                        outside = _outside_change(capacity[g], capacity[h], more, batch)
                        if outside > 0.0:
                            continue
                        scatter = _scatter_change(resistance[g], resistance[h], ohms, parallel)
                        if outside >= -_EPS and scatter >= -_EPS:
                            continue
                        groups[g, i], groups[h, k] = other, one
                        capacity[g] += more
                        capacity[h] -= more
                        resistance[g] += ohms
                        resistance[h] -= ohms
                        changed = True
        if not changed:
            break
    return groups
