"""The cell block: the held cells' outline, with the posts that tie it and the seats that fix it.

The holders, the tub and the lid all follow this one shape.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from layouts.cells.arrangement import CellLayout
from layouts.checks import Check
from layouts.holders.boss_seats import choose_boss_seats
from layouts.holders.channels import cut_shapes
from layouts.holders.holder import Post
from layouts.holders.outline import (
    BossSeat,
    Outline,
    exit_mm,
    outline_box_mm,
    outline_points_mm,
    rolling_outline,
)
from layouts.holders.post_checks import post_checks, rim_cells
from layouts.holders.posts import (
    PostSites,
    cell_outline,
    channel_clear_mm,
    choose_posts,
    post_sites,
)
from layouts.pack import EnclosureStyle, Face, Pack
from layouts.parts.tie_screw import CAN_CLEAR_MM, MOUTH_CLEAR_MM, lead_in_mm, post_disc_mm
from layouts.strips.joining import Interconnect
from layouts.strips.plate import PlateBar

__all__ = [
    "SADDLE_PAD_RADIUS_MM",
    "CellBlock",
    "block_outline",
    "fasten",
    "fastening_checks",
    "tie_posts",
]

PRACTICE = "common practice, no source"
SADDLE_PAD_RADIUS_MM = 2.0  # radius of a pad on the rim's support pads
PAD_CLEAR_MM = 0.2  # a pad stays clear of pockets, channels and the outline by so much
PAD_LOW_MM, PAD_HIGH_MM, PAD_STEP_MM = 4.0, 9.0, 0.1  # how far off the row's line pads are tried
PADS_APART_MM = 24.0  # pads in every hollow would only be more to print
PAD_POST_MM = 12.0  # a post's ring pad does the work near it
LEVEL_MM = 1e-6  # float noise in sums of millimetres


@dataclass(frozen=True, kw_only=True, slots=True)
class CellBlock:
    """The held cells as one body, in pack coordinates.

    ``outline.discs``: first every cell, in the arrangement's order, then every post, in the order
    of ``posts``. ``boss_seats``: where the lid's bosses stand, counter-clockwise from the +y end
    of the +x side. ``saddles`` (n, 2): centres for round pads of radius ``SADDLE_PAD_RADIUS_MM``
    that press on plain plastic of both holders' outer faces; ``saddles_lower``, ``saddles_upper``:
    the same, free on one face at least. ``box_mm``: x0, y0, x1, y1. ``notes``: what could not be
    had.
    """

    outline: Outline
    posts: tuple[Post, ...]
    boss_seats: tuple[BossSeat, ...]
    saddles: NDArray[np.float64]
    saddles_lower: NDArray[np.float64]
    saddles_upper: NDArray[np.float64]
    box_mm: tuple[float, float, float, float]
    notes: tuple[str, ...] = ()


def fasten(pack: Pack, cell_layout: CellLayout, interconnect: Interconnect) -> CellBlock:
    """Choose posts, draw the outline round cells and posts, choose seats and support pads."""
    posts, sites = tie_posts(pack, cell_layout, interconnect)
    outline = block_outline(pack, cell_layout, posts)
    seats: tuple[BossSeat, ...] = ()
    if pack.enclosure.style is EnclosureStyle.TUB:
        seats = choose_boss_seats(
            pack, outline, cut_shapes(pack, cell_layout, interconnect, outline)
        )
    lower, upper = (
        _saddles(pack, cell_layout, interconnect, outline, posts, faces)
        for faces in ((Face.LOWER,), (Face.UPPER,))
    )
    both = _saddles(pack, cell_layout, interconnect, outline, posts, (Face.LOWER, Face.UPPER))
    return CellBlock(
        outline=outline,
        posts=posts,
        boss_seats=seats,
        saddles=both,
        saddles_lower=lower,
        saddles_upper=upper,
        box_mm=outline_box_mm(outline),
        notes=_notes(cell_layout, sites.tile, posts),
    )


def tie_posts(
    pack: Pack,
    cell_layout: CellLayout,
    interconnect: Interconnect,
    bars: Sequence[PlateBar] | None = None,
) -> tuple[tuple[Post, ...], PostSites]:
    """Tie posts clear of strips, and the places that there were.

    Plates give way to posts: posts are chosen as if only bars were there, which give way where
    nothing else keeps posts near enough to each other. ``bars``: None: those of the interconnect.
    Without flank posts there is no place that enlarges the cells' box.
    """
    plain = cell_outline(pack, cell_layout)
    if bars is None:
        bars = [one.bar for one in interconnect.plates if one.bar is not None]
    sites = post_sites(pack, cell_layout, replace(interconnect, plates=()), plain, bars)
    if not pack.holder.flank_posts:
        sites = _inside(sites)
    tiles = int(cell_layout.tile.max()) + 1
    rim_mm = None if cell_layout.room is None else rim_cells(cell_layout, plain)
    return choose_posts(pack, sites, tiles if tiles > 1 else 0, rim_mm), sites


def _inside(sites: PostSites) -> PostSites:
    """Places where a post does not enlarge the cells' box."""
    k = sites.grown_mm <= LEVEL_MM
    xy, grown, parted = sites.xy_mm[k], sites.grown_mm[k], sites.parted[k]
    return replace(sites, xy_mm=xy, grown_mm=grown, parted=parted, tile=sites.tile[k])


