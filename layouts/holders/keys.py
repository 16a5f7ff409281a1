"""Interlock tabs and sockets that lock the tiles of one holder to each other in their plane."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from layouts.cells.arrangement import CellLayout
from layouts.cells.cuts import INTERLOCKS_APART_MM, LEAST_INTERLOCKS, TILE_PLAY_MM
from layouts.holders.holder import InterlockTab, Post
from layouts.pack import Pack

__all__ = ["TileInterlock", "choose_interlocks", "seam_count", "tab_of_tile"]

POCKET_WALL_MM = 0.8  # two lines of a 0.4 nozzle between a socket and a pocket
CHANNEL_CLEAR_MM = 0.8  # two such lines between a socket and a strip's or plate's channel
GROOVE_CLEAR_MM = 0.8  # between a socket and a barrier's groove
POST_CLEAR_MM = 1.5  # between a socket and a post
RADII_MM = (3.0, 2.8, 2.6, 2.4, 2.2, 2.0, 1.8, 1.7, 1.6, 1.5)  # bulbs, largest first
NECKS_MM = {3.0: 3.2, 2.8: 3.0, 2.6: 2.8, 2.4: 2.6, 2.2: 2.4, 2.0: 2.2, 1.8: 2.0}  # else 1.8
NECK_MM = 1.8  # four lines and a bit
HOLD_MM = 0.3  # least by which a bulb is wider than its socket's mouth, each side
STEP_MM = 0.05  # how finely a bulb's place is looked for
DEEPEST_MM = 6.0  # bulb's centre beyond the seam
ROOT_MM = 1.6  # a neck starts so far back in its own tile


@dataclass(frozen=True, kw_only=True, slots=True)
class TileInterlock:
    """One interlock tab of tile ``of`` in tile ``into``: sizes without play, in the face's plan;
    ``play_mm``: all round it."""

    of: int
    into: int
    root_mm: tuple[float, float]
    bulb_mm: tuple[float, float]
    radius_mm: float
    neck_mm: float
    play_mm: float = TILE_PLAY_MM


def choose_interlocks(
    pack: Pack,
    cell_layout: CellLayout,
    *,
    channels: NDArray[np.object_],
    grooves: NDArray[np.float64],
    posts: tuple[Post, ...],
) -> tuple[TileInterlock, ...]:
    """Interlock tabs of all tile seams, in pack coordinates.

    An interlock tab stands in a gap between three (grid: four) touching cells of two tiles. On a
    honeycomb the tile with one cell at the gap carries it and the bulb lies between the other's
    two; so the tiles alternate along a seam by themselves. On a grid they take turns. The bulb goes
    as far in as leaves ``POCKET_WALL_MM`` to pockets and ``CHANNEL_CLEAR_MM`` to channels. At least
    two a seam where there is space, then one each ``INTERLOCKS_APART_MM``."""
    tree = shapely.STRtree(channels) if len(channels) else None
    furrows = shapely.STRtree(shapely.polygons(grooves)) if len(grooves) else None
    found: dict[tuple[int, int], list[tuple[TileInterlock, float]]] = {}
    turn: dict[tuple[int, int], int] = {}
    for cells in _gaps(cell_layout):
        tiles = np.unique(cell_layout.tile[list(cells)])
        if len(tiles) != 2:
            continue
        seam = (int(tiles[0]), int(tiles[1]))
        number = turn.get(seam, 0)
        made = _interlock(pack, cell_layout, cells, seam, number, tree, furrows, posts)
        if made is not None:
            found.setdefault(seam, []).append(made)
            turn[seam] = number + 1
    return tuple(interlock for seam in sorted(found) for interlock in _spread(found[seam]))


def seam_count(cell_layout: CellLayout) -> dict[tuple[int, int], int]:
    """Gaps between three or four cells along each seam between two tiles that touch.

    Seams without such a gap (two cells side by side) are listed with 0.
    """
    tile = cell_layout.tile
    pairs = tile[cell_layout.neighbours]
    seams = {(int(a), int(b)) for a, b in np.sort(pairs[pairs[:, 0] != pairs[:, 1]], axis=1)}
    count = dict.fromkeys(sorted(seams), 0)
    for cells in _gaps(cell_layout):
        tiles = np.unique(tile[list(cells)])
        if len(tiles) == 2:
            count[int(tiles[0]), int(tiles[1])] += 1
    return count


def tab_of_tile(interlock: TileInterlock, tile: int, *, mirrored: bool) -> InterlockTab | None:
    """The tab as one tile sees it: its own, or a socket with play; None for other tiles."""
    if tile not in (interlock.of, interlock.into):
        return None
    own = interlock.of == tile
    way = -1.0 if mirrored else 1.0
    play = 0.0 if own else interlock.play_mm
    return InterlockTab(
        x0_mm=way * interlock.root_mm[0],
        y0_mm=interlock.root_mm[1],
        x_mm=way * interlock.bulb_mm[0],
        y_mm=interlock.bulb_mm[1],
        radius_mm=interlock.radius_mm + play,
        neck_mm=interlock.neck_mm + 2 * play,
        is_tab=own,
    )


def _gaps(cell_layout: CellLayout) -> list[tuple[int, ...]]:
    """Gaps between three touching cells (honeycomb) or four in a square (grid) at a tile seam."""
    near: dict[int, set[int]] = {}
    for i, j in cell_layout.neighbours.tolist():
        near.setdefault(i, set()).add(j)
        near.setdefault(j, set()).add(i)
    found: set[tuple[int, ...]] = set()
    tile = cell_layout.tile
    for i, j in cell_layout.neighbours.tolist():
        if tile[i] == tile[j]:
            continue
        third = near[i] & near[j]
        found |= {tuple(sorted((i, j, k))) for k in third}
        if not third:
            for k in near[i] - {j}:
                found |= {tuple(sorted((i, j, k, m))) for m in (near[k] & near[j]) - {i}}
    return sorted(found)


def _interlock(
    pack: Pack,
    cell_layout: CellLayout,
    cells: tuple[int, ...],
    seam: tuple[int, int],
    number: int,
    tree: shapely.STRtree | None,
    furrows: shapely.STRtree | None,
    posts: tuple[Post, ...],
) -> tuple[TileInterlock, float] | None:
    """The interlock tab with the firmest hold at one gap and its place along the seam."""
    xy, tile = cell_layout.xy_mm[list(cells)], cell_layout.tile[list(cells)]
    play = cell_layout.tile_play_mm
    first, second = (xy[tile == one] for one in seam)
    if len(cells) == 3:
        of = seam[0] if len(first) == 1 else seam[1]
        sides = 2 * (xy[1:] - xy[0])
        middle = np.linalg.solve(sides, (xy[1:] ** 2).sum(1) - (xy[0] ** 2).sum())
    else:
        if len(first) != 2:
            return None
        of, middle = seam[number % 2], xy.mean(axis=0)
    own, other = (first, second) if of == seam[0] else (second, first)
    across = np.array([-(other[1] - other[0])[1], (other[1] - other[0])[0]])
    across = across / np.hypot(*across)
    if across @ (other.mean(axis=0) - own.mean(axis=0)) < 0:
        across = -across
    # the seam leaves the gap at this slope against `across`: 0 on a grid, back on a honeycomb
    slope = min(_seam_slope(own, one, across, middle) for one in other)
    best = next(
        (
            (radius, neck, deep)
            for radius, neck, deep in _by_hold(pack, xy, middle, across, slope, play)
            if _clear(middle + deep * across, radius + play, tree, furrows, posts)
        ),
        None,
    )
    if best is None:
        return None
    radius, neck, deep = best
    root, bulb = middle - ROOT_MM * across, middle + deep * across
    interlock = TileInterlock(
        of=of,
        into=seam[1] if of == seam[0] else seam[0],
        root_mm=(float(root[0]), float(root[1])),
        bulb_mm=(float(bulb[0]), float(bulb[1])),
        radius_mm=radius,
        neck_mm=neck,
        play_mm=play,
    )
    along = np.abs(np.array([-across[1], across[0]]))
    return interlock, float(middle @ along)


def _seam_slope(
    own: NDArray[np.float64],
    other: NDArray[np.float64],
    across: NDArray[np.float64],
    middle: NDArray[np.float64],
) -> float:
    """How fast the seam falls back on ``other``'s side: mm against ``across`` a mm sideways."""
    if len(own) == 2:
        return 0.0
    between = other - own[0]
    seam = np.array([-between[1], between[0]])
    if seam @ ((own[0] + other) / 2 - middle) < 0:
        seam = -seam
    back, side = -float(seam @ across), abs(float(seam[0] * across[1] - seam[1] * across[0]))
    return back / side


