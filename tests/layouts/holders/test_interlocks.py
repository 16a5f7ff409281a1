"""Interlock tabs of plain fields cut in two: where they stand, and how firmly they hold.

What a bulb is held by is measured here along the seam itself, the line halfway between the cells
of two tiles.
"""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from numpy.typing import NDArray

from layouts.cells.arrangement import CellLayout
from layouts.cells.cuts import LOOSE_TILE_PLAY_MM
from layouts.holders import keys
from layouts.holders.fastening import Post
from layouts.holders.keys import TileInterlock, choose_interlocks, tab_of_tile
from layouts.pack import Lattice, Pack
from tests.layouts.hand_made import in_rows
from tests.samples import sample_pack

NONE = np.zeros((0, 4, 2))
PLAY_MM, WALL_MM, HOLD_MM = 0.1, 0.8, 0.3
WIDE_WEB_MM = 4.0
LATTICES = [Lattice.HONEYCOMB, Lattice.GRID]


@cache
def field(lattice: Lattice, rows: int = 8) -> tuple[Pack, CellLayout]:
    """Rows of four cells, the left two in one tile, the right two in another."""
    pack = sample_pack(rows, 4, lattice=lattice)
    if lattice is Lattice.HONEYCOMB:  # whose gaps are too small for a bulb between narrow webs
        pack = replace(pack, holder=replace(pack.holder, web_mm=WIDE_WEB_MM))
    whole = in_rows(pack)
    return pack, replace(whole, tile=(whole.sites[:, 0] > 1).astype(np.int64))


def tabs(lattice: Lattice, rows: int = 8, posts: tuple[Post, ...] = ()) -> list[TileInterlock]:
    """Its interlock tabs, with nothing else in the way."""
    pack, cells = field(lattice, rows)
    return list(choose_interlocks(pack, cells, channels=NONE, grooves=NONE, posts=posts))


def gap_cells(cells: CellLayout, tab: TileInterlock) -> NDArray[np.int64]:
    """The three or four cells round a tab: those nearest to where its seam is crossed."""
    root, bulb = np.array(tab.root_mm), np.array(tab.bulb_mm)
    middle = root + 1.6 * (bulb - root) / np.hypot(*(bulb - root))
    away = np.hypot(*(cells.xy_mm - middle).T)
    return np.flatnonzero(away < away.min() + 1e-6)


def hold_mm(cells: CellLayout, tab: TileInterlock) -> float:
    """What a bulb is wider than its socket's mouth at the seam, each side."""
    near = gap_cells(cells, tab)
    root, bulb = np.array(tab.root_mm), np.array(tab.bulb_mm)
    across = (bulb - root) / np.hypot(*(bulb - root))
    middle, sideways = root + 1.6 * across, np.array([-across[1], across[0]])
    mouth = tab.neck_mm / 2
    own = [k for k in near if cells.tile[k] == tab.of]
    other = [k for k in near if cells.tile[k] == tab.into]
    for a in own:
        for b in other:
            between = cells.xy_mm[b] - cells.xy_mm[a]
            if np.hypot(*between) > 1.01 * cells.pitch_mm:
                continue  # across a square
            way = np.array([-between[1], between[0]]) / np.hypot(*between)
            out = (cells.xy_mm[a] + cells.xy_mm[b]) / 2 - middle
            steps = np.arange(0.0, 8.0, 0.01)[:, None] * way * math.copysign(1.0, way @ out)
            inside = np.hypot(*(middle + steps - bulb).T) <= tab.radius_mm + PLAY_MM
            mouth = max(mouth, float(np.abs(steps[inside] @ sideways).max(initial=0.0)))
    return tab.radius_mm - mouth


@pytest.mark.parametrize("lattice", LATTICES)
def test_a_tab_crosses_its_seam_midway_between_the_other_tile_s_cells(lattice: Lattice) -> None:
    """Rooted in its own tile, its bulb in the other one, on the line between that one's cells."""
    _, cells = field(lattice)
    found = tabs(lattice)
    assert len(found) >= 3
    for tab in found:
        near = gap_cells(cells, tab)
        assert len(near) == (3 if lattice is Lattice.HONEYCOMB else 4)
        other = cells.xy_mm[[k for k in near if cells.tile[k] == tab.into]]
        own = cells.xy_mm[[k for k in near if cells.tile[k] == tab.of]]
        assert len(other) == 2
        for point in (tab.root_mm, tab.bulb_mm):
            assert np.ptp(np.hypot(*(other - point).T)) < 1e-6
        assert np.hypot(*(own - tab.root_mm).T).min() < np.hypot(*(other - tab.root_mm).T).min()
        to_other = float(np.hypot(*(other - tab.bulb_mm).T).min())
        assert to_other < float(np.hypot(*(own - tab.bulb_mm).T).min())


