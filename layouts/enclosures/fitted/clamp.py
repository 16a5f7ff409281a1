"""Where no tie posts stand, the lid clamps the upper holder: silicone cord and discs on plinths.

The lid's screws press lid, silicone, upper holder, cans, lower holder and floor pads together. Cord
lies along the rim beside insert screws, where the lid's edge does not bow. Where gas leaves it
would dam the rim: there only small discs press.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from layouts.cells.arrangement import CellLayout
from layouts.enclosures.fitted.clamp_springs import CORD_MM, SQUEEZE_MM
from layouts.enclosures.fitted.clamp_strength import need_n, preload_n
from layouts.enclosures.fitted.clamp_work import clamp_bought
from layouts.enclosures.fitted.cord import PLINTH_MM, ClampCord, RimPath, rim_path
from layouts.enclosures.fitted.lid_screws import APART_MM, INSERT_BOSS_MM, PITCH_MM, LidScrew
from layouts.enclosures.fitted.loops import loop_polygon
from layouts.enclosures.fitted.rooms import RoomKind
from layouts.enclosures.fitted.shell import ShellPlan
from layouts.enclosures.fitted.sides import OUTWARD, edge_mm
from layouts.enclosures.fitted.sizes import Clamp, FittedSizes
from layouts.enclosures.support_pads import RING_PAD_RADIUS_MM, support_pads_of
from layouts.holders.fastening import CellBlock
from layouts.holders.post_checks import post_checks
from layouts.holders.shape import cell_block_shape
from layouts.pack import Face, Pack, Side
from layouts.slabs.profile import Point
from layouts.strips.joining import Interconnect

__all__ = [
    "ClampSite",
    "clamp_of",
    "clamp_site",
    "cord_kept_off",
    "with_clamp",
    "with_clamp_screws",
]

OPPOSITE = {
    Side.PLUS_X: Side.MINUS_X, Side.MINUS_X: Side.PLUS_X,
    Side.PLUS_Y: Side.MINUS_Y, Side.MINUS_Y: Side.PLUS_Y,
}  # fmt: skip
EVEN_MM = 0.1  # a wall no farther off a straight line is straight
# All common practice or judgement, no source.
NEAR_SCREW_MM = 12.0  # along the edge from its screw: farther off the lid's edge bows
ACROSS_MM = 16.0  # and no farther across it
CORD_LONGEST_MM = 17.0  # at one screw: its insert bears no more, with a disc that is near too
CORD_SHORTEST_MM = 6.0
FREE_MM = 0.1  # between cord and windows, strip channels, pads
GAS_WAY = 0.4  # the rim's outward direction along the gas side's: at its cells gas crosses there
OFF_METAL_MM = 3.0  # a boss and its insert stand so far off a main lead's landing
STRAIGHT_MM = 6.0  # a wall is straight where it is so far on both sides of a screw


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class ClampSite:
    """What the clamp of one pack depends on, whatever walls are drawn round it.

    ``free`` (n,): places along the rim where nothing is in cord's way; ``saddles``: places of
    discs."""

    pack: Pack
    cell_layout: CellLayout
    cell_block: CellBlock
    path: RimPath
    free: NDArray[np.bool_]
    saddles: tuple[Point, ...]


def clamp_site(
    pack: Pack, cell_layout: CellLayout, interconnect: Interconnect, cell_block: CellBlock
) -> ClampSite | None:
    """None where posts alone set the holders' distance: none is left out, or enough are left."""
    posts = post_checks(pack, cell_layout, cell_block.posts)
    if pack.holder.flank_posts or all(check.holds for check in posts):
        return None
    path = rim_path(cell_block.outline)
    free = np.ones(len(path.at_mm), dtype=np.bool_)
    kept_off = cord_kept_off(pack, cell_layout, interconnect, cell_block)
    hit = shapely.STRtree(kept_off).query(
        shapely.points(path.at_mm), predicate="dwithin", distance=CORD_MM / 2 + FREE_MM
    )
    free[hit[0]] = False
    held = cell_block_shape(cell_block.outline)
    pads = support_pads_of(pack, cell_layout, interconnect, cell_block, held, Face.UPPER)
    return ClampSite(
        pack=pack, cell_layout=cell_layout, cell_block=cell_block, path=path, free=free,
        saddles=tuple((pad.x_mm, pad.y_mm) for pad in pads if pad.hole_radius_mm == 0),
    )  # fmt: skip


