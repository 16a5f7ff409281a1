"""Fields: rows, lanes, empty sites."""

from collections import Counter

import numpy as np
import pytest

from layouts.cells.fields import (
    BlockShape,
    block_shapes,
    block_sites,
    elbows,
    row_templates,
    zigzag_shapes,
)
from layouts.cells.lattice import neighbour_pairs
from layouts.pack import Lattice


def connected(count: int, pairs: np.ndarray) -> bool:
    """Whether pairs join all of ``count`` things."""
    root = list(range(count))

    def top(i: int) -> int:
        while root[i] != i:
            i = root[i]
        return i

    for i, j in pairs:
        root[top(i)] = top(j)
    return len({top(i) for i in range(count)}) == 1


@pytest.mark.parametrize("lattice", Lattice)
@pytest.mark.parametrize(
    ("series", "parallel"),
    [(1, 1), (1, 7), (5, 1), (2, 5), (3, 7), (4, 6), (5, 11), (9, 4), (7, 3)],
)
def test_every_field_is_sound(series: int, parallel: int, lattice: Lattice) -> None:
    """All fields of a size: sites once, groups whole, next ones touching, rows balanced."""
    seen = 0
    for shape in block_shapes(series, parallel, lattice):
        sites, group = block_sites(shape)
        pairs = neighbour_pairs(sites, lattice)
        assert len(np.unique(sites, axis=0)) == series * parallel
        if lattice is Lattice.HONEYCOMB:
            assert not (sites.sum(axis=1) % 2).any()
        assert (np.bincount(group)[1:] == parallel).all()
        step = np.abs(group[pairs[:, 0]] - group[pairs[:, 1]])
        for k in range(1, series + 1):
            own = np.flatnonzero(group == k)
            inside = pairs[(group[pairs] == k).all(axis=1)]
            assert connected(parallel, np.searchsorted(own, inside)), shape
            rows = Counter(sites[own, 1].tolist())
            shared = any(k in (first, first + 1) for first in elbows(shape))
            assert len(rows) == (2 if shared else shape.rows)
            assert max(rows.values()) - min(rows.values()) <= 1, shape
            if k < series:
                low = np.minimum(group[pairs[:, 0]], group[pairs[:, 1]])
                assert ((step == 1) & (low == k)).any(), shape
        seen += 1
    assert seen >= parallel


def test_straight_fields_bring_only_consecutive_groups_together() -> None:
    """In one lane no groups further than one step apart touch."""
    for lattice in Lattice:
        for shape in block_shapes(6, 5, lattice):
            if shape.lanes == 1:
                sites, group = block_sites(shape)
                pairs = neighbour_pairs(sites, lattice)
                assert np.abs(group[pairs[:, 0]] - group[pairs[:, 1]]).max() <= 1


@pytest.mark.parametrize("lattice", Lattice)
def test_empty_sites_are_the_gaps_in_the_rows(lattice: Lattice) -> None:
    """In one lane: places in each row's own span of sites that no cell takes."""
    for shape in block_shapes(5, 11, lattice):
        if shape.lanes > 1:
            continue
        _, group = block_sites(shape)
        room = sum(shape.row_sites(row, 0) for row in range(shape.field_rows))
        assert shape.empty_sites == room - len(group)


def test_span_is_that_of_the_sites() -> None:
    """Columns from first to last site, of fields without empty sites."""
    for lattice in Lattice:
        for shape in block_shapes(4, 7, lattice):
            if shape.empty_sites == 0 and shape.field_rows > 1:
                assert np.ptp(block_sites(shape)[0][:, 0]) == shape.span_columns, shape


def test_rows_nest_on_a_honeycomb() -> None:
    """7 as 4 + 3 takes no empty site on a honeycomb; a grid can only leave one out."""
    assert (4, 3) in row_templates(7, 2, Lattice.HONEYCOMB)
    assert row_templates(7, 2, Lattice.GRID) == [(4, 4)]
    assert row_templates(8, 2, Lattice.HONEYCOMB) == [(4, 4)]