@pytest.mark.parametrize("rows", [8, 20])
@pytest.mark.parametrize("lattice", LATTICES)
def test_tiles_carry_tabs_in_turn(lattice: Lattice, rows: int) -> None:
    """Along a seam of seven gaps or more, from end to end, and each tile carries some."""
    found = tabs(lattice, rows)
    assert {tab.of for tab in found} == {0, 1} == {tab.into for tab in found}
    assert all(tab.of != tab.into for tab in found)
    ys = sorted(tab.bulb_mm[1] for tab in found)
    _, cells = field(lattice, rows)
    half = float(cells.xy_mm[:, 1].max())
    assert ys[0] < -half + cells.pitch_mm and ys[-1] > half - 60.0
    assert max(np.diff(ys)) <= 60.0 + cells.pitch_mm


@pytest.mark.parametrize("lattice", LATTICES)
def test_the_firmest_bulb_is_taken(lattice: Lattice) -> None:
    """Of all bulbs and depths that leave 0.8 mm to pockets, none is held by more."""
    pack, cells = field(lattice)
    tab = tabs(lattice)[0]
    root, bulb = np.array(tab.root_mm), np.array(tab.bulb_mm)
    across = (bulb - root) / np.hypot(*(bulb - root))
    middle = root + 1.6 * across

    def held(radius: float, deep: float) -> float:
        at = middle + deep * across
        away = float(np.hypot(*(cells.xy_mm - at).T).min())
        if away - pack.pocket_mm / 2 - radius - PLAY_MM < WALL_MM:
            return -math.inf
        neck = keys.NECKS_MM.get(radius, keys.NECK_MM)
        one = replace(tab, bulb_mm=tuple(at.tolist()), radius_mm=radius, neck_mm=neck)
        return hold_mm(cells, one)

    best = max(held(radius, deep) for radius in keys.RADII_MM for deep in np.arange(0, 6, 0.05))
    own = hold_mm(cells, tab)
    assert own >= HOLD_MM - 0.02 and own >= best - 0.02 > 0.0


def test_bulbs_fall_in_size_and_are_held_by_their_necks() -> None:
    """Each neck is as strong as its bulb is thick from the middle, and 0.3 narrower each side."""
    assert list(keys.RADII_MM) == sorted(set(keys.RADII_MM), reverse=True)
    for radius in keys.RADII_MM:
        neck = keys.NECKS_MM.get(radius, keys.NECK_MM)
        assert radius <= neck <= 2 * (radius - HOLD_MM) + 1e-9


@pytest.mark.parametrize(("gap_mm", "kept"), [(1.52, True), (1.45, False)])
def test_a_socket_keeps_off_a_post(gap_mm: float, kept: bool) -> None:
    """By 1.5 mm: a post just there changes nothing, one nearer moves the bulb or takes it away."""
    first = tabs(Lattice.GRID)[0]
    root, bulb = np.array(first.root_mm), np.array(first.bulb_mm)
    across = (bulb - root) / np.hypot(*(bulb - root))
    x, y = bulb + (first.radius_mm + PLAY_MM + gap_mm + 2.0) * across
    post = Post(x_mm=float(x), y_mm=float(y), radius_mm=2.0)
    assert (first in tabs(Lattice.GRID, posts=(post,))) is kept


def test_turns_are_given_up_rather_than_a_stretch_without_a_tab() -> None:
    """Tabs every 20 mm of 180, those of one tile at the first end alone: 60 mm apart all the same,
    the other tile's one after the other; where both have one near, in turn."""

    def along(own: set[int]) -> list[tuple[int, int]]:
        tabs = [
            TileInterlock(
                of=int(y in own), into=int(y not in own),
                root_mm=(0.0, float(y)), bulb_mm=(3.0, float(y)), radius_mm=2.0, neck_mm=2.2,
            )
            for y in range(0, 181, 20)
        ]  # fmt: skip
        spread = keys._spread([(one, one.bulb_mm[1]) for one in tabs])
        return [(round(one.bulb_mm[1]), one.of) for one in spread]

    assert along({0, 20}) == [(0, 1), (60, 0), (120, 0), (180, 0)]
    assert along({0, 20, 100, 140}) == [(0, 1), (60, 0), (100, 1), (180, 0)]


@pytest.mark.parametrize("lattice", LATTICES)
def test_tiles_that_follow_the_cells_below_have_looser_sockets(lattice: Lattice) -> None:
    """More play all round, the same wall to the pockets, and bulbs that still cannot slip out."""
    pack, cells = field(lattice)
    loose = replace(cells, tile_play_mm=LOOSE_TILE_PLAY_MM)
    found = choose_interlocks(pack, loose, channels=NONE, grooves=NONE, posts=())
    assert found
    for tab in found:
        bulb = tab_of_tile(tab, tab.of, mirrored=False)
        socket = tab_of_tile(tab, tab.into, mirrored=False)
        assert bulb is not None
        assert socket is not None
        assert socket.radius_mm - bulb.radius_mm == pytest.approx(LOOSE_TILE_PLAY_MM)
        assert socket.neck_mm - bulb.neck_mm == pytest.approx(2 * LOOSE_TILE_PLAY_MM)
        away = np.hypot(*(cells.xy_mm - np.array(tab.bulb_mm)).T).min()
        assert away - pack.pocket_mm / 2 - socket.radius_mm >= WALL_MM - 1e-9
        assert hold_mm(cells, tab) > LOOSE_TILE_PLAY_MM
