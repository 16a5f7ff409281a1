"""Where tie posts stand: gaps between outer cells, a grid's four-cell gaps, else ears."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from layouts.cells.arrangement import CellLayout
from layouts.cells.placed import POST_CLEAR_MM
from layouts.holders.barriers import GROOVE_MM, barrier_line_mm
from layouts.holders.channels import cuts_mm
from layouts.holders.holder import Post
from layouts.holders.outline import Outline, outline_box_mm, rolling_outline
from layouts.holders.spans import stepping_stones
from layouts.pack import Lattice, Pack
from layouts.parts.tie_screw import post_disc_mm, post_reach_mm
from layouts.strips.joining import Interconnect
from layouts.strips.plate import PlateBar

__all__ = [
    "POSTS_APART_MM",
    "PostSites",
    "cell_outline",
    "channel_clear_mm",
    "choose_posts",
    "ends_of_side",
    "on_side",
    "post_sites",
    "rim_reach_mm",
]

POSTS_APART_MM = 90.0  # along each long side; common practice, no source
LONG_SIDE_MM = 130.0  # a side from here on gets posts between its corners, too
# Between a post and a strip's channel, by the whole pack's volts: a screw or nut in the post takes
# any potential in between. From 150 V and 300 V on so much that the air gaps of IEC 60664-1 for
# splashed surroundings are kept; below, common practice, no source.
CHANNEL_CLEAR_MM = ((300.0, 3.0), (150.0, 1.8), (0.0, 1.5))
SEPARATE_MM = 16.0  # between two posts' centres
TILE_SEPARATE_MM = 12.0  # the same where a tile lacks a second post
TILE_CLEAR_MM = 1.3  # between a post and the next tile
PUSHES_MM = (0.0, 0.25, 0.5, 0.75, 1.0, 1.25, 1.5)  # a post gives way to a wide strip so far
EAR_DEG = (45.0, 50.0, 55.0, 60.0, 65.0, 40.0, 35.0)  # where ears may stand on a corner cell
NEAR_SIDE = 1.35  # posts of a side stand so many pitches from its line at most
GROWN_PRICE = 12.0  # one mm that a post adds to the box weighs as much as so far from a corner
GROWN_MOST_MM = 4.0  # a tile's second post rounds the box out by no more
CORNER_CHOICE = 10  # sites looked at in each corner
# a post that parts a bar near the main lead weighs as much as so far from a corner, and as so many
# more posts along a side
PARTED_PRICE_MM = 200.0
PARTED_COST = 20.0
LEAST_PARTED = 0.3  # of a bar's length: a parted bar costs so much at least
MISSING_PRICE = 1e4  # a corner left without a post


@dataclass(frozen=True, kw_only=True, slots=True)
class PostSites:
    """Places where a post can stand: (n, 2), what each adds to the box, its tile.

    ``parted``: share of a bar's length whose current must pass there, where a post leaves less of
    the bar or none; 0 at places clear of bars. ``box_mm``: the cells' own box.
    """

    xy_mm: NDArray[np.float64]
    grown_mm: NDArray[np.float64]
    parted: NDArray[np.float64]
    tile: NDArray[np.int64]
    box_mm: tuple[float, float, float, float]


def cell_outline(pack: Pack, cell_layout: CellLayout) -> Outline:
    """Outline of the cells alone."""
    radius = pack.pocket_mm / 2 + pack.holder.wall_mm
    xy = cell_layout.xy_mm
    return rolling_outline(np.column_stack([xy, np.full(len(xy), radius)]))


def post_sites(
    pack: Pack,
    cell_layout: CellLayout,
    interconnect: Interconnect,
    outline: Outline | None = None,
    bars: Sequence[PlateBar] = (),
) -> PostSites:
    """All usable sites: clear of cans, lead-ins, channels of both faces, barriers and other tiles.

    ``outline``: of the cells alone, worked out where it is not given; ``bars``: of plates; of the
    places in a gap those clear of them come first.
    """
    outline = outline or cell_outline(pack, cell_layout)
    box = outline_box_mm(outline)
    gaps = [
        *_beside_pairs(pack, cell_layout, outline),
        *_beside_cells(pack, cell_layout, outline),
        *_amid_four(pack, cell_layout, box),
    ]
    every = np.vstack([np.zeros((0, 2)), *gaps])
    gap = np.repeat(np.arange(len(gaps)), [len(places) for places in gaps])
    parted = _parted(pack, bars, every)
    good = _usable(pack, cell_layout, interconnect, outline, every)
    usable = np.flatnonzero(good & np.isfinite(parted))
    usable = usable[np.argsort(parted[usable] > 0, kind="stable")]
    chosen = usable[np.unique(gap[usable], return_index=True)[1]]
    found = every[chosen]
    radius = post_disc_mm(pack)
    low, high = np.array(box[:2]), np.array(box[2:])
    grown = np.maximum(low - (found - radius), (found + radius) - high).max(axis=1, initial=0.0)
    cell = cKDTree(cell_layout.xy_mm).query(found)[1]
    return PostSites(
        xy_mm=found,
        grown_mm=np.maximum(grown, 0.0),
        parted=parted[chosen],
        tile=cell_layout.tile[cell],
        box_mm=box,
    )


def choose_posts(
    pack: Pack,
    sites: PostSites,
    tiles: int,
    rim_mm: NDArray[np.float64] | None = None,
) -> tuple[Post, ...]:
    """Posts near the corners, then along each long side, then two a tile where there is space.

    ``rim_mm`` (n, 2): outer cells of a field that is no rectangle; each gets a post near it.
    In order of y, then x.
    """
    taken = _corners(sites)
    for axis, end in itertools.product((0, 1), (0, 1)):
        if sites.box_mm[2 + axis] - sites.box_mm[axis] >= LONG_SIDE_MM:
            taken += _along(pack, sites, taken, axis, end)
    for tile in range(tiles):
        taken += _in_tile(sites, taken, tile)
    if rim_mm is not None:
        taken += _near_the_rim(pack, sites, taken, rim_mm)
    places = sorted({(float(y), float(x)) for x, y in sites.xy_mm[taken]})
    return tuple(Post(x_mm=x, y_mm=y, radius_mm=pack.holder.post_mm / 2) for y, x in places)


def channel_clear_mm(pack: Pack) -> float:
    """Least distance between a post and a strip's channel."""
    volts = pack.series * pack.cell.full_v
    return next(clear for above, clear in CHANNEL_CLEAR_MM if volts > above)


