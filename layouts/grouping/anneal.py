"""Improving a grouping cell by cell, compiled where numba is installed.

One move gives one cell to the group of one of its neighbours, and is only made where the group
it leaves stays in one piece, so groups hold together at every moment. Sizes may differ from P
by a little while the search is warm; an answer counts only while all are exact.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from layouts.grouping.moves import (
    MODULUS,
    MOST_CHANGES,
    beside_low_front,
    book_over,
    front_gain,
    may_join,
    more_wrong,
    next_random,
    pin_gain,
    pull_gain,
    put_back,
    stays_whole,
    touching_gain,
    with_empty_sites,
    with_room,
)
from layouts.placing.compiled import COMPILED, compiled

__all__ = ["COMPILED", "anneal", "corners"]

_COOLING_STEPS = 256  # from one heat to the next


class _Field(NamedTuple):
    """Neighbours of each cell, and what joins each to the next: see ``corners``."""

    around: np.ndarray
    corner: np.ndarray


class _Costs(NamedTuple):
    """What a grouping costs: ``target`` of every boundary, and what ``anneal`` is given."""

    target: int
    step_cost: np.ndarray
    pin: np.ndarray
    pin_cost: float
    pull_first: np.ndarray
    pull_last: np.ndarray
    size_cost: float
    enough: float


class _Groups(NamedTuple):
    """A grouping that is being changed, and what is told of it to be at hand.

    ``size``, ``wanted``, ``front`` (S+1,); ``members`` (S+1, room): cells of every group, of
    which ``place`` (n,) is the column of each cell.
    """

    group: np.ndarray
    size: np.ndarray
    wanted: np.ndarray
    front: np.ndarray
    members: np.ndarray
    place: np.ndarray


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


@compiled
def _wanted_sizes(count: int, series: int, parallel: int) -> np.ndarray:
    """Sizes (S+1,): the empty sites count as a group too, else groups would swallow them."""
    wanted = np.full(series + 1, parallel, dtype=np.int64)
    wanted[0] = count - series * parallel
    return wanted


@compiled
def _sizes_and_fronts(
    group: np.ndarray, around: np.ndarray, series: int
) -> tuple[np.ndarray, np.ndarray]:
    """(S+1,) each: cells of every group, and the boundary between group k and k + 1."""
    count, most = around.shape
    size = np.zeros(series + 1, dtype=np.int64)
    front = np.zeros(series + 1, dtype=np.int64)
    for a in range(count):
        size[group[a]] += 1
        for s in range(most):
            c = around[a, s]
            if c > a:
                k, j = group[a], group[c]
                if k > 0 and j > 0 and abs(k - j) == 1:
                    front[min(k, j)] += 1
    return size, front


@compiled
def _member_rows(
    group: np.ndarray, size: np.ndarray, parallel: int
) -> tuple[np.ndarray, np.ndarray]:
    """Cells of every group (S+1, room), and the column (n,) where each cell stands there."""
    room = 2 * parallel + 8
    for k in range(len(size)):
        room = max(room, size[k] + 8)
    members = np.zeros((len(size), room), dtype=np.int64)
    place = np.zeros(len(group), dtype=np.int64)
    fill = np.zeros(len(size), dtype=np.int64)
    for a in range(len(group)):
        k = group[a]
        members[k, fill[k]] = a
        place[a] = fill[k]
        fill[k] += 1
    return members, place


@compiled
def _wrong_sizes(size: np.ndarray, wanted: np.ndarray) -> int:
    """How many groups don't have the size wanted."""
    wrong = 0
    for k in range(len(size)):
        if size[k] != wanted[k]:
            wrong += 1
    return wrong


@compiled
def _whole_cost(groups: _Groups, around: np.ndarray, costs: _Costs) -> float:
    """Cost of a grouping, sizes left out."""
    group, front = groups.group, groups.front
    target, step_cost, pin, pin_cost, pull_first, pull_last, _, _ = costs
    series = len(front) - 1
    cost = 0.0
    for k in range(1, series):
        if front[k] < target:
            cost += (target - front[k]) ** 2
    count, most = around.shape
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
    return cost


@compiled
def _walked(
    groups: _Groups, field: _Field, costs: _Costs, heat: float, fall: float, steps: int, seed: int
) -> tuple[np.ndarray, float, int]:
    """Moves of ``groups`` at a heat that falls by a factor; the answer of ``anneal``."""
    group, size, wanted, front, members, place = groups
    around, corner = field
    target, step_cost, pin, pin_cost, pull_first, pull_last, size_cost, enough = costs
    count, most = around.shape
    series = len(size) - 1
    wrong = _wrong_sizes(size, wanted)
    cost = _whole_cost(groups, around, costs)
    best, best_cost = group.copy(), cost if wrong == 0 else np.inf
    state = seed % (MODULUS - 1) + 1
    grown = np.zeros(series + 1, dtype=np.int64)
    at, by = np.zeros(MOST_CHANGES, dtype=np.int64), np.zeros(MOST_CHANGES, dtype=np.int64)
    for step in range(steps):
        if step % _COOLING_STEPS == 0:
            heat *= fall
        # a cell: mostly of a group whose boundary lies below the target
        state, k = next_random(state), 0
        if state % 10 < 6 and series > 1:
            k, state = beside_low_front(state, front, target)
        state = next_random(state)
        a = members[k, state % size[k]] if k > 0 else state % count
        state = next_random(state)
        c = around[a, state // 64 % most]
        if c < 0:
            continue
        k = group[a]
        j = with_empty_sites(k, group[c], state, size[0], wanted[0])
        if not may_join(k, j, size[k], size[j], members.shape[1], pin[a]):
            continue
        if k > 0 and not stays_whole(a, group, around, corner):
            continue
        gain, marks = touching_gain(a, j, group, around, step_cost, grown, at)
        gain = front_gain(gain, marks, front, target, grown, at, by)
        gain = pin_gain(gain, k, j, pin[a], pin_cost)
        gain = pull_gain(gain, k, j, series, pull_first[a], pull_last[a])
        uneven = 2.0 - 2.0 * (size[k] - wanted[k]) + 2.0 * (size[j] - wanted[j])
        whole = gain + size_cost * uneven
        if whole > 0.0:
            state = next_random(state)
            if math.exp(-whole / heat) * MODULUS <= state:
                put_back(front, at, by, marks)
                continue
        cost += gain
        wrong += more_wrong(size, wanted, k, j)
        if size[j] >= members.shape[1]:  # only the empty sites can outgrow their row
            members = with_room(members)
        book_over(a, j, group, size, members, place)
        if wrong == 0 and cost < best_cost - 1e-9:
            best_cost = cost
            best[:] = group
            if cost <= enough:
                return best, best_cost, step + 1
    return best, best_cost, steps


@compiled
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
    (n,) of each cell of the first and the last group. ``size_cost`` times squared differences
    from P is added while searching. ``warm``, ``cold``: heat at begin and end. The search ends
    at a cost of ``enough``. The cost returned is infinite where sizes were never exact.
    """
    size, front = _sizes_and_fronts(group, around, series)
    members, place = _member_rows(group, size, parallel)
    wanted = _wanted_sizes(len(group), series, parallel)
    groups = _Groups(group, size, wanted, front, members, place)
    costs = _Costs(target, step_cost, pin, pin_cost, pull_first, pull_last, size_cost, enough)
    fall = (cold / warm) ** (1.0 / max(1, steps // _COOLING_STEPS))
    return _walked(groups, _Field(around, corner), costs, warm, fall, steps, seed)
