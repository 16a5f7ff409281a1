"""Gaps between cans of different potential."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.spatial import cKDTree

from layouts.cells.lattice import centres_mm
from layouts.cells.spacing import can_spacing, close_pairs, required_gaps_mm
from layouts.pack import Lattice
from tests.layouts.boxed import arrange
from tests.samples import sample_pack


@pytest.mark.parametrize(
    ("a", "b", "gap_mm", "barrier"),
    [
        (3, 3, 0.4, False),
        (3, 4, 1.0, False),
        (3, 6, 1.0, False),  # 12.6 V
        (3, 7, 2.0, True),  # 16.8 V
        (1, 10, 3.0, True),  # full pack voltage
        (10, 1, 3.0, True),
    ],
)
def test_the_gap_follows_the_volts(a: int, b: int, gap_mm: float, barrier: bool) -> None:
    """Same group, next group, over 15 V, full pack voltage: common practice, no source."""
    gaps, barriers = required_gaps_mm(np.array([a]), np.array([b]), series=10, full_v=4.2)
    assert gaps.tolist() == [gap_mm]
    assert barriers.tolist() == [barrier]


def test_first_beside_last_needs_no_more_while_their_volts_are_low() -> None:
    """Three groups of 4.2 V: 8.4 V between the ends, the next group's gap is enough."""
    gaps, barriers = required_gaps_mm(np.array([1]), np.array([3]), series=3, full_v=4.2)
    assert gaps.tolist() == [1.0]
    assert not barriers.any()


def test_close_pairs_are_those_of_a_search_tree() -> None:
    """Bins find the same pairs as scipy's tree on random points."""
    xy = np.random.default_rng(3).uniform(0, 100, (300, 2))
    expected = sorted(map(tuple, cKDTree(xy).query_pairs(9.0)))
    assert list(map(tuple, close_pairs(xy, reach_mm=9.0).tolist())) == expected


@pytest.mark.parametrize("lattice", Lattice)
@pytest.mark.parametrize(("series", "parallel"), [(1, 7), (10, 4), (14, 1), (20, 2), (30, 3)])
def test_arranged_cans_keep_their_spacing(series: int, parallel: int, lattice: Lattice) -> None:
    """Straight and folded fields hold; the reported gap is the one between the reported cells."""
    pack = sample_pack(series, parallel, lattice=lattice)
    made = arrange(pack)
    check = can_spacing(pack, made)
    assert check.holds, check.where
    i, j = (int(word.strip(",")) - 1 for word in check.where.split()[1:4:2])
    gap = np.hypot(*(made.xy_mm[i] - made.xy_mm[j])) - pack.pocket_mm
    assert check.value == pytest.approx(gap)
    assert check.value >= check.limit - 1e-6


def test_a_single_cell_holds_and_says_why() -> None:
    """One cell has no neighbour."""
    pack = sample_pack(1, 1)
    check = can_spacing(pack, arrange(pack))
    assert check.holds and check.value is None and "no neighbour" in check.where


def test_cells_pushed_together_fail() -> None:
    """A cell moved by 1 mm towards the next group: 0.45 left where 1.0 is needed."""
    pack = sample_pack(3, 1, lattice=Lattice.GRID)
    made = arrange(pack)
    xy = made.xy_mm.copy()
    xy[0, 1] += 1.0
    check = can_spacing(pack, replace(made, xy_mm=xy))
    assert not check.holds
    assert check.value == pytest.approx(0.45)
    assert check.limit == 1.0
    assert "cells 1 and 2" in check.where and "web_mm: 2.00" in check.remedy


def test_a_thin_web_between_groups_fails() -> None:
    """A web of 0.8 is enough inside a group, not between two groups."""
    pack = sample_pack(2, 3)
    thin = replace(pack, holder=replace(pack.holder, web_mm=0.8))
    assert not can_spacing(thin, arrange(thin)).holds
    one = replace(thin, series=1)
    assert can_spacing(one, arrange(one)).holds


def test_a_barrier_taken_away_fails() -> None:
    """Wide enough is not enough above 15 V: the barrier must stand there too."""
    pack = sample_pack(14, 1)
    made = arrange(pack)
    assert made.lanes > 1 and can_spacing(pack, made).holds
    bare = replace(made, seams=tuple(replace(seam, barrier=False) for seam in made.seams))
    check = can_spacing(pack, bare)
    assert not check.holds
    assert "barrier missing" in check.where and "barrier" in check.remedy


def test_a_seam_that_is_not_widened_fails() -> None:
    """Barriers alone do not do: cells back at the plain pitch stand too near."""
    pack = sample_pack(14, 1)
    made = arrange(pack)
    xy = centres_mm(made.sites, pack.lattice, pitch_mm=pack.pitch_mm)
    check = can_spacing(pack, replace(made, xy_mm=xy))
    assert not check.holds
    assert check.value == pytest.approx(pack.holder.web_mm)
    assert check.limit == 2.0