def rim_reach_mm(pack: Pack) -> float:
    """Farthest that an outer cell may be from a post where sides are not straight."""
    return POSTS_APART_MM / 2 + pack.pitch_mm


def _near_the_rim(
    pack: Pack, sites: PostSites, taken: list[int], rim_mm: NDArray[np.float64]
) -> list[int]:
    """As many more posts as bring every outer cell within reach, the farthest cell first."""
    added: list[int] = []
    far = np.hypot(*(rim_mm[:, None] - sites.xy_mm[None]).transpose(2, 0, 1))
    reach = np.full(len(rim_mm), np.inf) if not taken else far[:, taken].min(axis=1)
    given_up = np.zeros(len(rim_mm), dtype=np.bool_)
    while True:
        lacking = np.where(given_up, -np.inf, reach)
        cell = int(lacking.argmax())
        if lacking[cell] <= rim_reach_mm(pack):
            return added
        given_up[cell] = True
        price = far[cell] + PARTED_PRICE_MM * sites.parted
        for site in np.argsort(price, kind="stable")[:CORNER_CHOICE].tolist():
            others = sites.xy_mm[taken + added]
            apart = np.hypot(*(others - sites.xy_mm[site]).T) if len(others) else [np.inf]
            if min(apart) >= SEPARATE_MM and far[cell, site] < reach[cell]:
                added.append(site)
                reach = np.minimum(reach, far[:, site])
                break


def _beside_pairs(
    pack: Pack, cell_layout: CellLayout, outline: Outline
) -> list[NDArray[np.float64]]:
    """Beside every pair of outer cells that the ball touches at once, outside of both.

    For each gap the places to try, best first.
    """
    reach, xy = post_reach_mm(pack), cell_layout.xy_mm
    found = []
    for seat in outline.seats:
        i, j = seat.discs
        half = float(np.hypot(*(xy[j] - xy[i]))) / 2
        if half >= reach:
            continue
        middle = (xy[i] + xy[j]) / 2
        out = np.array([seat.x_mm, seat.y_mm]) - middle
        out /= np.hypot(*out)
        high = math.sqrt(reach**2 - half**2)
        found.append(np.array([middle + out * (high + push) for push in PUSHES_MM]))
    return found


