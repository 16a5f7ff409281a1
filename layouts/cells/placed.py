"""Cells placed and grouped in the outline of a space: where the space itself is the case.

Places come from ``layouts.placing``, groups from ``layouts.grouping``. Pack coordinates follow:
rows of the lattice along x, turned so that +x, where the main leads leave, comes closest to the
required side."""

from __future__ import annotations

from dataclasses import replace
from math import ceil, sqrt

import numpy as np
import shapely

from layouts.cells.deck import check_deck, deck_mm
from layouts.cells.placed_cells import PlacedCells
from layouts.cells.sharing import Share, sharing_cost
from layouts.cells.site_choice import TURNS_DEG, lattice_sites, subset, turn_deg, without
from layouts.cells.spacing import BARRIER_WEB_MM, FULL_PACK_MM, HIGH_VOLTS
from layouts.errors import PlanError
from layouts.grouping.group import group_sites
from layouts.grouping.values import Grouping, Wishes
from layouts.pack import Pack
from layouts.parts.tie_screw import post_disc_mm, post_reach_mm
from layouts.placing.basis import rotation
from layouts.placing.place import decks, place_most, place_number
from layouts.placing.values import Effort, PlacedCentres
from layouts.spaces.regions import free_region
from layouts.spaces.space import Prism, Space

__all__ = [
    "decks_in",
    "most_placed",
    "place_cells",
    "post_room_mm",
    "reach_mm",
]

POST_CLEAR_MM = 0.5  # between a post's bulge and a wall; common practice, no source
SPARE_RATIO = 0.04  # sites more than needed that the grouping may choose from
SPARE_LEAST = 2
LEVELS_MOST = 24  # heights at which a deck is tried in a space that is no prism


def reach_mm(pack: Pack) -> float:
    """Least distance from a wall of the space to a cell's centre: pocket, wall, side gap."""
    return pack.pocket_mm / 2 + pack.holder.wall_mm + pack.enclosure.side_gap_mm


def decks_in(pack: Pack, space: Space) -> int:
    """Layers of cells that the space's height takes."""
    return decks(space.box_mm[2], deck_mm=deck_mm(pack))


def _level(pack: Pack, space: Space) -> tuple[float, shapely.Polygon | shapely.MultiPolygon]:
    """The lowest height at which a deck finds most free plan, and that plan."""
    deck, low, room = deck_mm(pack), space.low_mm[2], space.box_mm[2]
    check_deck(pack, space)
    if isinstance(space.room, Prism) and not space.keep_out:
        return low, free_region(space, low, low + deck)
    tried = np.linspace(low, low + room - deck, LEVELS_MOST)
    found = [(free_region(space, float(z), float(z) + deck), float(z)) for z in tried]
    best = max(found, key=lambda one: (round(one[0].area, 3), -one[1]))
    return best[1], best[0]


def most_placed(pack: Pack, effort: Effort = Effort.QUICK) -> PlacedCentres:
    """The most cells that go into the pack's space, of whatever number and groups. Raises PlanError
    where the space is too low for one layer."""
    assert pack.space is not None
    return place_most(
        _level(pack, pack.space)[1],
        pitch_mm=pack.pitch_mm,
        reach_mm=reach_mm(pack),
        lattice=pack.lattice,
        shifted=False,
        effort=effort,
    )


def place_cells(
    pack: Pack,
    *,
    effort: Effort = Effort.QUICK,
    grown_mm: float = 0.0,
    share: Share,
) -> PlacedCells:
    """Place and group a pack's cells in its space.

    ``grown_mm``: space kept free on every side for a lattice that is widened afterwards. ``share``:
    gives how cells share the load; of several groupings the one that shares best is taken. Where
    touching groups are so far apart in volts that a barrier must stand between their cells, all is
    placed anew with the wider web that it needs. Raises PlanError where the cells don't go in,
    naming what would."""
    asked = pack
    placed = _placed(asked, effort, grown_mm, share)
    for _ in range(2):  # a wider web makes another field, which may need the widest one
        web = _needed_web_mm(asked, placed)
        if web <= pack.holder.web_mm + 1e-9:
            return placed
        pack = replace(pack, holder=replace(pack.holder, web_mm=web))
        placed = _placed_again(pack, effort, grown_mm, share)
    return placed


