"""Cells in groups of even capacity and like resistance. All cells are invented."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from layouts.sorting.all_ways import ways_to_group
from layouts.sorting.even_groups import EVEN_RATIO, even_groups
from layouts.sorting.spread import mean_of_random, spread_of
from tests.layouts.sorting.lots import every_grouping, invented, least_range_ah, scatter

NOISE_AH = 1e-9


def range_ah(groups: np.ndarray, ah: np.ndarray) -> float:
    """Largest less smallest group's capacity."""
    return float(np.ptp(ah[groups].sum(axis=1)))


def test_a_hundred_cells_are_even_within_a_thousandth() -> None:
    """100 seeded cells (3 % rms) in 10S10P: 0.1 %, five times better than random at the least,
    and resistances within groups half of random ones or less."""
    for seed in range(3):
        ah, mohm = invented(100, seed)
        groups = even_groups(ah, mohm, series=10, parallel=10)
        found = spread_of(groups, ah, mohm)
        by_chance = mean_of_random(np.arange(100), ah, mohm, series=10, parallel=10)
        assert found.capacity_ratio <= 0.001
        assert found.capacity_ratio <= by_chance.capacity_ratio / 5
        assert found.resistance_ratio <= by_chance.resistance_ratio / 2
        assert found.smallest_ah > by_chance.smallest_ah


@pytest.mark.parametrize(("series", "parallel"), [(2, 2), (3, 2), (5, 2), (3, 3), (2, 5), (3, 4)])
@pytest.mark.parametrize("seed", [1, 2])
def test_small_packs_are_solved_exactly(series: int, parallel: int, seed: int) -> None:
    """Against all groupings, counted another way: the least range, and among those even enough
    the least scatter of resistance."""
    ah, mohm = invented(series * parallel, seed)
    ways = np.array(list(every_grouping(tuple(range(series * parallel)), parallel)))
    assert len(ways) == ways_to_group(series, parallel)
    ranges = np.ptp(ah[ways].sum(axis=2), axis=1)
    limit = max(ranges.min(), EVEN_RATIO * parallel * ah.mean()) + NOISE_AH
    inside = mohm[ways]
    scatters = ((inside - inside.mean(axis=2, keepdims=True)) ** 2).sum(axis=(1, 2))
    groups = even_groups(ah, mohm, series=series, parallel=parallel)
    assert range_ah(groups, ah) <= limit
    assert scatter(groups, mohm) == pytest.approx(scatters[ranges <= limit].min(), rel=1e-9)


@pytest.mark.parametrize(
    ("series", "parallel", "seed"),
    [(3, 4, 3), (4, 3, 4), pytest.param(4, 4, 5, marks=pytest.mark.slow)],
)
def test_the_range_is_that_of_integer_programming(series: int, parallel: int, seed: int) -> None:
    """By a solver that knows nothing of swaps or of our search."""
    ah, mohm = invented(series * parallel, seed)
    found = range_ah(even_groups(ah, mohm, series=series, parallel=parallel), ah)
    least = least_range_ah(ah, series, parallel)
    assert found >= least - 1e-6
    assert found <= max(least, EVEN_RATIO * parallel * ah.mean()) + 1e-6


@pytest.mark.parametrize("seed", [0, pytest.param(5, marks=pytest.mark.slow)])
def test_pairs_of_larger_packs_reach_the_least_range(seed: int) -> None:
    """10S2P is too many ways to look at: swaps find the least range, as matching proves it."""
    ah, mohm = invented(20, seed)
    found = range_ah(even_groups(ah, mohm, series=10, parallel=2), ah)
    assert found == pytest.approx(least_range_of_pairs_ah(ah), abs=NOISE_AH)


def least_range_of_pairs_ah(ah: np.ndarray) -> float:
    """Least range of sums over all perfect pairings: for each smallest sum the least largest one
    with which all cells still find a partner (bottleneck matching)."""
    import networkx as nx

    count = len(ah)
    sums = sorted((float(ah[i] + ah[j]), i, j) for i in range(count) for j in range(i))

    def pairs_all(low: int, high: int) -> bool:
        graph = nx.Graph([(i, j) for _, i, j in sums[low : high + 1]])
        return 2 * len(nx.max_weight_matching(graph, maxcardinality=True)) == count

    best, high = np.inf, count // 2 - 1
    for low in range(len(sums) - count // 2 + 1):
        high = max(high, low + count // 2 - 1)
        while high < len(sums) and not pairs_all(low, high):
            high += 1
        if high == len(sums):
            break
        best = min(best, sums[high][0] - sums[low][0])
    return best


@settings(max_examples=25, deadline=None, derandomize=True)
@given(
    series=st.integers(1, 6),
    parallel=st.integers(1, 4),
    seed=st.integers(0, 10_000),
    step=st.sampled_from([0.0, 0.1]),
)
def test_every_cell_goes_into_one_group(series: int, parallel: int, seed: int, step: float) -> None:
    """Whatever the pack, also with many equal cells; the same cells give the same groups, and
    their order in the list does not make them less even than as listed."""
    ah, mohm = invented(series * parallel, seed)
    if step:
        ah, mohm = np.round(ah / step) * step, np.round(mohm)
    groups = even_groups(ah, mohm, series=series, parallel=parallel)
    assert groups.shape == (series, parallel)
    assert sorted(groups.ravel().tolist()) == list(range(series * parallel))
    assert (groups == even_groups(ah, mohm, series=series, parallel=parallel)).all()
    listed = np.arange(series * parallel).reshape(series, parallel)
    enough = EVEN_RATIO * parallel * ah.mean()
    assert range_ah(groups, ah) <= max(range_ah(listed, ah), enough) + NOISE_AH


def test_equal_cells_are_grouped_by_resistance() -> None:
    """With one capacity for all, like resistances come together entirely."""
    mohm = np.array([20.0, 30.0, 20.0, 30.0, 20.0, 30.0])
    groups = even_groups(np.full(6, 4.8), mohm, series=2, parallel=3)
    assert scatter(groups, mohm) == pytest.approx(0.0, abs=1e-12)


def test_a_wrong_number_of_cells_is_refused() -> None:
    """Spare cells are left out before."""
    ah, mohm = invented(7, 1)
    with pytest.raises(ValueError, match="7 cells for 3 groups of 2"):
        even_groups(ah, mohm, series=3, parallel=2)
