"""Fields: rows, lanes, empty sites."""

from collections import Counter

import numpy as np
import pytest

from layouts.fields import field_sites, fields, row_templates
from layouts.lattice import neighbour_pairs
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
    for field in fields(series, parallel, lattice):
        sites, group = field_sites(field)
        pairs = neighbour_pairs(sites, lattice)
        assert len(np.unique(sites, axis=0)) == series * parallel
        if lattice is Lattice.HONEYCOMB:
            assert not (sites.sum(axis=1) % 2).any()
        assert (np.bincount(group)[1:] == parallel).all()
        step = np.abs(group[pairs[:, 0]] - group[pairs[:, 1]])
        for k in range(1, series + 1):
            own = np.flatnonzero(group == k)
            inside = pairs[(group[pairs] == k).all(axis=1)]
            assert connected(parallel, np.searchsorted(own, inside)), field
            rows = Counter(sites[own, 1].tolist())
            assert len(rows) == field.rows
            assert max(rows.values()) - min(rows.values()) <= 1, field
            if k < series:
                low = np.minimum(group[pairs[:, 0]], group[pairs[:, 1]])
                assert ((step == 1) & (low == k)).any(), field
        seen += 1
    assert seen >= parallel


def test_straight_fields_bring_only_consecutive_groups_together() -> None:
    """In one lane no groups further than one step apart touch."""
    for lattice in Lattice:
        for field in fields(6, 5, lattice):
            if field.lanes == 1:
                sites, group = field_sites(field)
                pairs = neighbour_pairs(sites, lattice)
                assert np.abs(group[pairs[:, 0]] - group[pairs[:, 1]]).max() <= 1


@pytest.mark.parametrize("lattice", Lattice)
def test_empty_sites_are_the_gaps_in_the_rows(lattice: Lattice) -> None:
    """In one lane: places in each row's own span of sites that no cell takes."""
    for field in fields(5, 11, lattice):
        if field.lanes > 1:
            continue
        _, group = field_sites(field)
        room = sum(field.row_sites(row, 0) for row in range(field.field_rows))
        assert field.empty_sites == room - len(group)


def test_span_is_that_of_the_sites() -> None:
    """Columns from first to last site, of fields without empty sites."""
    for lattice in Lattice:
        for field in fields(4, 7, lattice):
            if field.empty_sites == 0 and field.field_rows > 1:
                assert np.ptp(field_sites(field)[0][:, 0]) == field.span_columns, field


def test_rows_nest_on_a_honeycomb() -> None:
    """7 as 4 + 3 takes no empty site on a honeycomb; a grid can only leave one out."""
    assert (4, 3) in row_templates(7, 2, Lattice.HONEYCOMB)
    assert row_templates(7, 2, Lattice.GRID) == [(4, 4)]
    assert row_templates(8, 2, Lattice.HONEYCOMB) == [(4, 4)]