def _placed_again(pack: Pack, effort: Effort, grown_mm: float, share: Share) -> PlacedCells:
    """Placed with a wider web, which shall do: first and last group are kept from touching.

    Else the widest web would be needed, and all placed once more. Where that can't be had, the
    groups are free again.
    """
    limit = (pack.series - 1.5) * pack.cell.full_v
    asked = pack.grouping.volts_limit
    if pack.holder.web_mm < FULL_PACK_MM and (asked is None or asked > limit):
        apart = replace(pack, grouping=replace(pack.grouping, volts_limit=limit))
        try:
            return _placed(apart, effort, grown_mm, share)
        except PlanError as error:
            if error.field != "grouping.volts_limit":
                raise
    return _placed(pack, effort, grown_mm, share)


def _needed_web_mm(pack: Pack, placed: PlacedCells) -> float:
    """Web that the voltage between touching groups requires."""
    group, pairs = placed.group, placed.neighbours
    step = np.abs(group[pairs[:, 0]] - group[pairs[:, 1]])
    high = step * pack.cell.full_v > HIGH_VOLTS
    if not high.any():
        return pack.holder.web_mm
    full = bool((step[high] == pack.series - 1).any())
    return max(pack.holder.web_mm, FULL_PACK_MM if full else BARRIER_WEB_MM)


def _placed(pack: Pack, effort: Effort, grown_mm: float, share: Share) -> PlacedCells:
    space = pack.space
    assert space is not None
    level, cavity = _level(pack, space)
    count = pack.series * pack.parallel
    roomy = max(reach_mm(pack), post_room_mm(pack)) + grown_mm
    most, chosen = _chosen(pack, cavity, roomy, effort)
    if most.count < count:  # tighter: posts then stand where the outline allows
        most, chosen = _chosen(pack, cavity, reach_mm(pack) + grown_mm, effort)
    if most.count < count:
        raise _too_few(pack, most, count)
    wishes = _wishes(pack, chosen)
    efforts = (Effort.QUICK,) if effort is Effort.QUICK else (Effort.BEST, Effort.QUICK)
    found = []
    for one in efforts:
        try:
            found.append(
                group_sites(
                    chosen.xy_mm,
                    chosen.neighbours,
                    series=pack.series,
                    parallel=pack.parallel,
                    wishes=wishes,
                    effort=one,
                )
            )
        except PlanError:
            if one is effort:
                raise
    made = [_in_pack(pack, space, level, cavity, most, chosen, grouping) for grouping in found]
    return min(made, key=lambda placed: sharing_cost(pack, placed, share(pack, placed)))


def post_room_mm(pack: Pack) -> float:
    """Distance from a wall to the cells along it at which tie posts stand between the two."""
    half = pack.pitch_mm / 2
    high = sqrt(max(post_reach_mm(pack) ** 2 - half**2, 0.0))
    return high + post_disc_mm(pack) + POST_CLEAR_MM


def _chosen(
    pack: Pack,
    cavity: shapely.Polygon | shapely.MultiPolygon,
    reach: float,
    effort: Effort,
) -> tuple[PlacedCentres, PlacedCentres]:
    """The most that go in, and the sites that the grouping may take."""
    count = pack.series * pack.parallel
    spare = max(SPARE_LEAST, ceil(count * SPARE_RATIO))
    forbidden = np.array(pack.grouping.exclude_mm).reshape(-1, 2)
    most = place_most(
        cavity,
        pitch_mm=pack.pitch_mm,
        reach_mm=reach,
        lattice=pack.lattice,
        free=pack.free_spacing,
        shifted=pack.free_spacing,
        effort=effort,
    )
    most = without(most, forbidden, pack.pitch_mm)
    if most.count <= count + spare:
        return most, most
    chosen = place_number(
        cavity,
        count + spare,
        pitch_mm=pack.pitch_mm,
        reach_mm=reach,
        lattice=pack.lattice,
        free=pack.free_spacing,
        shifted=pack.free_spacing,
        effort=effort,
    )
    chosen = without(chosen, forbidden, pack.pitch_mm)
    return most, most if chosen.count < count else chosen