def block_outline(pack: Pack, cell_layout: CellLayout, posts: tuple[Post, ...]) -> Outline:
    """The outline round cells and posts."""
    radius = pack.pocket_mm / 2 + pack.holder.wall_mm
    discs = [(float(x), float(y), radius) for x, y in cell_layout.xy_mm]
    discs += [(post.x_mm, post.y_mm, post_disc_mm(pack)) for post in posts]
    return rolling_outline(discs)


def fastening_checks(
    pack: Pack,
    cell_layout: CellLayout,
    interconnect: Interconnect,
    cell_block: CellBlock,
    clamped_mm: Sequence[Sequence[tuple[float, float]]] = (),
) -> tuple[Check, ...]:
    """Posts: enough of them, clear of cans, lead-ins and channels, and not too far apart.

    ``clamped_mm``: places where the enclosure clamps both holders on the cans, as a post would hold
    them, each by one point or by its two ends.
    """
    xy = np.array([(post.x_mm, post.y_mm) for post in cell_block.posts]).reshape(-1, 2)
    enough, *spacing = post_checks(pack, cell_layout, cell_block.posts, clamped_mm)
    checks = [enough]
    if len(xy):
        checks.append(_post_clearance(pack, cell_layout, xy))
        quads = cut_shapes(pack, cell_layout, interconnect, cell_block.outline)
        if len(quads):
            checks.append(_post_channel(pack, interconnect, quads, xy))
    return (*checks, *spacing)


def _post_clearance(pack: Pack, cell_layout: CellLayout, xy: NDArray[np.float64]) -> Check:
    radius = pack.holder.post_mm / 2
    near, cell = cKDTree(cell_layout.xy_mm).query(xy)
    gap = near - radius - pack.cell.diameter_mm / 2
    mouth = near - radius - pack.pocket_mm / 2 - lead_in_mm(pack)
    worst = int(np.argmin(gap))
    holds = bool(gap.min() >= CAN_CLEAR_MM - LEVEL_MM and mouth.min() >= MOUTH_CLEAR_MM - LEVEL_MM)
    return Check(
        id="post_clearance",
        about="clearance from posts to cans and to pocket lead-ins",
        holds=holds,
        value=float(gap.min()),
        limit=CAN_CLEAR_MM,
        unit="mm",
        source=PRACTICE,
        remedy="" if holds else "a smaller holder.post_mm",
        where=f"post {worst + 1}, cell {int(cell[worst]) + 1}",
    )


def _post_channel(
    pack: Pack, interconnect: Interconnect, quads: NDArray[np.object_], xy: NDArray[np.float64]
) -> Check:
    radius = pack.holder.post_mm / 2
    apart = shapely.distance(shapely.points(xy)[:, None], quads[None]) - radius
    post, strip = np.unravel_index(int(np.argmin(apart)), apart.shape)
    free = float(apart[post, strip])
    clear = channel_clear_mm(pack)
    holds = free >= clear - LEVEL_MM
    return Check(
        id="post_channel",
        about="clearance from posts to strip channels on both faces",
        holds=holds,
        value=free,
        limit=clear,
        unit="mm",
        source=PRACTICE,
        remedy="" if holds else "a smaller strip.row_width_mm or strip.link_width_mm",
        where=f"post {int(post) + 1}, {_cut_name(interconnect, int(strip))}",
    )