def _by_hold(
    pack: Pack,
    xy: NDArray[np.float64],
    middle: NDArray[np.float64],
    across: NDArray[np.float64],
    slope: float,
    play: float,
) -> list[tuple[float, float, float]]:
    """Bulbs (radius, neck, depth) that leave their walls to pockets, firmest hold first.

    A socket's mouth is as wide as its neck, or as its circle where that meets the seam. The hold
    is what the bulb is wider than that mouth, each side.
    """
    radius = np.array(RADII_MM)[:, None]
    neck = np.array([NECKS_MM.get(one, NECK_MM) for one in RADII_MM])[:, None]
    deep = np.arange(0.0, DEEPEST_MM, STEP_MM)[None]
    bulbs = middle + deep.T * across
    away = np.hypot(*(bulbs[:, None] - xy[None]).transpose(2, 0, 1)).min(axis=1)[None]
    outer = radius + play
    wall = away - pack.pocket_mm / 2 - outer
    # circle x^2 + (y - deep)^2 = outer^2 met by the seam y = -slope x, x > 0
    a, b, c = 1 + slope**2, slope * deep, deep**2 - outer**2
    rest = np.sqrt(np.maximum(b**2 - a * c, 0.0))
    mouth = np.maximum(np.where(c < 0, (rest - b) / a, 0.0), neck / 2)
    hold = radius - mouth
    good = np.argwhere((wall >= POCKET_WALL_MM) & (hold >= HOLD_MM))
    good = good[np.argsort(-hold[good[:, 0], good[:, 1]].round(9), kind="stable")]
    return [(float(radius[i, 0]), float(neck[i, 0]), float(deep[0, k])) for i, k in good]


