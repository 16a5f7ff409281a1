"""Small pieces of lip: what is left out, and cans that must hold all the same."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely

from layouts.holders.islands import _open_ways, island_check, lip_without_dropped
from layouts.holders.tile_plan import ISLAND_MM2, lip_pieces
from layouts.strips.lip import CORNER_MM
from tests.holder_samples import Sizes, sample_tile, strip_quad
from tests.samples import sample_pack

WIDE = Sizes(21.30, 21.55, 23.0, 16.5, 10.5, 10.5, 70.3)
PACK = sample_pack()


def stump(*also: tuple[float, float]) -> object:
    """A row's end whose lip is cut down to stumps below and, if asked, slit elsewhere too."""
    tile = sample_tile(3, 2, links=0, posts=False)
    middle = tile.xy_mm[:2].mean(axis=0)
    ways = [(dx, -30.0) for dx in (-6.7, 1.5)] + list(also)
    cuts = [
        strip_quad(middle + np.array([dx, y]), middle + np.array([dx, 0.0]), 6.0) for dx, y in ways
    ]
    return sample_tile(3, 2, links=0, posts=False, channels=np.vstack([tile.channels, cuts]))


def test_known_triangles_hold():
    """Triangles of 37.9 mm2 between slants stay; none is left out."""
    check = island_check(PACK, [sample_tile(5, 4, links=2)])
    assert check.holds
    assert check.value == pytest.approx(37.9, abs=0.1)
    assert "left out" not in check.about


def test_islands_that_no_can_needs_are_left_out():
    """A stump with a tab goes, the can holds by the rest of its lip, and the check says so."""
    tile = stump()
    pieces = lip_pieces(tile)
    assert sum(piece.dropped for piece in pieces) == 1
    cells, state = lip_without_dropped(PACK, tile, pieces)
    assert 0 in cells
    assert state.holds.all()
    check = island_check(PACK, [tile])
    assert check.holds
    assert "1 smaller ones that no can needs" in check.about


def test_an_island_that_a_can_needs_fails():
    """Strips so wide that only small islands hold the inner cans: they may not be left out."""
    tile = sample_tile(5, 4, links=2, sizes=WIDE)
    cells, state = lip_without_dropped(PACK, tile, lip_pieces(tile))
    assert len(cells)
    assert not state.holds.all()
    check = island_check(PACK, [tile])
    assert not check.holds
    assert 0.0 < check.value < ISLAND_MM2
    assert "narrower" in check.remedy


def test_nothing_dropped_nothing_judged():
    """Without dropped pieces no cell is looked at."""
    tile = sample_tile(2, 2)
    cells, state = lip_without_dropped(PACK, tile, lip_pieces(tile))
    assert len(cells) == 0
    assert len(state.force_n) == 0


def test_open_runs_are_found_round_the_circle():
    """Runs over the start, wide runs parted, all open and none open."""
    opened = np.zeros(360, bool)
    opened[350:] = opened[:10] = True
    opened[90:290] = True
    ways = sorted(_open_ways(opened))
    assert ways == [(139.5, 50.0), (239.5, 50.0), (359.5, 10.0)]
    assert _open_ways(np.zeros(360, bool)) == []
    assert sum(2 * half for _, half in _open_ways(np.ones(360, bool))) == 360.0


def test_a_positive_end_is_held_by_the_lip_behind_its_seat():
    """A tab's force goes with its thickness squared: 1.6 mm of lip less the seat against 1.6."""
    tile = stump()
    pieces = lip_pieces(tile)
    forces = []
    for positive in (True, False):
        ends = np.full(len(tile.xy_mm), positive)
        cells, state = lip_without_dropped(PACK, replace(tile, positive_end=ends), pieces)
        forces.append(state.force_n[list(cells).index(0)])
    left = (tile.lip_mm - tile.seat_mm) / tile.lip_mm
    assert 0.1 < left < 0.9
    assert forces[0] == pytest.approx(forces[1] * left**2, rel=1e-9)


def test_the_lip_that_stays_is_measured_all_round_a_can():
    """Degrees of lip under the can's edge against the kept pieces cut by a circle."""
    tile = stump()
    pieces = lip_pieces(tile)
    cells, state = lip_without_dropped(PACK, tile, pieces)
    kept = shapely.union_all([piece.shape for piece in pieces if not piece.dropped])
    radius = PACK.cell.diameter_mm / 2 - CORNER_MM
    for k, cell in enumerate(cells):
        edge = shapely.Point(tile.xy_mm[cell]).buffer(radius, quad_segs=256).exterior
        share = edge.intersection(kept).length / edge.length
        assert 0.1 < share < 0.9
        assert state.rim_deg[k] == pytest.approx(360.0 * share, abs=1.5)
