"""How large the smallest boundary could be at most."""

from __future__ import annotations

import math

import numpy as np

from layouts.grouping.contacts import CellContacts

__all__ = ["contact_bound"]


def contact_bound(field: CellContacts, *, series: int, parallel: int) -> tuple[int, str]:
    """No grouping into S connected groups of P has a larger smallest boundary; and the reason.

    A connected group uses at least P-1 touching pairs within itself, so at most E - S(P-1) of the E
    pairs are left for the S-1 boundaries, and the smallest is no larger than their mean. Where
    sites stay empty, E is what is left at most: k empty sites take at least half the sum of the k
    fewest neighbours with them. (2P-1, what straight columns of a honeycomb reach, is no bound of
    its own: two groups may lie folded into each other.)"""
    if series == 1:
        return 0, "one group has no boundary"
    pairs = len(field.pairs)
    spare = field.count - series * parallel
    if spare:
        # taking away a set of sites loses at least half the sum of their degrees
        degree = np.sort((field.around >= 0).sum(axis=1))
        pairs -= math.ceil(int(degree[:spare].sum()) / 2)
    left = pairs - series * (parallel - 1)
    bound = max(0, left // (series - 1))
    return bound, (
        f"{pairs} touching pairs, of which {series} groups need {parallel - 1} each to be "
        f"connected: {left} are left for {series - 1} group boundaries"
    )