def _beside_cells(
    pack: Pack, cell_layout: CellLayout, outline: Outline
) -> list[NDArray[np.float64]]:
    """Between each outer cell's free arc (a honeycomb's notches), and ears on its diagonals."""
    reach, xy = post_reach_mm(pack), cell_layout.xy_mm
    found = []
    for arc in outline.arcs:
        if arc.disc < 0:
            continue
        tries = [[arc.start_rad + arc.sweep_rad / 2]]
        for quarter in range(4):
            ups = [degrees if quarter % 2 == 0 else 90.0 - degrees for degrees in EAR_DEG]
            ways = [quarter * math.pi / 2 + math.radians(up) for up in ups]
            tries.append([w for w in ways if (w - arc.start_rad) % math.tau <= arc.sweep_rad])
        found += [
            xy[arc.disc] + reach * np.column_stack([np.cos(ways), np.sin(ways)])
            for ways in tries
            if ways
        ]
    return found


def _amid_four(
    pack: Pack, cell_layout: CellLayout, box: tuple[float, float, float, float]
) -> list[NDArray[np.float64]]:
    """Between four cells of a grid, near the field's sides or at a tile's corner."""
    if pack.lattice is not Lattice.GRID:
        return []
    at = {(int(c), int(r)): k for k, (c, r) in enumerate(cell_layout.sites)}
    tiled = int(cell_layout.tile.max()) > 0
    found = []
    for (column, row), k in sorted(at.items()):
        four = [at.get((column + c, row + r)) for c, r in ((1, 0), (0, 1), (1, 1))]
        if None in four:
            continue
        middle = cell_layout.xy_mm[[k, *(one for one in four if one is not None)]].mean(axis=0)
        edge = min(*(middle - box[:2]), *(np.array(box[2:]) - middle))
        if tiled or edge <= NEAR_SIDE * pack.pitch_mm:
            found.append(middle[None])
    return found


def _usable(
    pack: Pack,
    cell_layout: CellLayout,
    interconnect: Interconnect,
    outline: Outline,
    found: NDArray[np.float64],
) -> NDArray[np.bool_]:
    if not len(found):
        return np.zeros(0, dtype=np.bool_)
    radius = pack.holder.post_mm / 2
    cells = cKDTree(cell_layout.xy_mm)
    near, cell = cells.query(found)
    good = np.asarray(near >= post_reach_mm(pack) - 1e-9)
    points = shapely.points(found)
    quads = cuts_mm(pack, cell_layout, interconnect, outline)
    lines = [
        barrier_line_mm(pack, cell_layout, seam, outline)
        for seam in cell_layout.seams
        if seam.barrier and len(seam.pairs)
    ]
    for shapes, clear in (
        (shapely.polygons(quads), radius + channel_clear_mm(pack)),
        (np.array([shapely.LineString(x) for x in lines]), radius + 1.0 + GROOVE_MM / 2),
    ):
        if len(shapes):
            hit = shapely.STRtree(shapes).query(points, predicate="dwithin", distance=clear - 1e-9)
            good[hit[0]] = False
    if cell_layout.room is not None:
        inside = cell_layout.room.buffer(-post_disc_mm(pack) - POST_CLEAR_MM)
        good &= shapely.contains(inside, points)
    if int(cell_layout.tile.max()) > 0:
        for angle in np.arange(16) * math.tau / 16:
            ring = found + (radius + TILE_CLEAR_MM) * np.array([math.cos(angle), math.sin(angle)])
            good &= cell_layout.tile[cells.query(ring)[1]] == cell_layout.tile[cell]
    return good


def _parted(
    pack: Pack, bars: Sequence[PlateBar], found: NDArray[np.float64]
) -> NDArray[np.float64]:
    """(n,) as ``PostSites.parted``; infinite where a bar may not be parted."""
    clear = pack.holder.post_mm / 2 + channel_clear_mm(pack) + pack.holder.channel_play_mm / 2
    points = shapely.points(found)
    parted = np.zeros(len(found))
    for bar in bars:
        x0, _, x1, _ = bar.whole.bounds
        far = np.abs(found[:, 0] - bar.landing.centroid.x) / (x1 - x0)
        hit = shapely.dwithin(bar.whole, points, clear - 1e-9)
        parted[hit] = np.maximum(parted[hit], np.maximum(1.0 - far[hit], LEAST_PARTED))
        parted[shapely.dwithin(bar.kept, points, clear - 1e-9)] = np.inf
    return parted


