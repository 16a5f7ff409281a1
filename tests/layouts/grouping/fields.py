"""Fields of cells for grouping, invented here, and an independent judge of a grouping."""

from __future__ import annotations

from itertools import pairwise

import networkx as nx
import numpy as np
from numpy.typing import NDArray

from layouts.grouping.values import Grouping
from layouts.placing.values import touching_pairs

PITCH_MM = 20.0
ROW = np.sqrt(3) / 2

Points = NDArray[np.float64]
Pairs = NDArray[np.int64]


def honeycomb(columns: int, rows: int) -> Points:
    """Rows of ``columns`` sites, odd rows shifted half a pitch; (n, 2) [mm]."""
    return _mm([(c + 0.5 * (r % 2), r * ROW) for r in range(rows) for c in range(columns)])


def grid(columns: int, rows: int) -> Points:
    """Square rows; (n, 2) [mm]."""
    return _mm([(c, r) for r in range(rows) for c in range(columns)])


def hexagon(side: int) -> Points:
    """Regular hexagon of ``side`` sites an edge: 91 for 6."""
    steps = range(1 - side, side)
    return _mm([(q + r / 2, r * ROW) for r in steps for q in steps if abs(q + r) < side])


def triangle(side: int) -> Points:
    """Triangle of ``side`` sites an edge: 91 for 13."""
    return _mm([(c + r / 2, r * ROW) for r in range(side) for c in range(side - r)])


def ell() -> Points:
    """7 rows of 20, then 6 rows of 11, left-aligned, odd rows shifted: 206 sites."""
    rows = [20] * 7 + [11] * 6
    return _mm([(c + 0.5 * (r % 2), r * ROW) for r, long in enumerate(rows) for c in range(long)])


def touching(xy_mm: Points) -> Pairs:
    """Touching pairs of a field of this module."""
    return touching_pairs(xy_mm, pitch_mm=PITCH_MM)


def judged(xy_mm: Points, grouping: Grouping, *, series: int, parallel: int) -> tuple[int, int]:
    """Assert that groups are of P, connected and a path; (smallest boundary, largest step).

    Counted edge by edge in a graph of its own, not by the code under test.
    """
    group = grouping.group.tolist()
    assert sorted(set(group) - {0}) == list(range(1, series + 1))
    graph = nx.Graph(touching(xy_mm).tolist())
    graph.add_nodes_from(range(len(xy_mm)))
    cells = {k: [i for i, g in enumerate(group) if g == k] for k in range(1, series + 1)}
    for members in cells.values():
        assert len(members) == parallel
        assert nx.is_connected(graph.subgraph(members))
    group_contacts = [
        sum(1 for i in cells[k] for j in graph[i] if group[j] == after)
        for k, after in pairwise(range(1, series + 1))
    ]
    assert all(fewest_contacts >= 1 for fewest_contacts in group_contacts)
    assert group_contacts == grouping.group_contacts.tolist()
    steps = [abs(group[i] - group[j]) for i, j in graph.edges if group[i] and group[j]]
    return min(group_contacts, default=0), max(steps, default=0)


def _mm(sites: list[tuple[float, float]]) -> Points:
    return np.array(sites, dtype=np.float64) * PITCH_MM
