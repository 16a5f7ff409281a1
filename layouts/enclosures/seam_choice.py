"""The fewest cuts along one axis between which every piece fits, the most even of those."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

__all__ = ["fewest_cuts"]


def fewest_cuts(
    places: Sequence[float],
    low: float,
    high: float,
    fits: Callable[[float | None, float | None], bool],
) -> tuple[float, ...] | None:
    """Of rising ``places`` between ``low`` and ``high`` the fewest that part it into pieces that
    fit; among equal numbers those with the least sum of squared lengths. None where none do.

    ``fits``: whether the piece between two places does, None for an end that is not cut."""
    if fits(None, None):
        return ()
    best: list[tuple[int, float, int]] = []
    for k, at in enumerate(places):
        options = []
        if fits(None, at):
            options.append((1, (at - low) ** 2, -1))
        for j in range(k):
            count, cost, _ = best[j]
            if count and fits(places[j], at):
                options.append((count + 1, cost + (at - places[j]) ** 2, j))
        best.append(min(options, default=(0, math.inf, -1)))
    ends = [
        (count, cost + (high - places[k]) ** 2, k)
        for k, (count, cost, _) in enumerate(best)
        if count and fits(places[k], None)
    ]
    if not ends:
        return None
    found = []
    k = min(ends)[2]
    while k >= 0:
        found.append(places[k])
        k = best[k][2]
    return tuple(reversed(found))