def _clear(
    bulb: NDArray[np.float64],
    outer_mm: float,
    tree: shapely.STRtree | None,
    furrows: shapely.STRtree | None,
    posts: tuple[Post, ...],
) -> bool:
    """Bulb's socket clear of channels, grooves and posts."""
    point = shapely.Point(bulb)
    for shapes, clear in ((tree, CHANNEL_CLEAR_MM), (furrows, GROOVE_CLEAR_MM)):
        if shapes is not None and len(
            shapes.query(point, predicate="dwithin", distance=outer_mm + clear)
        ):
            return False
    return all(
        math.dist(bulb, (post.x_mm, post.y_mm)) >= outer_mm + post.radius_mm + POST_CLEAR_MM
        for post in posts
    )


def _spread(interlocks: list[tuple[TileInterlock, float]]) -> list[TileInterlock]:
    """Both ends of the seam, and between them one each ``INTERLOCKS_APART_MM``, tiles in turn."""
    interlocks = sorted(interlocks, key=lambda one: (round(one[1], 6), one[0].bulb_mm))
    length = interlocks[-1][1] - interlocks[0][1]
    wanted = max(LEAST_INTERLOCKS, math.ceil(length / INTERLOCKS_APART_MM) + 1)
    if len(interlocks) <= wanted:
        return [interlock for interlock, _ in interlocks]
    chosen: list[int] = []
    for k in range(wanted):
        goal = interlocks[0][1] + length * k / (wanted - 1)
        free = [n for n in range(len(interlocks)) if n not in chosen]
        last = interlocks[chosen[-1]][0].of if chosen else -1
        chosen.append(
            min(
                free,
                key=lambda n: (
                    abs(interlocks[n][1] - goal) > INTERLOCKS_APART_MM / 2,
                    interlocks[n][0].of == last,
                    round(abs(interlocks[n][1] - goal), 6),
                    n,
                ),
            )
        )
    return [interlocks[n][0] for n in sorted(chosen)]