@pytest.mark.parametrize("lattice", Lattice)
@pytest.mark.parametrize(("series", "parallel"), [(4, 1), (8, 3), (9, 4), (14, 1), (13, 2), (5, 7)])
def test_rows_of_both_end_groups_have_nothing_to_their_right(
    series: int, parallel: int, lattice: Lattice
) -> None:
    """Any number of lanes: in the rows of groups 1 and S no cell of another group lies beyond."""
    folded = 0
    for shape in block_shapes(series, parallel, lattice):
        sites, group = block_sites(shape)
        folded += shape.lanes > 1
        for end in (1, series):
            own = sites[group == end]
            others = sites[group != end]
            for row in np.unique(own[:, 1]):
                last = own[own[:, 1] == row, 0].max()
                assert not (others[others[:, 1] == row, 0] > last).any(), shape
    assert folded


def group_contacts(shape: BlockShape) -> list[int]:
    """Touching pairs from each group to the next."""
    sites, group = block_sites(shape)
    pairs = np.sort(group[neighbour_pairs(sites, shape.lattice)], axis=1)
    met = pairs[pairs[:, 1] - pairs[:, 0] == 1, 0]
    return np.bincount(met, minlength=shape.series)[1 : shape.series].tolist()


@pytest.mark.parametrize(
    ("series", "parallel"), [(20, 2), (13, 2), (12, 3), (13, 3), (9, 4), (11, 5)]
)
def test_folds_of_single_rows_are_crossed_on_two_pairs_at_least(series: int, parallel: int) -> None:
    """On a honeycomb, wherever the lanes hold enough groups for an elbow at each fold."""
    seen = 0
    for shape in block_shapes(series, parallel, Lattice.HONEYCOMB):
        if shape.rows == 1 and shape.lanes > 1 and len(elbows(shape)) == shape.lanes - 1:
            assert min(group_contacts(shape)) == 2, shape
            seen += 1
    assert seen


def test_short_lanes_keep_whole_rows() -> None:
    """6S2P in lanes of 3, 2 and 1: at the second fold nothing is left to share; one pair meets."""
    (shape,) = (f for f in block_shapes(6, 2, Lattice.HONEYCOMB) if f.lanes == 3 and f.rows == 1)
    assert shape.turns() == (3, 5)
    assert elbows(shape) == (2,)
    assert group_contacts(shape)[2] == 2
    assert group_contacts(shape)[4] == 1


@pytest.mark.parametrize("lattice", Lattice)
@pytest.mark.parametrize(("series", "parallel"), [(1, 2), (7, 4), (13, 5), (4, 6), (5, 12)])
def test_columns_of_groups_side_by_side(series: int, parallel: int, lattice: Lattice) -> None:
    """Groups whole and in one piece, from -x to +x; only consecutive ones touch, on as many pairs
    as the rows allow; all rows straight and as long."""
    found = list(zigzag_shapes(series, parallel, lattice))
    assert [shape.rows for shape in found][:1] == [parallel]
    for shape in found:
        sites, group = block_sites(shape)
        pairs = neighbour_pairs(sites, lattice)
        assert len(np.unique(sites, axis=0)) == series * parallel
        assert (np.bincount(group)[1:] == parallel).all() and shape.empty_sites == 0
        assert len(set(np.bincount(sites[:, 1]).tolist())) == 1
        assert int(np.ptp(sites[:, 1])) + 1 == shape.rows == shape.field_rows
        assert int(np.ptp(sites[:, 0])) == shape.span_columns
        step = np.abs(group[pairs[:, 0]] - group[pairs[:, 1]])
        assert step.max(initial=0) <= 1
        front = 2 * shape.rows - 1 if lattice is Lattice.HONEYCOMB else shape.rows
        low = np.minimum(group[pairs[:, 0]], group[pairs[:, 1]])[step == 1]
        assert (np.bincount(low, minlength=series)[1:series] == front).all()
        assert 2 * front >= parallel
        for k in range(1, series + 1):
            own = np.flatnonzero(group == k)
            inside = pairs[(group[pairs] == k).all(axis=1)]
            assert connected(parallel, np.searchsorted(own, inside)), shape
        middles = [sites[group == k, 0].mean() for k in range(1, series + 1)]
        assert middles == sorted(middles)