def cord_kept_off(
    pack: Pack, cell_layout: CellLayout, interconnect: Interconnect, cell_block: CellBlock
) -> tuple[BaseGeometry, ...]:
    """What cord must not lie on, in the plan: windows, strip channels and metal that leaves the
    holder through them, ring pads at posts."""
    windows = shapely.buffer(shapely.points(cell_layout.xy_mm), pack.holder.window_mm / 2)
    play = pack.holder.channel_play_mm / 2
    metal = [one.shape.buffer(play) for one in interconnect.laid(Face.UPPER)]
    posts = [
        shapely.Point(post.x_mm, post.y_mm).buffer(RING_PAD_RADIUS_MM) for post in cell_block.posts
    ]
    return (*windows, *metal, *posts)


def clamp_of(site: ClampSite, shell: ShellPlan, gas_side: Side | None) -> Clamp:
    """Cord at every insert screw that has rim near it, discs on the side where gas leaves."""
    cords: list[ClampCord] = []
    free = site.free.copy()
    for screw in shell.screws:
        cord = _cord_at(site, free, screw, gas_side)
        if cord is not None:
            cords.append(cord)
            near = shapely.points(site.path.at_mm)
            free &= shapely.distance(near, cord.line) > PLINTH_MM / 2
    return Clamp(
        cords=tuple(cords),
        discs=_discs(site, gas_side),
        plinth_mm=site.pack.enclosure.gas_gap_mm - CORD_MM + SQUEEZE_MM,
    )


def with_clamp(site: ClampSite | None, sizes: FittedSizes) -> FittedSizes:
    """The same enclosure, its lid clamping the upper holder: rigid pads at posts alone."""
    if site is None:
        return sizes
    rings = tuple(pad for pad in sizes.support_pads_lid if pad.hole_radius_mm > 0)
    clamp = clamp_of(site, sizes.shell, sizes.gas_side)
    bought = clamp_bought(site.pack, site.cell_block, sizes, clamp)
    return replace(sizes, support_pads_lid=rings, clamp=replace(clamp, bought=bought))


def with_clamp_screws(
    site: ClampSite | None,
    shell: ShellPlan,
    gas_side: Side,
    free: BaseGeometry,
    kept_off: Sequence[BaseGeometry],
) -> ShellPlan:
    """Walls with as many more insert screws as the clamp needs.

    Each is put as far from what clamps already as can be, until the silicone's preload suffices and
    its places stand near enough to each other, or no place is left. ``free``: what bosses must lie
    in; ``kept_off``: lanes of glands and brackets."""
    if site is None:
        return shell
    posts = [(post.x_mm, post.y_mm) for post in site.cell_block.posts]
    taken = shapely.union_all([shapely.Point(), *kept_off])
    need = need_n(site.pack, site.cell_layout, site.cell_block)
    spare = [
        (screw, cord)
        for screw in _more_screws(site, shell, gas_side)
        if (cord := _cord_at(site, site.free, screw, gas_side)) is not None
        and free.contains(shapely.Point(screw.at_mm).buffer(screw.radius_mm))
        and taken.distance(shapely.Point(screw.at_mm)) > screw.radius_mm
    ]
    while spare:
        clamp = clamp_of(site, shell, gas_side)
        if preload_n(clamp) >= need and _spaced(site, clamp):
            break
        held = np.array([*posts, *clamp.at_mm]).reshape(-1, 2)
        best = max(spare, key=lambda one: _off_mm(held, one[1].middle_mm))
        spare.remove(best)
        more = replace(shell, screws=_with_screw(shell, best[0]))
        if preload_n(clamp_of(site, more, gas_side)) > preload_n(clamp):
            shell = more
    return shell


