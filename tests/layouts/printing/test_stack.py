"""Whether every pocket meets its can: exact chances, formulas, a second way of counting."""

from __future__ import annotations

import time
from dataclasses import replace
from math import ceil, erf, sqrt

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.stats import multivariate_normal

from layouts.printing.stack import (
    FitSpread,
    TileJoints,
    chance_of,
    clearance_for,
    clearances_needed_mm,
    farthest_mm,
    rss_clearance_mm,
    rss_radius_mm,
    worst_clearance_mm,
)

USUAL = FitSpread()
NONE = FitSpread(scale=0, skew=0, place_mm=0, pocket_mm=0, can_mm=0, can_below_mm=0)
ONE = np.zeros((1, 2))


def honeycomb(count: int, pitch_mm: float = 23.0) -> NDArray[np.float64]:
    """So many cells in a disc."""
    side = 2 * (ceil(sqrt(count * sqrt(3) / 2)) + 1)
    rows, columns = np.divmod(np.arange(side * side), side)
    xy = np.column_stack([columns + rows % 2 / 2, rows * sqrt(3) / 2]) * pitch_mm
    return np.asarray(xy[np.argsort(np.hypot(*(xy - xy.mean(axis=0)).T), kind="stable")[:count]])


def test_one_cell_has_the_chance_of_two_normals_that_share_a_can() -> None:
    """Both pockets of one can: their clearances are a bivariate normal."""
    spread = replace(USUAL, can_below_mm=0.5)  # so far below that the cut at the largest is nothing
    needed = clearances_needed_mm(ONE, spread, trials=200_000)
    own, shared = spread.pocket_mm**2, spread.can_mm**2
    both = multivariate_normal([0.0, 0.0], [[own + shared, shared], [shared, own + shared]])
    for clearance in (-0.48, -0.45, -0.42):
        exact = float(both.cdf([clearance + 0.5] * 2))
        assert chance_of(needed, clearance) == pytest.approx(exact, abs=0.003)


def test_two_cells_have_the_chance_of_one_normal() -> None:
    """Shifted and turned, only the stretch from one to the other is left: half on each side."""
    apart = 80.0
    spread = replace(NONE, scale=0.0005, place_mm=0.03)
    xy = np.array([[0.0, 0.0], [apart, 0.0]])
    needed = clearances_needed_mm(xy, spread, trials=400_000)
    # the end of each, round the middle: scale x 40 of two prints; place of two pockets, halved
    sigma = sqrt(2 * (spread.scale * apart / 2) ** 2 + spread.place_mm**2)
    for clearance in (0.02, 0.05, 0.08):
        exact = erf(clearance / sigma / sqrt(2.0))
        assert chance_of(needed, clearance) == pytest.approx(exact, abs=0.003)


def test_without_spread_it_is_just_over_or_just_under() -> None:
    """Also with holes that come out too small: by so much more."""
    for under in (0.0, 0.15):
        needed = clearances_needed_mm(
            honeycomb(19), replace(NONE, under_mm=under), trials=9, tile=np.arange(19) % 2
        )
        assert (chance_of(needed, under + 1e-3), chance_of(needed, under - 1e-3)) == (1.0, 0.0)


# Counted a second way, each clearance tried by halving with 8,000 trials: 99 % of pairs go on
BY_HALVING_MM = {7: 0.105, 19: 0.135, 40: 0.17, 80: 0.225, 160: 0.303, 320: 0.436, 500: 0.543}