def _cut_name(interconnect: Interconnect, index: int) -> str:
    """What runs in one of the cuts through the lip, in their order."""
    if index < len(interconnect.strips):
        return f"strip {interconnect.strips[index].name}"
    if interconnect.plates:
        faces = (Face.LOWER, Face.UPPER)
        plates = [one for face in faces for one in interconnect.plates if one.face is face]
        return f"plate {plates[index].name}"
    notched = [
        balance_lead
        for face in (Face.LOWER, Face.UPPER)
        for balance_lead in interconnect.balance_leads
        if balance_lead.notch and balance_lead.face is face
    ]
    return f"notch of balance lead {notched[index - len(interconnect.strips)].number}"


def _saddles(
    pack: Pack,
    cell_layout: CellLayout,
    interconnect: Interconnect,
    outline: Outline,
    posts: tuple[Post, ...],
    faces: tuple[Face, ...],
) -> NDArray[np.float64]:
    """Pads in the hollows between two outer cells, as near to the row's line as may be."""
    xy = cell_layout.xy_mm
    ways = cut_shapes(pack, cell_layout, interconnect, outline, faces)
    tree = shapely.STRtree(ways) if len(ways) else None
    cells = cKDTree(xy)
    taken = [(post.x_mm, post.y_mm, PAD_POST_MM) for post in posts]
    cell_block = shapely.Polygon(outline_points_mm(outline, 0.02))
    rim = cell_block.exterior
    shapely.prepare(rim)
    found: list[tuple[float, float]] = []
    free = SADDLE_PAD_RADIUS_MM + PAD_CLEAR_MM
    for seat in outline.seats:
        i, j = seat.discs
        if max(i, j) >= len(xy):
            continue
        middle = (xy[i] + xy[j]) / 2
        out = np.array([seat.x_mm, seat.y_mm]) - middle
        out /= np.hypot(*out)
        from_mm, to = (float(middle[0]), float(middle[1])), (float(out[0]), float(out[1]))
        way = exit_mm(outline, from_mm, to, last=False)
        highest = min(PAD_HIGH_MM, (way or 0.0) - free)
        heights = np.arange(PAD_LOW_MM, highest + LEVEL_MM, PAD_STEP_MM)
        places = middle + heights[:, None] * out
        if not len(places):
            continue
        good = cells.query(places)[0] >= pack.pocket_mm / 2 + free
        if tree is not None:
            hit = tree.query(shapely.points(places), predicate="dwithin", distance=free)
            good[hit[0]] = False
        good &= ~shapely.dwithin(rim, shapely.points(places), free)
        for other in [*taken, *((x, y, PADS_APART_MM) for x, y in found)]:
            good &= np.hypot(places[:, 0] - other[0], places[:, 1] - other[1]) >= other[2]
        if good.any():
            x, y = places[int(np.argmax(good))]
            found.append((float(x), float(y)))
    return np.array(found).reshape(-1, 2)


def _notes(
    cell_layout: CellLayout, site_tile: NDArray[np.int64], posts: tuple[Post, ...]
) -> tuple[str, ...]:
    """Tiles with fewer than two posts, and why."""
    tiles = int(cell_layout.tile.max()) + 1
    if tiles == 1:
        return ()
    count = posts_of_tiles(cell_layout, posts)
    offered = np.bincount(site_tile, minlength=tiles) if len(site_tile) else np.zeros(tiles)
    return tuple(
        f"holder tile {tile + 1}: {int(count[tile])} posts, "
        + (
            "no gap between its cells is large enough"
            if not offered[tile]
            else "no gap is left for more"
        )
        + "; interlock tabs to the next tiles hold it"
        for tile in range(tiles)
        if count[tile] < 2
    )


def posts_of_tiles(cell_layout: CellLayout, posts: tuple[Post, ...]) -> NDArray[np.int64]:
    """(tiles,) how many posts each tile carries: a post belongs to the tile of its nearest cell."""
    tiles = int(cell_layout.tile.max()) + 1
    if not posts:
        return np.zeros(tiles, dtype=np.int64)
    cell = cKDTree(cell_layout.xy_mm).query([(post.x_mm, post.y_mm) for post in posts])[1]
    return np.bincount(cell_layout.tile[cell], minlength=tiles)
