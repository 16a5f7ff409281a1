"""Which of the possible sites a pack of a given size takes: together, round, central, low."""

from __future__ import annotations

import heapq
from dataclasses import dataclass
from math import pi, sqrt

import numpy as np
import scipy.sparse as sp
import shapely
from numpy.typing import NDArray

from layouts.placing.region import Region, confirmed

__all__ = ["centred", "chosen_sites", "compact_cost", "form_cost", "gaps_in", "neighbour_lists"]

Array = NDArray[np.float64]
Neighbours = list[list[int]]

CENTRAL = 0.25  # weight of the mass's way from the middle, against roundness; common practice,
LOW = 0.5  # no source: likewise of its height, where a way down is given
HOLE = 0.5  # likewise of each thing that the pack closes round: it could not be put in then
RIM = 0.2  # likewise of open sides, a cell's links that lead nowhere, over sqrt(cells)
MOST_STARTS = 48  # middles from which a set is grown
MOST_SWAPS, TRIED = 64, 6  # swaps in a row; sites looked at on either side of one
GROWN_SITES = 40_000  # sites touched by all growing together: fewer starts in large fields


def chosen_sites(
    xy_mm: Array,
    pairs: NDArray[np.int64],
    count: int,
    *,
    middle_mm: Array,
    pitch_mm: float,
    low: tuple[float, float] | None = None,
) -> NDArray[np.int64]:
    """Indices (count,), rising, of the set with the least ``compact_cost`` found.

    ``pairs`` (m, 2): which sites touch. The set is connected wherever one part of the sites
    holds that many; else whole parts are taken, the largest first. Sets are grown site by
    touching site, nearest to a middle first, from middles all over the field, and the best is
    improved by single swaps. Sets that close round a gap are taken only where the rest is worse.
    """
    neighbours = neighbour_lists(len(xy_mm), pairs)
    parts = _parts(neighbours)
    large = [part for part in parts if len(part) >= count]
    if not large:
        taken: list[int] = []
        for part in parts:
            room = count - len(taken)
            taken += part if len(part) <= room else _grown(xy_mm, neighbours, part[0], room)
        return np.array(sorted(taken[:count]), dtype=np.int64)

    ask = _Ask(middle_mm=middle_mm, pitch_mm=pitch_mm, low=low)
    best: list[int] = []
    least = np.inf
    for part in large:
        for start in _starts(xy_mm, part, count, middle_mm):
            found = _grown(xy_mm, neighbours, start, count)
            paid = ask.cost(xy_mm[found]) + form_cost(neighbours, found)
            if paid < least - 1e-12:
                best, least = found, paid
    return np.array(sorted(_swapped(xy_mm, neighbours, best, ask)), dtype=np.int64)


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class _Ask:
    """What a pack's form is judged by."""

    middle_mm: Array
    pitch_mm: float
    low: tuple[float, float] | None

    def cost(self, xy_mm: Array) -> float:
        """``compact_cost``."""
        return compact_cost(xy_mm, middle_mm=self.middle_mm, pitch_mm=self.pitch_mm, low=self.low)

    def worth(self, xy_mm: Array, chosen_mm: Array) -> list[float]:
        """(n,) what each site adds to the cost of a set, to first order, times its size."""
        mean, round_mm = chosen_mm.mean(axis=0), _round_mm(len(chosen_mm), self.pitch_mm)
        slope = CENTRAL * 2 * (mean - self.middle_mm) / round_mm**2
        if self.low is not None:
            slope = slope - LOW * np.asarray(self.low) / np.hypot(*self.low) / round_mm
        spread = 2 * ((xy_mm - mean) ** 2).sum(axis=1) / round_mm**2
        added: list[float] = (spread + (xy_mm - mean) @ slope).round(9).tolist()
        return added


