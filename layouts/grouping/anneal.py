"""Improving a grouping cell by cell, compiled where numba is installed.

One move gives one cell to the group of one of its neighbours, and is only made where the group
it leaves stays in one piece, so groups hold together at every moment. Sizes may differ from P
by a little while the search is warm; an answer counts only while all are exact.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any, TypeVar

import numpy as np

try:
    from numba import njit
except ImportError:  # the same code runs uncompiled, with smaller budgets
    COMPILED = False
else:
    COMPILED = True

__all__ = ["COMPILED", "anneal", "corners"]

_Function = TypeVar("_Function", bound=Callable[..., Any])

# Lehmer's generator, modulus 2^31 - 1 and multiplier 48271 (from memory: Park and Miller's
# later choice): the same numbers compiled and uncompiled.
_MULTIPLIER = 48271
_MODULUS = 2147483647


def _compiled(function: _Function) -> _Function:
    if not COMPILED:
        return function
    made: _Function = njit(cache=True, fastmath=False)(function)
    return made


def corners(around: np.ndarray) -> np.ndarray:
    """For each cell and neighbour (n, d): what joins that neighbour to the next by angle.

    -2: the two touch; a cell: both touch it (the far corner of a square); -1: nothing.
    """
    count, most = around.shape
    joined = np.full((count, most), -1, dtype=np.int64)
    touching = [set(row[row >= 0].tolist()) for row in around]
    for cell in range(count):
        ring = [int(c) for c in around[cell] if c >= 0]
        for slot, one in enumerate(ring):
            other = ring[(slot + 1) % len(ring)]
            if other in touching[one]:
                joined[cell, slot] = -2
                continue
            shared = (touching[one] & touching[other]) - {cell}
            if shared and one != other:
                joined[cell, slot] = min(shared)
    return joined


@_compiled
def anneal(
    group: np.ndarray,
    around: np.ndarray,
    corner: np.ndarray,
    series: int,
    parallel: int,
    target: int,
    step_cost: np.ndarray,
    pin: np.ndarray,
    pin_cost: float,
    pull_first: np.ndarray,
    pull_last: np.ndarray,
    size_cost: float,
    warm: float,
    cold: float,
    steps: int,
    seed: int,
    enough: float,
) -> tuple[np.ndarray, float, int]:
    """Search from ``group`` (n,), changed in place; returns best (n,), its cost, steps made.

    Cost: sum over boundaries of (target - boundary)^2 where below, ``step_cost`` of each touching
    pair's difference in group, ``pin_cost`` times the difference of pinned cells, and the pulls
    (n,) of each cell of the first and the last group. ``size_cost`` times squared differences from
    P is added while searching. ``warm``, ``cold``: heat at begin and end. The search ends at a cost
    of ``enough``. The cost returned is infinite where sizes were never exact."""
    count, most = around.shape
    size = np.zeros(series + 1, dtype=np.int64)
    fewest_contacts = np.zeros(series + 1, dtype=np.int64)
    for a in range(count):
        size[group[a]] += 1
        for s in range(most):
            c = around[a, s]
            if c > a:
                k, j = group[a], group[c]
                if k > 0 and j > 0 and abs(k - j) == 1:
                    fewest_contacts[min(k, j)] += 1
    room = 2 * parallel + 8
    for k in range(series + 1):
        room = max(room, size[k] + 8)
    members = np.zeros((series + 1, room), dtype=np.int64)
    place = np.zeros(count, dtype=np.int64)
    fill = np.zeros(series + 1, dtype=np.int64)
    for a in range(count):
        k = group[a]
        members[k, fill[k]] = a
        place[a] = fill[k]
        fill[k] += 1
    # the empty sites count as a group too: else groups would swallow them
    wanted = np.full(series + 1, parallel, dtype=np.int64)
    wanted[0] = count - series * parallel
    wrong = 0
    for k in range(series + 1):
        if size[k] != wanted[k]:
            wrong += 1
    cost = 0.0
    for k in range(1, series):
        if fewest_contacts[k] < target:
            cost += (target - fewest_contacts[k]) ** 2
    for a in range(count):
        k = group[a]
        if pin[a] > 0:
            cost += pin_cost * abs(k - pin[a])
        if k == 1:
            cost += pull_first[a]
        if k == series:
            cost += pull_last[a]
        for s in range(most):
            c = around[a, s]
            if c > a and k > 0 and group[c] > 0:
                cost += step_cost[abs(k - group[c])]
    best = group.copy()
    best_cost = cost if wrong == 0 else np.inf
    state = seed % 2147483646 + 1
    delta = np.zeros(series + 1, dtype=np.int64)
    changed = np.zeros(16, dtype=np.int64)
    heat = warm
    fall = (cold / warm) ** (1.0 / max(1, steps // 256))
    for step in range(steps):
        if step % 256 == 0:
            heat *= fall
        # a cell: mostly of a group whose boundary lies below the target
        state = state * _MULTIPLIER % _MODULUS
        a = -1
        if state % 10 < 6 and series > 1:
            for _ in range(4):
                state = state * _MULTIPLIER % _MODULUS
                k = 1 + state % (series - 1)
                if fewest_contacts[k] < target:
                    state = state * _MULTIPLIER % _MODULUS
                    k += state & 1
                    state = state * _MULTIPLIER % _MODULUS
                    a = members[k, state % size[k]]
                    break
        if a < 0:
            state = state * _MULTIPLIER % _MODULUS
            a = state % count
        k = group[a]
        state = state * _MULTIPLIER % _MODULUS
        c = around[a, state // 64 % most]
        if c < 0:
            continue
        j = group[c]
        if wanted[0] > 0:
            # never fewer empty sites than required, and a new one may open anywhere
            if k == 0 and size[0] <= wanted[0]:
                continue
            if state % 64 == 0 and size[0] <= wanted[0]:
                j = 0
        if j == k or (k > 0 and size[k] == 1) or (j > 0 and size[j] >= room):
            continue
        if pin[a] > 0 and (pin[a] == k or j == 0):
            continue
        # what it leaves must stay in one piece, judged by the ring of its neighbours
        if k > 0:
            mine = 0
            links = 0
            ring = 0
            while ring < most and around[a, ring] >= 0:
                ring += 1
            for s in range(ring):
                if group[around[a, s]] == k:
                    mine += 1
                    n = around[a, s + 1] if s + 1 < ring else around[a, 0]
                    if ring > 1 and group[n] == k and n != around[a, s]:
                        w = corner[a, s]
                        if w == -2 or (w >= 0 and group[w] == k):
                            links += 1
            if mine - links > 1:
                continue
        gain = 0.0
        marks = 0
        for s in range(most):
            n = around[a, s]
            if n < 0:
                break
            m = group[n]
            if m == 0:
                continue
            if k > 0:
                d = abs(k - m)
                gain -= step_cost[d]
                if d == 1:
                    low = min(k, m)
                    delta[low] -= 1
                    changed[marks] = low
                    marks += 1
            if j > 0:
                d = abs(j - m)
                gain += step_cost[d]
                if d == 1:
                    low = min(j, m)
                    delta[low] += 1
                    changed[marks] = low
                    marks += 1
        for i in range(marks):
            low = changed[i]
            d = delta[low]
            if d != 0:
                was = target - fewest_contacts[low]
                now = was - d
                gain += (now * now if now > 0 else 0) - (was * was if was > 0 else 0)
                fewest_contacts[low] += d
                delta[low] = 0
                changed[i] = -low - 1 - (d + 16) * 1000000
        if pin[a] > 0:
            gain += pin_cost * (abs(j - pin[a]) - abs(k - pin[a]))
        if k == 1:
            gain -= pull_first[a]
        if k == series:
            gain -= pull_last[a]
        if j == 1:
            gain += pull_first[a]
        if j == series:
            gain += pull_last[a]
        uneven = 2.0 - 2.0 * (size[k] - wanted[k]) + 2.0 * (size[j] - wanted[j])
        whole = gain + size_cost * uneven
        take = whole <= 0.0
        if not take:
            state = state * _MULTIPLIER % _MODULUS
            take = math.exp(-whole / heat) * 2147483647.0 > state
        if not take:
            for i in range(marks):
                if changed[i] < 0:
                    packed = -changed[i] - 1
                    fewest_contacts[packed % 1000000] -= packed // 1000000 - 16
            continue
        cost += gain
        if size[k] == wanted[k]:
            wrong += 1
        elif size[k] == wanted[k] + 1:
            wrong -= 1
        if size[j] == wanted[j]:
            wrong += 1
        elif size[j] == wanted[j] - 1:
            wrong -= 1
        size[k] -= 1
        end = members[k, size[k]]
        members[k, place[a]] = end
        place[end] = place[a]
        if size[j] >= room:  # only the empty sites can outgrow their row
            grown = np.zeros((series + 1, 2 * room), dtype=np.int64)
            grown[:, :room] = members
            members = grown
            room *= 2
        members[j, size[j]] = a
        place[a] = size[j]
        size[j] += 1
        group[a] = j
        if wrong == 0 and cost < best_cost - 1e-9:
            best_cost = cost
            best[:] = group
            if cost <= enough:
                return best, best_cost, step + 1
    return best, best_cost, steps
