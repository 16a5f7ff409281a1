"""Places to step on, against every choice of places there is."""

from __future__ import annotations

import itertools
import math

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from layouts.holders.spans import WIDEN, stepping_stones

LIMIT_MM, APART_MM = 40.0, 8.0

places = st.lists(
    st.tuples(st.integers(1, 119), st.integers(-6, 6), st.sampled_from([0.0, 0.3, 1.0])),
    max_size=7,
)


def steps_mm(way: list[tuple[float, float]]) -> list[float]:
    """Lengths of all steps."""
    return [math.dist(a, b) for a, b in itertools.pairwise(way)]


@given(st.integers(20, 120), places)
def test_the_cheapest_way_is_found(length: int, drawn: list[tuple[int, int, float]]) -> None:
    """Fewest and evenest: each place costs 1 and its own, each step its squared share of the limit.

    The limit is widened only as far as some way needs."""
    on_way = sorted(place for place in drawn if place[0] < length)
    xy = [(float(x), float(y)) for x, y, _ in on_way]
    costs = [cost for *_, cost in on_way]
    start, end = (0.0, 0.0), (float(length), 0.0)

    def cost(chosen: tuple[int, ...]) -> float:
        steps = steps_mm([start, *(xy[k] for k in chosen), end])
        return sum(1.0 + costs[k] for k in chosen) + sum((s / LIMIT_MM) ** 2 for s in steps)

    ways = {
        chosen: steps_mm([start, *(xy[k] for k in chosen), end])
        for many in range(len(xy) + 1)
        for chosen in itertools.combinations(range(len(xy)), many)
    }
    ways = {way: steps for way, steps in ways.items() if min(steps) >= APART_MM}
    found = stepping_stones(
        np.array(start), np.array(end), np.array(xy).reshape(-1, 2), costs,
        limit_mm=LIMIT_MM, apart_mm=APART_MM,
    )  # fmt: skip
    limit = LIMIT_MM
    while not (allowed := [way for way, steps in ways.items() if max(steps) <= limit]):
        limit *= WIDEN
    assert found in allowed
    assert cost(found) <= min(map(cost, allowed)) + 1e-9