def _spaced(site: ClampSite, clamp: Clamp) -> bool:
    """Whether posts and clamped places stand as near to each other as posts must."""
    checks = post_checks(site.pack, site.cell_layout, site.cell_block.posts, clamp.places_mm)
    return all(check.holds for check in checks)


def _off_mm(held_mm: NDArray[np.float64], at_mm: Point) -> float:
    """Distance of a place from the nearest that is held; without any, all are as far."""
    if not len(held_mm):
        return math.inf
    return round(float(np.hypot(*(held_mm - at_mm).T).min()), 6)


def _cord_at(
    site: ClampSite, free: NDArray[np.bool_], screw: LidScrew, gas_side: Side | None
) -> ClampCord | None:
    """The longest piece of rim beside an insert screw that cord may lie on, about its nearest
    place; None where too little is left. ``free`` (n,): places that nothing else takes."""
    path, (x, y), (u, v) = site.path, screw.at_mm, screw.foot_mm
    if not screw.insert:
        return None
    across = np.array((u - x, v - y)) / math.hypot(u - x, v - y)
    off = path.at_mm - (x, y)
    good = free & (np.abs(off @ (-across[1], across[0])) <= NEAR_SCREW_MM)
    good &= np.abs(off @ across) <= ACROSS_MM
    if gas_side is not None:
        gas = np.array(OUTWARD[gas_side])
        edge = float((site.cell_layout.xy_mm @ gas).max()) - site.cell_layout.pitch_mm / 2
        good &= (path.out @ gas <= GAS_WAY) | (path.at_mm @ gas < edge)
    if not good.any():
        return None
    order = np.roll(np.arange(len(good)), -int(np.argmin(good)))  # no run is cut in two
    runs = np.split(order, np.flatnonzero(np.diff(good[order].astype(np.int8))) + 1)
    run = max((run for run in runs if good[run[0]]), key=len)
    along = path.along_mm[run]
    along = np.where(along < along[0], along + path.round_mm, along)
    middle = float(along[int(np.argmin(np.hypot(*off[run].T)))])
    half = CORD_LONGEST_MM / 2
    low = max(float(along[0]), min(middle, float(along[-1]) - half) - half)
    high = min(float(along[-1]), low + CORD_LONGEST_MM)
    if high - low < CORD_SHORTEST_MM:
        return None
    return ClampCord(arcs=path.between(low, high), screw_mm=screw.at_mm)


def _discs(site: ClampSite, gas_side: Side | None) -> tuple[Point, ...]:
    """Saddles on the side where gas leaves."""
    if gas_side is None:
        return ()
    out = np.array(OUTWARD[gas_side])
    edge = float((site.cell_layout.xy_mm @ out).max()) - site.cell_layout.pitch_mm / 2
    return tuple(at for at in site.saddles if float(out @ at) > edge)


def _more_screws(site: ClampSite, shell: ShellPlan, gas_side: Side) -> Iterator[LidScrew]:
    """Insert screws that could stand in the wall's hollows between two cells, or before a crest,
    off the side where gas leaves."""
    wall = loop_polygon(shell.inner.loop).exterior
    for seat in shell.inner.seats:
        if max(seat.figures) < len(site.cell_layout.xy_mm):
            (x, y), foot = seat.centre_mm, _nearest(wall, seat.centre_mm)
            way = np.subtract(seat.centre_mm, foot)
            side = max(OUTWARD, key=lambda one: float(way @ np.array(OUTWARD[one])))
            if side is not gas_side:
                yield LidScrew(x_mm=x, y_mm=y, insert=True, foot_mm=foot)
    rim = {one.disc for one in site.cell_block.outline.arcs if one.sweep_rad > 0}
    for disc, side in itertools.product(sorted(rim), OUTWARD):
        if disc < len(site.cell_layout.xy_mm) and side is not gas_side:
            x, y, radius = site.cell_block.outline.discs[disc]
            out = OUTWARD[side]
            yield from _before_crest(shell, wall, (x + radius * out[0], y + radius * out[1]), side)


