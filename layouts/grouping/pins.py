"""Pins that can be seen to contradict each other before any search."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping

import numpy as np
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import dijkstra

from layouts.errors import PlanError
from layouts.grouping.contacts import CellContacts

__all__ = ["check_pins"]

FIELD = "grouping.pins"


def check_pins(
    field: CellContacts, *, series: int, parallel: int, pinned: Mapping[int, int]
) -> None:
    """PlanError where a pin names no cell or no group, a group is too full, or two are too far.

    Groups k to l hold (l-k+1)*P cells in one piece, so cells pinned to k and l lie no more than
    that, less one, steps apart.
    """
    cells = sorted(pinned)
    for cell in cells:
        if not 0 <= cell < field.count:
            raise PlanError(
                field=FIELD,
                value=f"cell {cell}",
                why=f"there is no such cell among {field.count}",
                remedy=f"use 0 to {field.count - 1}",
            )
        if not 1 <= pinned[cell] <= series:
            raise PlanError(
                field=FIELD,
                value=f"group {pinned[cell]}",
                why=f"there is no such group among {series}",
                remedy=f"use 1 to {series}",
            )
    for group, count in sorted(Counter(pinned.values()).items()):
        if count > parallel:
            raise PlanError(
                field=FIELD,
                why=f"{count} cells are pinned to group {group}, which holds {parallel}",
                remedy=f"pin at most {parallel} to it",
            )
    if len(cells) < 2 or not len(field.pairs):
        return
    one, other = field.pairs.T
    graph = coo_matrix((np.ones(len(one)), (one, other)), shape=(field.count, field.count))
    steps = dijkstra(graph.tocsr(), directed=False, indices=cells, unweighted=True)[:, cells]
    groups = np.array([pinned[cell] for cell in cells])
    most = (np.abs(groups[:, None] - groups[None, :]) + 1) * parallel - 1
    far = np.argwhere(steps > most)
    if len(far):
        a, b = far[0].tolist()
        raise PlanError(
            field=FIELD,
            why=f"cell {cells[a]} in group {groups[a]} and cell {cells[b]} in group {groups[b]} "
            "lie too far apart for the groups between them to connect",
            remedy="pin one of them to another group",
        )
