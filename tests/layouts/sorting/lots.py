"""Invented cells for tests, seeded, and an exact solver of small cases."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import LinearConstraint, milp
from scipy.sparse import coo_array

from layouts.sorting.lot import MeasuredLot

Floats = NDArray[np.float64]


def invented(count: int, seed: int, *, spread: float = 0.03) -> tuple[Floats, Floats]:
    """(count,) capacities in Ah and resistances in mohm, normally distributed."""
    random = np.random.default_rng(seed)
    ah = 4.8 * (1 + spread * random.standard_normal(count))
    return ah, 20.0 * (1 + 0.05 * random.standard_normal(count))


def lot_of(count: int, seed: int, *, direct_current: bool = True) -> MeasuredLot:
    """A lot of such cells, rested alike."""
    ah, mohm = invented(count, seed)
    return MeasuredLot(
        labels=tuple(f"c{k}" for k in range(count)),
        capacity_ah=ah,
        resistance_mohm=mohm,
        rested_v=np.full(count, 3.6),
        direct_current=direct_current,
    )


def every_grouping(cells: tuple[int, ...], parallel: int) -> Iterator[tuple[tuple[int, ...], ...]]:
    """All ways to divide cells into groups of P, recursively: the first cell and all its mates."""
    if not cells:
        yield ()
        return
    first, rest = cells[0], cells[1:]
    for mates in combinations(rest, parallel - 1):
        left = tuple(cell for cell in rest if cell not in mates)
        for others in every_grouping(left, parallel):
            yield ((first, *mates), *others)


def scatter(groups: NDArray[np.int64], mohm: Floats) -> float:
    """Squared deviations of resistance within groups."""
    inside = mohm[groups]
    return float(((inside - inside.mean(axis=1, keepdims=True)) ** 2).sum())


def least_range_ah(ah: Floats, series: int, parallel: int) -> float:
    """Least difference of the largest and the smallest group, by integer programming (HiGHS).

    Variables: cell i in group g, then the smallest and the largest sum. Groups are ordered by
    their least cell's number only in that cell 0 is in the first: that halves the work."""
    count = series * parallel
    rows: list[tuple[int, int, float]] = []
    low, high = [], []
    for cell in range(count):
        rows += [(len(low), cell * series + g, 1.0) for g in range(series)]
        low.append(1.0)
        high.append(1.0)
    for g in range(series):
        rows += [(len(low), cell * series + g, 1.0) for cell in range(count)]
        low.append(float(parallel))
        high.append(float(parallel))
        for bound, sign in ((count * series, 1.0), (count * series + 1, -1.0)):
            rows += [(len(low), cell * series + g, sign * float(ah[cell])) for cell in range(count)]
            rows.append((len(low), bound, -sign))
            low.append(0.0)
            high.append(np.inf)
    at, column, value = zip(*rows, strict=True)
    table = coo_array((value, (at, column)), shape=(len(low), count * series + 2))
    cost = np.zeros(count * series + 2)
    cost[-2:] = -1.0, 1.0
    upper = np.ones(count * series + 2)
    upper[1:series] = 0.0  # cell 0 in the first group
    upper[-2:] = np.inf
    whole = np.ones(count * series + 2)
    whole[-2:] = 0
    found = milp(
        cost,
        constraints=LinearConstraint(table.tocsc(), low, high),
        integrality=whole,
        bounds=(np.zeros_like(upper), upper),
        options={"mip_rel_gap": 0.0},
    )
    assert found.success
    return float(found.fun)