def _too_few(pack: Pack, most: PlacedCentres, count: int) -> PlanError:
    """The cells don't go in: what would."""
    parallel = most.count // pack.series
    remedy = (
        f"use parallel: {parallel}"
        if parallel
        else f"use at most {most.count} cells in series, or another space"
    )
    return PlanError(
        field="space",
        value=f"{most.count} of {count} cells fit, upper bound {most.bound}",
        why="is too small for the pack in one layer",
        remedy=remedy,
    )


def _wishes(pack: Pack, placed_centres: PlacedCentres) -> Wishes:
    """The pack file's wishes in terms of the placed sites."""
    asked = pack.grouping
    pinned: dict[int, int] = {}
    for number, pin in enumerate(asked.pins, start=1):
        apart = np.hypot(*(placed_centres.xy_mm - pin.at_mm).T)
        cell = int(apart.argmin())
        name = f"entry {number}, ({pin.at_mm[0]:g}, {pin.at_mm[1]:g})"
        if apart[cell] > pack.pitch_mm / 2:
            raise PlanError(
                field="grouping.pins",
                value=name,
                why=f"has no cell within half a pitch, the nearest is {apart[cell]:.1f} mm away",
                remedy="give the position of a cell",
            )
        if pinned.setdefault(cell, pin.group) != pin.group:
            raise PlanError(
                field="grouping.pins",
                value=name,
                why=f"pins a cell to group {pin.group} that is pinned to {pinned[cell]} already",
                remedy="delete one of the two",
            )
    sides = (asked.minus_side or pack.leads.side, asked.plus_side or pack.leads.side)
    first, last = (np.radians(TURNS_DEG[side]) for side in sides)
    return Wishes(
        voltage_weight=asked.voltage_weight,
        full_v=pack.cell.full_v,
        volts_limit=asked.volts_limit,
        minus_side=(round(float(np.cos(first)), 9), round(float(np.sin(first)), 9)),
        plus_side=(round(float(np.cos(last)), 9), round(float(np.sin(last)), 9)),
        pinned=pinned,
    )


def _in_pack(
    pack: Pack,
    space: Space,
    level: float,
    cavity: shapely.Polygon | shapely.MultiPolygon,
    most: PlacedCentres,
    chosen: PlacedCentres,
    grouping: Grouping,
) -> PlacedCells:
    """From the space's plan to pack coordinates, cells in the arrangement's order."""
    used = np.flatnonzero(grouping.group > 0)
    chosen = subset(chosen, used)
    group = grouping.group[used]
    turn = turn_deg(pack, chosen)
    xy = chosen.xy_mm @ rotation(turn)  # rows times the matrix: turned back by the angle
    sites = lattice_sites(pack, xy) if chosen.sites is not None else None
    key = xy if sites is None else sites
    order = np.lexsort((np.round(key[:, 0], 6), np.round(key[:, 1], 6), group))
    rank = np.empty(len(order), dtype=np.int64)
    rank[order] = np.arange(len(order))
    xy = xy[order]
    middle = (xy.min(axis=0) + xy.max(axis=0)) / 2
    pairs = np.sort(rank[chosen.neighbours.reshape(-1, 2)], axis=1)
    x, y = (rotation(turn) @ middle).tolist()
    return PlacedCells(
        xy_mm=xy - middle,
        sites=None if sites is None else sites[order],
        group=group[order],
        neighbours=pairs[np.lexsort((pairs[:, 1], pairs[:, 0]))],
        turn_deg=turn,
        origin_mm=(x, y, level + pack.holder.lip_mm + pack.enclosure.gas_gap_mm),
        web_mm=pack.holder.web_mm,
        most=most.count,
        bound=most.bound,
        bound_name=most.bound_name,
        method=chosen.method,
        decks=decks_in(pack, space),
        grouping=grouping,
        cavity=cavity,
    )