def _before_crest(
    shell: ShellPlan, wall: shapely.LinearRing, crest_mm: Point, side: Side
) -> Iterator[LidScrew]:
    """Screws straight before a crest: beside the partition in a way that runs past it, or outside
    a straight wall."""
    (x, y), out = crest_mm, OUTWARD[side]
    landings = [room.plan for room in shell.rooms if room.kind is RoomKind.LANDING]
    metal = shapely.union_all([shapely.Point(), *landings])
    for room in shell.rooms:
        near, far = -edge_mm(room.rect.bounds, OPPOSITE[side]), edge_mm(room.rect.bounds, side)
        at = near + INSERT_BOSS_MM - (x * out[0] + y * out[1])
        middle = shapely.Point(x + at * out[0], y + at * out[1])
        if room.kind is RoomKind.WAY and at > 0 and room.plan.contains(middle):
            by = far - near - INSERT_BOSS_MM
            foot = (middle.x + by * out[0], middle.y + by * out[1])
            open_end = wall.distance(shapely.Point(foot)) > EVEN_MM  # into another room
            if open_end or metal.distance(middle) < INSERT_BOSS_MM + OFF_METAL_MM:
                continue
            yield LidScrew(x_mm=middle.x, y_mm=middle.y, insert=True, foot_mm=foot)
    u, v = _nearest(wall, crest_mm)
    ends = [(u + k * STRAIGHT_MM * out[1], v - k * STRAIGHT_MM * out[0]) for k in (-1, 1)]
    aside, before = abs((u - x) * out[1] - (v - y) * out[0]), (u - x) * out[0] + (v - y) * out[1]
    straight = max(wall.distance(shapely.Point(end)) for end in ends) < EVEN_MM
    if straight and aside < EVEN_MM and 0.0 < before < ACROSS_MM:
        at_mm = shapely.Point(u + INSERT_BOSS_MM * out[0], v + INSERT_BOSS_MM * out[1])
        dry = shapely.union_all([shapely.Point(), *(r.plan for r in shell.rooms if r.is_dry)])
        if dry.distance(at_mm) > INSERT_BOSS_MM:
            yield LidScrew(x_mm=at_mm.x, y_mm=at_mm.y, insert=True, foot_mm=(u, v))


def _nearest(wall: shapely.LinearRing, at_mm: Point) -> Point:
    """The nearest place on the wall's inner face."""
    near = wall.interpolate(wall.project(shapely.Point(at_mm)))
    return float(near.x), float(near.y)


def _with_screw(shell: ShellPlan, screw: LidScrew) -> tuple[LidScrew, ...]:
    """The lid's screws and one more, counter-clockwise along the wall, in the place of those
    without an insert that stand too near; as they were where one with an insert does, or a gap
    would be too wide."""
    near = [one for one in shell.screws if math.dist(one.at_mm, screw.at_mm) < APART_MM]
    if any(one.insert for one in near):
        return shell.screws
    wall = loop_polygon(shell.inner.loop).exterior
    screws = [*(one for one in shell.screws if one not in near), screw]
    screws.sort(key=lambda one: float(wall.project(shapely.Point(one.foot_mm))))
    steps = itertools.pairwise([*screws, screws[0]])
    widest = max(math.dist(a.at_mm, b.at_mm) for a, b in steps)
    return tuple(screws) if widest <= PITCH_MM else shell.screws
