"""How far groups differ in capacity, and cells within a group in resistance."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["GroupSpread", "mean_of_random", "spread_of"]

ORDERS = 200  # random ones whose mean is told
SEED = 1


@dataclass(frozen=True, kw_only=True, slots=True)
class GroupSpread:
    """One way to group cells, or the mean of several.

    ``smallest_ah``, ``largest_ah``: the groups' capacities; the smallest is the pack's.
    ``capacity_ratio``: (largest - smallest) / mean. ``resistance_ratio``: (largest - smallest) /
    mean within a group, mean of all groups; ``worst_resistance_ratio`` of the worst."""

    smallest_ah: float
    largest_ah: float
    capacity_ratio: float
    resistance_ratio: float
    worst_resistance_ratio: float


def spread_of(
    groups: NDArray[np.int64],
    capacity_ah: NDArray[np.float64],
    resistance_mohm: NDArray[np.float64],
) -> GroupSpread:
    """Of groups (S, P) of cells, by their places in the other two (n,)."""
    return GroupSpread(**_figures(groups, capacity_ah, resistance_mohm))


def mean_of_random(
    cells: NDArray[np.int64],
    capacity_ah: NDArray[np.float64],
    resistance_mohm: NDArray[np.float64],
    *,
    series: int,
    parallel: int,
) -> GroupSpread:
    """Each figure's mean over ``ORDERS`` seeded random orders of the same ``cells`` (S x P,)."""
    random = np.random.default_rng(SEED)
    found = [
        _figures(random.permutation(cells).reshape(series, parallel), capacity_ah, resistance_mohm)
        for _ in range(ORDERS)
    ]
    return GroupSpread(**{name: float(np.mean([one[name] for one in found])) for name in found[0]})


def _figures(
    groups: NDArray[np.int64],
    capacity_ah: NDArray[np.float64],
    resistance_mohm: NDArray[np.float64],
) -> dict[str, float]:
    totals = capacity_ah[groups].sum(axis=1)
    inside = resistance_mohm[groups]
    ratios = np.ptp(inside, axis=1) / inside.mean(axis=1)
    return {
        "smallest_ah": float(totals.min()),
        "largest_ah": float(totals.max()),
        "capacity_ratio": float(np.ptp(totals) / totals.mean()),
        "resistance_ratio": float(ratios.mean()),
        "worst_resistance_ratio": float(ratios.max()),
    }
