"""Sets of strips that a node may get, in the order in which they are tried.

The first set is as required, with links in both diagonals. Where the lip or the strip stack does
not allow it: narrower rows, narrower links, links in one diagonal instead of two (rows and links as
required again), in the usual order; through-going diagonals lie on opposite sides of a cell anyway.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from enum import Enum, IntEnum

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_array
from scipy.sparse.csgraph import minimum_spanning_tree

from layouts.cells.arrangement import Arrangement
from layouts.pack import Strip
from layouts.strips.joints import Bonds

STOCK_WIDTHS_MM = (12.0, 10.0, 8.0, 7.0, 6.0, 5.0)  # sold as coils; common practice, no source


class Role(IntEnum):
    """What a bond's strip is for."""

    NONE = 0
    ROW = 1  # along one group's row
    LINK = 2  # diagonal: crosses to the next group, or brings inner rows to the front
    CROSSING = 3  # along a row line on which both groups lie
    LEAD = 4  # row of an end group
    TIE = 5  # joins rows of an end group that all run out: balance current only


class Slants(Enum):
    """How many diagonals, in words for the notes."""

    TWO = "links in both diagonals, the second one through to inner rows that the first misses"
    LEAN = "the second diagonal at the group boundary only"
    FILLED = "links in one diagonal, the second only at boundary cells that the first misses"
    ONE = "links in one diagonal instead of two"


@dataclass(frozen=True, kw_only=True, slots=True)
class StripSet:
    """Widths and diagonals of one try."""

    slants: Slants
    row_mm: float
    link_mm: float
    crossing_mm: float
    lead_mm: float

    def width_mm(self) -> NDArray[np.float64]:
        """(6,) width for each ``Role``."""
        return np.array(
            [0.0, self.row_mm, self.link_mm, self.crossing_mm, self.lead_mm, self.row_mm]
        )


def _narrower(width_mm: float) -> list[float]:
    """A width and every stock width below it, falling."""
    return [width_mm, *(w for w in STOCK_WIDTHS_MM if w < width_mm)]


def link_sets(strip: Strip, axes: int) -> Iterator[StripSet]:
    """Sets for a node of two groups; ``axes`` of the lattice (2: one diagonal only)."""
    rows, links = _narrower(strip.row_width_mm), _narrower(strip.link_width_mm)
    widths = [(rows[0], links[0], links[0])]
    if rows[0] < links[0]:
        widths.append((rows[0], links[0], rows[0]))
    widths += [(row, links[0], min(row, links[0])) for row in rows[1:]]
    widths += [(rows[-1], link, min(rows[-1], link)) for link in links[1:]]
    for slants in tuple(Slants) if axes > 2 else (Slants.TWO,):
        for row, link, crossing in widths:
            yield StripSet(
                slants=slants,
                row_mm=row,
                link_mm=link,
                crossing_mm=crossing,
                lead_mm=strip.lead_width_mm,
            )


def lead_sets(strip: Strip) -> Iterator[StripSet]:
    """Sets for a lone end group: its rows carry summed current, so they narrow last."""
    leads, links = _narrower(strip.lead_width_mm), _narrower(strip.link_width_mm)
    pairs = [(leads[0], link) for link in links]
    pairs += [(lead, links[-1]) for lead in leads[1:]]
    for lead, link in pairs:
        yield StripSet(
            slants=Slants.ONE,
            row_mm=min(strip.row_width_mm, link),
            link_mm=link,
            crossing_mm=link,
            lead_mm=lead,
        )


def _through_axis(bonds: Bonds) -> NDArray[np.int64]:
    """(nodes,) the diagonal whose runs across the junction touch most of each node's cells."""
    touched = np.zeros((bonds.axes - 1, bonds.nodes), dtype=np.int64)
    for axis in range(1, bonds.axes):
        through = bonds.in_runs(bonds.cross & (bonds.axis == axis))
        cells = bonds.at_cells(through)
        touched[axis - 1] = np.bincount(bonds.node_of[cells], minlength=bonds.nodes)
    most: NDArray[np.int64] = np.argmax(touched, axis=0) + 1
    return most


def _in_one_piece(
    arrangement: Arrangement, bonds: Bonds, taken: NDArray[np.bool_]
) -> NDArray[np.bool_]:
    """(m,) fewest bonds to add so that each node hangs together; long straight runs first."""
    if not len(bonds.tail):
        return np.zeros(0, dtype=np.bool_)
    long = np.bincount(bonds.run)[bonds.run]
    right = np.full(int(bonds.run.max()) + 1, -np.inf)
    np.maximum.at(right, bonds.run, arrangement.xy_mm[bonds.tail, 0])
    order = np.lexsort((bonds.tail, bonds.run, np.round(-right[bonds.run], 6), -long))
    weight = np.empty(len(order))
    weight[order] = np.arange(len(order)) + 2.0
    weight[taken] = 1.0
    count = len(bonds.node_of)
    graph = coo_array((weight, (bonds.tail, bonds.head)), shape=(count, count)).tocsr()
    tree = minimum_spanning_tree(graph).tocoo()
    in_tree = np.isin(bonds.tail * count + bonds.head, tree.row.astype(np.int64) * count + tree.col)
    added: NDArray[np.bool_] = in_tree & ~taken
    return added


def _from_shut_rows(bonds: Bonds, shut: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """(m,) bonds of one diagonal a node that bring rows which can't run out to those that do."""
    touching = (bonds.axis > 0) & (shut[bonds.tail] | shut[bonds.head])
    counted = np.zeros((bonds.nodes, bonds.axes), dtype=np.int64)
    np.add.at(counted, (bonds.node[touching], bonds.axis[touching]), 1)
    chosen: NDArray[np.bool_] = bonds.axis == np.argmax(counted, axis=1)[bonds.node]
    return touching & chosen


def bond_roles(
    arrangement: Arrangement,
    bonds: Bonds,
    slants: Slants,
    lone: NDArray[np.bool_],
    shut: NDArray[np.bool_],
) -> NDArray[np.int64]:
    """(m,) ``Role`` of every bond.

    ``lone`` (nodes,): end groups, whose rows are leads; ``shut`` (N,): their cells in rows
    that don't run out, so that their current must cross to a row that does.
    """
    roles = np.full(len(bonds.tail), int(Role.NONE), dtype=np.int64)
    rows = bonds.axis == 0
    roles[rows] = Role.ROW
    roles[rows & bonds.in_runs(bonds.cross & rows)] = Role.CROSSING
    roles[rows & lone[bonds.node]] = Role.LEAD
    first = bonds.axis == _through_axis(bonds)[bonds.node]
    slant_cross = bonds.cross & ~rows
    through = bonds.in_runs(slant_cross & first)
    taken = through.copy()
    second = slant_cross & ~first
    if slants in (Slants.TWO, Slants.LEAN):
        taken |= second
    if slants is Slants.TWO:
        missed = ~bonds.at_cells(through)
        reaching = bonds.in_runs(second)
        at_missed = reaching & (missed[bonds.tail] | missed[bonds.head])
        taken |= reaching & bonds.in_runs(at_missed)
    if slants is Slants.FILLED:
        served = bonds.at_cells(bonds.cross & (taken | rows))
        taken |= second & ~(served[bonds.tail] & served[bonds.head])
    taken |= _from_shut_rows(bonds, shut)
    roles[taken] = Role.LINK
    added = _in_one_piece(arrangement, bonds, roles > 0)
    roles[added] = np.where(lone[bonds.node[added]], Role.TIE, Role.LINK)
    return roles
