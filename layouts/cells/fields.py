"""Fields of cells: groups stacked along y in one lane, or in several lanes side by side.

A field is a few whole numbers; its sites follow. Rows run along x. Every group takes
``rows`` whole rows of its lane, with lengths that differ by one at most. On a honeycomb long
and short rows may alternate, so that they nest (7 cells as 4 + 3). Lanes are walked up and
down in turn, so consecutive groups always touch.

Main leads leave towards +x alone. The last lane has nothing to its right; the first lane
reaches one group below all others (its foot), so that the rows of group 1 run out beneath them.

Where lanes of single rows turn on a honeycomb, two whole rows would meet at one pair of cells.
There two groups of one lane share their two rows the other way, left and right part
(an elbow): the fold is then crossed on two pairs.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from layouts.pack import Lattice


@dataclass(frozen=True, kw_only=True, slots=True)
class BlockShape:
    """One way of laying S groups of P cells.

    ``rows``: rows of a group. ``even``, ``odd``: sites of the even and the odd rows of the
    first lane (in a lane with an odd number they change places, so that lanes nest).
    ``lanes``; ``slots``: groups in the first lane; a full further lane holds one less, from the
    second slot up. The last lane may be shorter, at the end of the path.
    """

    lattice: Lattice
    series: int
    parallel: int
    rows: int
    even: int
    odd: int
    lanes: int
    slots: int

    @property
    def field_rows(self) -> int:
        """Rows of the whole field."""
        return self.rows * self.slots

    @property
    def lane_columns(self) -> int:
        """Columns from a lane to the next."""
        return self.even + self.odd if self.lattice is Lattice.HONEYCOMB else self.even

    @property
    def span_columns(self) -> int:
        """Columns from the first to the last site of the field, empty sites counted."""
        if self.lattice is Lattice.GRID:
            return self.lanes * self.even - 1
        half = 1 if self.even == self.odd and self.field_rows > 1 else 0
        return (self.lanes - 1) * self.lane_columns + 2 * max(self.even, self.odd) - 2 + half

    @property
    def empty_sites(self) -> int:
        """Sites of the field's rows that no cell takes."""
        evens = (self.field_rows + 1) // 2
        pair = self.even + self.odd
        total = (self.lanes // 2) * pair * self.field_rows
        if self.lanes % 2:
            total += evens * self.even + (self.field_rows - evens) * self.odd
        return total - self.series * self.parallel

    def row_sites(self, row: int, lane: int) -> int:
        """Sites of one row of one lane."""
        return self.even if (row + lane) % 2 == 0 else self.odd

    def place(self, group: int) -> tuple[int, int, int]:
        """Lane, slot from below and direction (+1 up, -1 down) of a group (1 to S)."""
        index = group - 1
        if index < self.slots:
            return 0, index, 1
        lane, along = divmod(index - self.slots, self.slots - 1)
        up = lane % 2 == 1  # lane + 1 is the lane
        return lane + 1, 1 + along if up else self.slots - 1 - along, 1 if up else -1

    def turns(self) -> tuple[int, ...]:
        """Groups after which the path goes on in the next lane."""
        ends = (self.slots + lane * (self.slots - 1) for lane in range(self.lanes - 1))
        return tuple(ends)


@dataclass(frozen=True, kw_only=True, slots=True)
class ZigzagShape(BlockShape):
    """Groups side by side along x: each a column of blocks across all rows, which are straight.

    ``rows``: rows of the field, ``even`` = ``odd`` sites in each, P / ``rows`` of them for each
    group. On a honeycomb columns of single cells zigzag: two consecutive groups touch on 2 P - 1
    pairs, and their links lie straight along x. Group 1 ends at -x, group S at +x.
    """


def row_templates(parallel: int, rows: int, lattice: Lattice) -> list[tuple[int, int]]:
    """Sites of even and odd rows that can take balanced rows of P cells in ``rows`` rows."""
    short, rest = divmod(parallel, rows)
    if rest == 0:
        return [(short, short)]
    full = [(short + 1, short + 1)]
    if lattice is Lattice.GRID:
        return full
    return [(short + 1, short), (short, short + 1), *full]


def block_shapes(series: int, parallel: int, lattice: Lattice) -> Iterator[BlockShape]:
    """Every field of this family that holds S groups of P cells.

    At most about 1.5 S P of them, in a fixed order.
    """
    for rows in range(1, parallel + 1):
        for even, odd in row_templates(parallel, rows, lattice):
            per_pair = (even + odd) * rows
            low = (
                per_pair // 2
                if rows % 2 == 0
                else ((rows + 1) // 2 * min(even, odd) + rows // 2 * max(even, odd))
            )
            tight = low < parallel
            for lanes in range(1, max(1, series // 2) + 1):
                slots = -(-(series + lanes - 1) // lanes)
                if lanes > 1 and slots + (lanes - 2) * (slots - 1) >= series:
                    continue  # nothing left for the last lane
                # with an odd number of rows in turn, group 1 alone may take the start with space to
                # spare
                if tight and not (lanes * slots == 1 and _room(rows, even, odd) >= parallel):
                    continue
                yield BlockShape(
                    lattice=lattice,
                    series=series,
                    parallel=parallel,
                    rows=rows,
                    even=even,
                    odd=odd,
                    lanes=lanes,
                    slots=slots,
                )


def zigzag_shapes(series: int, parallel: int, lattice: Lattice) -> Iterator[ZigzagShape]:
    """Every field of columns that holds S groups of P cells, the widest fronts first.

    At least two rows, so that a group is no single row; groups whose columns' front is less than
    half as wide as they have cells are left out."""
    for rows in range(parallel, 1, -1):
        if parallel % rows:
            continue
        front = 2 * rows - 1 if lattice is Lattice.HONEYCOMB else rows
        if 2 * front < parallel:
            continue
        sites = series * parallel // rows
        yield ZigzagShape(
            lattice=lattice, series=series, parallel=parallel, rows=rows, even=sites, odd=sites,
            lanes=1, slots=1,
        )  # fmt: skip


def _room(rows: int, even: int, odd: int) -> int:
    """Sites of the first ``rows`` rows."""
    return (rows + 1) // 2 * even + rows // 2 * odd


def _lengths(shape: BlockShape, group: int) -> tuple[list[int], int]:
    """Cells in each row of a group from below, and its first row.

    Sites too many are left empty in long rows, one a row, where they cost least: at the
    field's own edge first, then in inner rows, last in rows that face another group.
    """
    lane, slot, up = shape.place(group)
    first = slot * shape.rows
    lengths = [shape.row_sites(first + i, lane) for i in range(shape.rows)]
    spare = sum(lengths) - shape.parallel
    neighbour_rows = set()
    for other, row in ((group - 1, 0 if up > 0 else -1), (group + 1, -1 if up > 0 else 0)):
        if 1 <= other <= shape.series and shape.place(other)[0] == lane:
            neighbour_rows.add(row % shape.rows)
    long = max(lengths)
    ranked = sorted(
        (i for i in range(shape.rows) if lengths[i] == long),
        key=lambda i: (i in neighbour_rows, 0 < i < shape.rows - 1, i),
    )
    for i in ranked[:spare]:
        lengths[i] -= 1
    return lengths, first


def _loses_left(shape: BlockShape, group: int) -> bool:
    """Whether a group's short rows end early on the -x side: never the side of its turn."""
    lane = shape.place(group)[0]
    if shape.lanes == 1:
        return False
    turns_right = group < shape.series and shape.place(group + 1)[0] == lane + 1
    turns_left = group > 1 and shape.place(group - 1)[0] == lane - 1
    return turns_right or (lane == 0 and not turns_left)


def elbows(shape: BlockShape) -> tuple[int, ...]:
    """Groups k that share their two rows with k + 1: k takes the left part, k + 1 the right.

    At a fold the row beside the outer one leans towards the other lane in one of the two lanes;
    there the shared rows touch the other lane on two pairs. Left out where that lane holds too
    few groups: group 1 keeps its row, and a whole row lies between two elbows.
    """
    if shape.lattice is Lattice.GRID or shape.rows > 1 or shape.parallel < 2:
        return ()
    found: list[int] = []
    used = 0
    for end in shape.turns():
        leans_right = shape.place(end)[1] % 2 == 0  # odd rows lean right
        first = end - 1 if leans_right else end + 1
        lane = shape.place(first)[0]
        if first > used + 1 and first < shape.series and shape.place(first + 1)[0] == lane:
            found.append(first)
            used = first + 1
    return tuple(found)


def _row_start(shape: BlockShape, row: int, lane: int) -> int:
    """Column of a row's first site."""
    start = lane * shape.lane_columns
    if shape.lattice is Lattice.GRID:
        return start
    odd_place = (row + start) % 2  # row + column is even on every lattice site
    return start + (odd_place if shape.even >= shape.odd else -odd_place)


def _elbow_rows(shape: BlockShape, group: int, partner: int) -> list[tuple[int, int, int]]:
    """A group's part of the two rows that it shares: (row, first site in it, sites)."""
    _, slot, _ = shape.place(group)
    other = shape.place(partner)[1]
    own = (shape.parallel + 1) // 2
    parts = []
    for row, length in ((slot, own), (other, shape.parallel - own)):
        parts.append((row, 0 if group < partner else shape.parallel - length, length))
    return sorted(parts)


def _group_rows(shape: BlockShape, group: int, left: bool) -> list[tuple[int, int, int]]:
    """A group's rows from below: (row, first site, sites); ``left``: short rows begin late."""
    lane = shape.place(group)[0]
    lengths, first = _lengths(shape, group)
    return [
        (first + i, shape.row_sites(first + i, lane) - length if left else 0, length)
        for i, length in enumerate(lengths)
    ]


def block_sites(shape: BlockShape) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Sites (N, 2) and groups (N,), ordered by group, then row, then column."""
    if isinstance(shape, ZigzagShape):
        return _column_sites(shape)
    sites: list[NDArray[np.int64]] = []
    groups: list[NDArray[np.int64]] = []
    step = 2 if shape.lattice is Lattice.HONEYCOMB else 1
    partner: dict[int, int] = {}
    for first in elbows(shape):
        partner |= {first: first + 1, first + 1: first}
    for group in range(1, shape.series + 1):
        lane = shape.place(group)[0]
        if group in partner:
            rows = _elbow_rows(shape, group, partner[group])
        else:
            rows = _group_rows(shape, group, _loses_left(shape, group))
        for row, first_site, length in rows:
            start = _row_start(shape, row, lane) + step * first_site
            columns = start + step * np.arange(length, dtype=np.int64)
            sites.append(np.column_stack([columns, np.full(length, row, dtype=np.int64)]))
            groups.append(np.full(length, group, dtype=np.int64))
    return np.concatenate(sites), np.concatenate(groups)


def _column_sites(shape: ZigzagShape) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """The same where groups stand side by side."""
    step = 2 if shape.lattice is Lattice.HONEYCOMB else 1
    wide = shape.parallel // shape.rows
    group, row, site = np.meshgrid(
        np.arange(shape.series), np.arange(shape.rows), np.arange(wide), indexing="ij"
    )
    columns = step * (group * wide + site) + row % step
    sites = np.column_stack([columns.ravel(), row.ravel()]).astype(np.int64)
    return sites, np.repeat(np.arange(1, shape.series + 1), shape.parallel).astype(np.int64)