@pytest.mark.parametrize(("count", "clearance_mm"), BY_HALVING_MM.items())
def test_clearance_for_ninety_nine_of_a_hundred(count: int, clearance_mm: float) -> None:
    """A table of seven sizes; the formula gives it within 0.03, and the worst case bounds all."""
    xy = honeycomb(count)
    needed = clearances_needed_mm(xy, USUAL, trials=max(2_000, 200_000 // count))
    found, radius = clearance_for(needed, 0.99), farthest_mm(xy)
    assert found == pytest.approx(clearance_mm, abs=0.02)
    assert rss_clearance_mm(radius, USUAL) == pytest.approx(found, abs=0.03)
    assert needed.max() < worst_clearance_mm(radius, USUAL)
    assert rss_radius_mm(rss_clearance_mm(radius, USUAL), USUAL) == pytest.approx(radius, abs=0.2)


def test_formulas_by_hand() -> None:
    """R 100: worst 0.12 + 6 sqrt 2 x 0.03 + 6 x 0.0008 x 100; squares 0.0035 + 5.9e-7 x 1e4."""
    assert worst_clearance_mm(100.0, USUAL) == pytest.approx(0.12 + 0.2545584 + 0.48)
    assert rss_clearance_mm(100.0, USUAL) == pytest.approx(-0.1 + 3 * sqrt(0.0035 + 0.0059))
    worse = replace(USUAL, under_mm=0.15, turned=-0.001, out_of_square=0.0005)
    for formula in (worst_clearance_mm, rss_clearance_mm):
        assert formula(100.0, worse) - formula(100.0, USUAL) == pytest.approx(0.30)


def test_shear_adds_up_and_a_quarter_turn_shows_the_difference_of_axes() -> None:
    """No chance in either: a printer out of square by q puts a cell at R off by q R, and so does a
    difference of axes."""
    xy = np.array([[90.0, 0.0], [-90.0, 0.0], [0.0, 90.0], [0.0, -90.0]])
    for one in (replace(NONE, out_of_square=0.001), replace(NONE, turned=0.001)):
        assert clearances_needed_mm(xy, one, trials=3) == pytest.approx(0.09)
    # along the diagonals a square grows and shrinks by shear
    assert clearances_needed_mm(xy, replace(NONE, scale=0.0), trials=1) == pytest.approx(0.0)


def test_tiles_that_float_need_less_and_stiff_joints_more() -> None:
    """Two tiles beside each other; the joints at the ends of the seam."""
    xy = honeycomb(160)
    tile = (xy[:, 0] > np.median(xy[:, 0])).astype(np.int64)
    seam = np.array([[np.median(xy[:, 0]), xy[:, 1].min()], [np.median(xy[:, 0]), xy[:, 1].max()]])
    found = {
        play: clearance_for(
            clearances_needed_mm(
                xy, USUAL, trials=4_000, tile=tile,
                joints=TileJoints(tiles=np.array([[0, 1]] * 2), at_mm=seam, play_mm=play),
            ), 0.99,
        )
        for play in (0.0, 0.1, 0.2, 5.0)
    }  # fmt: skip
    whole = clearance_for(clearances_needed_mm(xy, USUAL, trials=4_000), 0.99)
    floating = clearance_for(clearances_needed_mm(xy, USUAL, trials=4_000, tile=tile), 0.99)
    assert found[5.0] == floating
    assert floating < whole
    assert floating <= found[0.2] <= found[0.1] < found[0.0]
    tight = replace(USUAL, under_mm=0.4)  # sockets that close take all play
    joints = TileJoints(tiles=np.array([[0, 1]] * 2), at_mm=seam, play_mm=0.2)
    shut = clearances_needed_mm(xy, tight, trials=4_000, tile=tile, joints=joints)
    assert clearance_for(shut, 0.99) == pytest.approx(found[0.0] + 0.4)


def test_the_same_numbers_every_time_and_soon() -> None:
    """Seeded; 20,000 trials of 40 cells in less than a second of one core."""
    begun = time.process_time()
    needed = clearances_needed_mm(honeycomb(40), USUAL, trials=20_000)
    assert time.process_time() - begun < 1.0
    again = clearances_needed_mm(honeycomb(40), USUAL, trials=20_000)
    assert np.array_equal(needed, again)
    other = clearances_needed_mm(honeycomb(40), USUAL, trials=20_000, seed=2)
    assert clearance_for(other, 0.99) == pytest.approx(clearance_for(needed, 0.99), abs=0.01)