def compact_cost(
    xy_mm: Array,
    *,
    middle_mm: Array,
    pitch_mm: float,
    low: tuple[float, float] | None = None,
) -> float:
    """How far from compact, central and low a pack is (no unit; 1 is round and central).

    Second moment against that of a round honeycomb, plus the mass's distance from the middle
    and its height, both against the radius of that round pack.
    """
    mean, round_mm = xy_mm.mean(axis=0), _round_mm(len(xy_mm), pitch_mm)
    spread = float(((xy_mm - mean) ** 2).sum()) / (len(xy_mm) * round_mm**2 / 2)
    away = float(((mean - middle_mm) ** 2).sum()) / round_mm**2
    height = 0.0
    if low is not None:
        height = -float((mean - middle_mm) @ np.asarray(low) / np.hypot(*low)) / round_mm
    return spread + CENTRAL * away + LOW * height


def _round_mm(count: int, pitch_mm: float) -> float:
    """Radius of a round honeycomb pack, from its area."""
    return sqrt(count * sqrt(3) / 2 / pi) * pitch_mm


def centred(region: Region, xy_mm: Array, *, pitch_mm: float) -> Array:
    """The centres shifted together so that the smallest distance to a wall is largest nearby.

    A compass search: steps of a quarter pitch along x and y, halved down to 1 um.
    """
    if not len(xy_mm):
        return xy_mm
    walls = region.cavity.boundary
    shapely.prepare(walls)
    near = xy_mm[shapely.distance(shapely.points(xy_mm), walls) < region.reach_mm + pitch_mm]
    if not len(near):
        return xy_mm

    def room(shift: Array) -> float:
        at = near + shift
        if not shapely.contains_xy(region.cavity, at[:, 0], at[:, 1]).all():
            return -np.inf
        return float(shapely.distance(shapely.points(at), walls).min())

    shift, step = np.zeros(2), pitch_mm / 4
    most = room(shift)
    ways = np.array([[1, 0], [0, 1], [-1, 0], [0, -1], [1, 1], [-1, 1], [-1, -1], [1, -1]])
    while step > 1e-3:
        rooms = [room(shift + step * way) for way in ways]
        at = int(np.argmax(rooms))
        if rooms[at] > most + 1e-9:
            shift, most = shift + step * ways[at], rooms[at]
        else:
            step /= 2
    moved = xy_mm + shift
    return moved if confirmed(region, moved).all() else xy_mm


def neighbour_lists(count: int, pairs: NDArray[np.int64]) -> Neighbours:
    """For each site those that it touches, from pairs (m, 2)."""
    found: Neighbours = [[] for _ in range(count)]
    for a, b in pairs.tolist():
        found[a].append(b)
        found[b].append(a)
    return found


def _parts(neighbours: Neighbours) -> list[list[int]]:
    """Connected parts, the largest first, each in rising order."""
    seen = [False] * len(neighbours)
    found = []
    for first in range(len(neighbours)):
        if seen[first]:
            continue
        seen[first] = True
        part = [first]
        for site in part:
            for other in neighbours[site]:
                if not seen[other]:
                    seen[other] = True
                    part.append(other)
        found.append(sorted(part))
    return sorted(found, key=lambda part: (-len(part), part[0]))


