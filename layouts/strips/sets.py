"""Sets of strips that a net may get, in the order in which they are tried.

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

from layouts.cells.arrangement import CellLayout
from layouts.pack import StripSpec
from layouts.strips.joints import Joints

STOCK_WIDTHS_MM = (12.0, 10.0, 8.0, 7.0, 6.0, 5.0)  # sold as coils; common practice, no source


class Role(IntEnum):
    """What a joint's strip is for."""

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


def link_sets(strip: StripSpec, axes: int) -> Iterator[StripSet]:
    """Sets for a net of two groups; ``axes`` of the lattice (2: one diagonal only)."""
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


def lead_sets(strip: StripSpec) -> Iterator[StripSet]:
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


def _through_axis(joints: Joints) -> NDArray[np.int64]:
    """(nets,) the diagonal whose runs across the junction touch most of each net's cells."""
    touched = np.zeros((joints.axes - 1, joints.nets), dtype=np.int64)
    for axis in range(1, joints.axes):
        through = joints.in_runs(joints.cross & (joints.axis == axis))
        cells = joints.at_cells(through)
        touched[axis - 1] = np.bincount(joints.net_of[cells], minlength=joints.nets)
    most: NDArray[np.int64] = np.argmax(touched, axis=0) + 1
    return most


def _in_one_piece(
    cell_layout: CellLayout, joints: Joints, taken: NDArray[np.bool_]
) -> NDArray[np.bool_]:
    """(m,) fewest joints to add so that each net hangs together; long straight runs first."""
    if not len(joints.tail):
        return np.zeros(0, dtype=np.bool_)
    long = np.bincount(joints.run)[joints.run]
    right = np.full(int(joints.run.max()) + 1, -np.inf)
    np.maximum.at(right, joints.run, cell_layout.xy_mm[joints.tail, 0])
    order = np.lexsort((joints.tail, joints.run, np.round(-right[joints.run], 6), -long))
    weight = np.empty(len(order))
    weight[order] = np.arange(len(order)) + 2.0
    weight[taken] = 1.0
    count = len(joints.net_of)
    graph = coo_array((weight, (joints.tail, joints.head)), shape=(count, count)).tocsr()
    tree = minimum_spanning_tree(graph).tocoo()
    in_tree = np.isin(
        joints.tail * count + joints.head, tree.row.astype(np.int64) * count + tree.col
    )
    added: NDArray[np.bool_] = in_tree & ~taken
    return added


def _from_shut_rows(joints: Joints, blocked: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """(m,) joints of one diagonal a net that bring rows which can't run out to those that do."""
    touching = (joints.axis > 0) & (blocked[joints.tail] | blocked[joints.head])
    counted = np.zeros((joints.nets, joints.axes), dtype=np.int64)
    np.add.at(counted, (joints.net[touching], joints.axis[touching]), 1)
    chosen: NDArray[np.bool_] = joints.axis == np.argmax(counted, axis=1)[joints.net]
    return touching & chosen


def joint_roles(
    cell_layout: CellLayout,
    joints: Joints,
    slants: Slants,
    lone: NDArray[np.bool_],
    blocked: NDArray[np.bool_],
) -> NDArray[np.int64]:
    """(m,) ``Role`` of every joint.

    ``lone`` (nets,): end groups, whose rows are leads; ``blocked`` (N,): their cells in rows
    that don't run out, so that their current must cross to a row that does.
    """
    roles = np.full(len(joints.tail), int(Role.NONE), dtype=np.int64)
    rows = joints.axis == 0
    roles[rows] = Role.ROW
    roles[rows & joints.in_runs(joints.cross & rows)] = Role.CROSSING
    roles[rows & lone[joints.net]] = Role.LEAD
    first = joints.axis == _through_axis(joints)[joints.net]
    slant_cross = joints.cross & ~rows
    through = joints.in_runs(slant_cross & first)
    taken = through.copy()
    second = slant_cross & ~first
    if slants in (Slants.TWO, Slants.LEAN):
        taken |= second
    if slants is Slants.TWO:
        missed = ~joints.at_cells(through)
        reaching = joints.in_runs(second)
        at_missed = reaching & (missed[joints.tail] | missed[joints.head])
        taken |= reaching & joints.in_runs(at_missed)
    if slants is Slants.FILLED:
        served = joints.at_cells(joints.cross & (taken | rows))
        taken |= second & ~(served[joints.tail] & served[joints.head])
    taken |= _from_shut_rows(joints, blocked)
    roles[taken] = Role.LINK
    added = _in_one_piece(cell_layout, joints, roles > 0)
    roles[added] = np.where(lone[joints.net[added]], Role.TIE, Role.LINK)
    return roles
