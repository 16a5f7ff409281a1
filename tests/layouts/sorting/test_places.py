"""Who stands where in a group, and sites that have moved."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from generators.packfile.resolve import parse_pack
from layouts.cells.arrangement import CellLayout
from layouts.pack import MeasuredCells
from layouts.planning.steps import laid_out
from layouts.sorting.places import on_sites, sorted_places_check
from tests.generators.packfile.files import PLAIN


def laid() -> CellLayout:
    """Forty cells."""
    return laid_out(parse_pack(PLAIN.encode(), "p.yaml").pack).cell_layout


def as_sorted(layout: CellLayout) -> MeasuredCells:
    """Cells sorted for a layout."""
    count = len(layout.xy_mm)
    return MeasuredCells(
        labels=tuple(f"c{k}" for k in range(count)),
        xy_mm=tuple((x, y) for x, y in layout.xy_mm.tolist()),
        capacity_ah=(4.8,) * count,
        resistance_mohm=(20.0,) * count,
    )


def test_the_most_resistance_stands_where_the_most_current_would_flow() -> None:
    """Within its group: two groups of three, sites with shares that rise or fall."""
    groups = np.array([[0, 2, 4], [1, 3, 5]])
    mohm = np.array([10.0, 13.0, 12.0, 11.0, 11.0, 12.0])
    share = np.array([0.5, 0.3, 0.2, -0.2, -0.3, -0.5])
    assert on_sites(groups, mohm, share).tolist() == [2, 4, 0, 3, 5, 1]


def test_sites_that_share_alike_keep_the_order() -> None:
    """Float noise does not decide: the highest resistance on the first."""
    share = np.array([0.5, 0.5 + 1e-15])
    assert on_sites(np.array([[1, 0]]), np.array([11.0, 10.0]), share).tolist() == [0, 1]


def test_sites_as_they_were_sorted_hold_and_moved_ones_fail() -> None:
    """A tenth of a millimetre is another plan, and the farthest site is named."""
    layout = laid()
    assert sorted_places_check(as_sorted(layout), layout).holds
    xy = layout.xy_mm.copy()
    xy[6] += (0.06, 0.08)
    check = sorted_places_check(as_sorted(layout), replace(layout, xy_mm=xy))
    assert not check.holds
    assert round(check.value or 0.0, 6) == 0.1
    assert check.where == "site 7, cell c6"
    assert "cellstead sort" in check.remedy