def _starts(xy_mm: Array, part: list[int], count: int, middle_mm: Array) -> list[int]:
    """Sites of a part to grow from: nearest the middle, and others evenly over it."""
    most = int(np.clip(GROWN_SITES // count, 4, MOST_STARTS))
    order = np.array(part)
    away = ((xy_mm[order] - middle_mm) ** 2).sum(axis=1)
    ranked = order[np.argsort(away, kind="stable")]
    return [int(one) for one in ranked[:: max(1, -(-len(ranked) // most))]]


def _grown(xy_mm: Array, neighbours: Neighbours, start: int, count: int) -> list[int]:
    """A connected set: the touching site nearest to the start next, ``count`` in all."""
    away = ((xy_mm - xy_mm[start]) ** 2).sum(axis=1).round(6).tolist()
    heap = [(0.0, start)]
    seen = {start}
    found: list[int] = []
    while heap and len(found) < count:
        _, site = heapq.heappop(heap)
        found.append(site)
        for other in neighbours[site]:
            if other not in seen:
                seen.add(other)
                heapq.heappush(heap, (away[other], other))
    return found


def _swapped(xy_mm: Array, neighbours: Neighbours, chosen: list[int], ask: _Ask) -> list[int]:
    """The set improved by swapping one site for a touching one, still connected."""
    inside = set(chosen)
    paid, gaps = ask.cost(xy_mm[sorted(inside)]), gaps_in(neighbours, chosen)
    per_link = RIM / sqrt(len(inside))
    for _ in range(MOST_SWAPS):
        worth = ask.worth(xy_mm, xy_mm[sorted(inside)])
        rim = {other for site in inside for other in neighbours[site]} - inside
        cheap = sorted(rim, key=lambda site: (worth[site], site))[:TRIED]
        dear = sorted(inside, key=lambda site: (-worth[site], site))[:TRIED]
        swaps = sorted(
            (
                ask.cost(xy_mm[sorted(inside - {leaves} | {enters})])
                + per_link * _opened(neighbours, inside, leaves, enters),
                leaves,
                enters,
            )
            for leaves in dear
            for enters in cheap
            if worth[enters] < worth[leaves]
        )
        for cost, leaves, enters in swaps:
            after = inside - {leaves} | {enters}
            if cost >= paid - 1e-9 or not _connected(neighbours, after):
                continue
            after_gaps = gaps_in(neighbours, sorted(after))
            if after_gaps <= gaps:
                inside, gaps = after, after_gaps
                paid = ask.cost(xy_mm[sorted(inside)])
                break
        else:
            break
    return sorted(inside)


def form_cost(neighbours: Neighbours, chosen: list[int]) -> float:
    """What a connected set's form adds to ``compact_cost``: its open sides and gaps."""
    ways = max((len(others) for others in neighbours), default=0)
    inside = set(chosen)
    links = sum(other in inside for site in chosen for other in neighbours[site]) / 2
    lost = len(chosen) * ways / 2 - links
    return RIM * lost / sqrt(len(chosen)) + HOLE * gaps_in(neighbours, chosen)


def _opened(neighbours: Neighbours, inside: set[int], leaves: int, enters: int) -> int:
    """Links that a swap opens, less those it makes."""
    lost = sum(other in inside for other in neighbours[leaves])
    return lost - sum(other in inside and other != leaves for other in neighbours[enters])


def gaps_in(neighbours: Neighbours, chosen: list[int]) -> int:
    """Gaps that a connected set of lattice sites closes round: holes or things in the way.

    Euler's formula: 1 - sites + links - faces, faces being the triangles of a honeycomb or, where
    there are none, the squares of a grid.
    """
    place = {site: at for at, site in enumerate(chosen)}
    links = [(place[a], place[b]) for a in chosen for b in neighbours[a] if b in place]
    if not links:
        return 0
    at = np.array(links).T
    touch = sp.csr_matrix((np.ones(len(links)), (at[0], at[1])), shape=(len(chosen),) * 2)
    ways = touch @ touch
    faces = float(ways.multiply(touch).sum()) / 6
    if faces == 0:
        between = sp.triu(ways, k=1).data
        faces = float((between * (between - 1) / 2).sum()) / 2
    return max(0, round(1 - len(chosen) + len(links) / 2 - faces))


def _connected(neighbours: Neighbours, inside: set[int]) -> bool:
    """Whether a set of sites hangs together."""
    first = min(inside)
    seen, ahead = {first}, [first]
    while ahead:
        for other in neighbours[ahead.pop()]:
            if other in inside and other not in seen:
                seen.add(other)
                ahead.append(other)
    return len(seen) == len(inside)