def _corners(sites: PostSites) -> list[int]:
    """The sites that together lie nearest to the four corners, each corner its own."""
    if not len(sites.xy_mm):
        return []
    x0, y0, x1, y1 = sites.box_mm
    choice: list[list[tuple[float, int | None]]] = []
    for corner in ((x0, y0), (x1, y0), (x0, y1), (x1, y1)):
        far = np.abs(sites.xy_mm - corner).max(axis=1)
        price = far + GROWN_PRICE * sites.grown_mm + PARTED_PRICE_MM * sites.parted
        near = np.argsort(price.round(6), kind="stable")[:CORNER_CHOICE]
        choice.append([(float(price[k]), int(k)) for k in near] + [(MISSING_PRICE, None)])
    best: tuple[float, tuple[int, ...]] = (math.inf, ())
    for way in itertools.product(*choice):
        price_of = sum(one[0] for one in way)
        if price_of < best[0] - 1e-6:
            some = tuple(one[1] for one in way if one[1] is not None)
            if _separate(sites.xy_mm[list(some)]):
                best = (price_of, some)
    return list(best[1])


def _separate(points: NDArray[np.float64]) -> bool:
    return all(
        math.dist(a, b) >= SEPARATE_MM for a, b in itertools.combinations(points.tolist(), 2)
    )


def _along(pack: Pack, sites: PostSites, taken: list[int], axis: int, end: int) -> list[int]:
    """Posts between the outermost ones of one side: along ``axis``, at its low or high end."""
    mine = on_side(sites.xy_mm, sites.box_mm, axis, end, NEAR_SIDE * pack.pitch_mm)
    along = sites.xy_mm[:, axis]
    low, high = ends_of_side(sites.xy_mm[taken], sites.box_mm, axis, end)
    if low == high:
        return []
    low, high = taken[low], taken[high]
    between = np.flatnonzero(mine & (along > along[low]) & (along < along[high]))
    others = sites.xy_mm[taken]
    clear = [int(k) for k in between if np.hypot(*(others - sites.xy_mm[k]).T).min() >= SEPARATE_MM]
    clear.sort(key=lambda k: (float(along[k]), k))
    stones = stepping_stones(
        sites.xy_mm[low],
        sites.xy_mm[high],
        sites.xy_mm[clear],
        [0.3 * float(sites.grown_mm[k]) + PARTED_COST * float(sites.parted[k]) for k in clear],
        limit_mm=POSTS_APART_MM,
        apart_mm=SEPARATE_MM,
    )
    return [clear[k] for k in stones]


def on_side(
    posts_mm: NDArray[np.float64],
    box_mm: tuple[float, float, float, float],
    axis: int,
    end: int,
    within_mm: float,
) -> NDArray[np.bool_]:
    """(n,) posts near a side along ``axis``, the low or the high one, not nearer to the other."""
    across = posts_mm[:, 1 - axis]
    this, other = (np.abs(across - box_mm[2 * k + 1 - axis]) for k in (end, 1 - end))
    return np.asarray((this <= within_mm) & (this <= other + 1e-6))


def ends_of_side(
    posts_mm: NDArray[np.float64], box_mm: tuple[float, float, float, float], axis: int, end: int
) -> tuple[int, int]:
    """The posts (n, 2) nearest to both ends of a side along ``axis``, at its low or high end."""
    line = box_mm[2 * end + 1 - axis]
    found = []
    for stop in (box_mm[axis], box_mm[2 + axis]):
        corner = np.array([stop, line] if axis == 0 else [line, stop])
        found.append(int(np.argmin(np.abs(posts_mm - corner).max(axis=1).round(6))))
    return found[0], found[1]


def _in_tile(sites: PostSites, taken: list[int], tile: int) -> list[int]:
    """What a tile lacks to two posts, as far from those there are as may be."""
    added: list[int] = []
    own = np.flatnonzero((sites.tile == tile) & (sites.grown_mm <= GROWN_MOST_MM))
    while sum(sites.tile[k] == tile for k in taken + added) < 2 and len(own):
        others = [k for k in taken + added if sites.tile[k] == tile] or taken + added
        if not others:
            added.append(int(own[0]))
            continue
        far = (
            np.hypot(
                *(sites.xy_mm[own][:, None] - sites.xy_mm[others][None]).transpose(2, 0, 1)
            ).min(axis=1)
            - GROWN_PRICE * sites.grown_mm[own]
            - PARTED_PRICE_MM * sites.parted[own]
        )
        clear = (
            np.hypot(
                *(sites.xy_mm[own][:, None] - sites.xy_mm[taken + added][None]).transpose(2, 0, 1)
            ).min(axis=1)
            >= TILE_SEPARATE_MM
        )
        if not clear.any():
            break
        added.append(int(own[int(np.argmax(np.where(clear, far, -np.inf)))]))
    return added
