"""Discs and rooms grown by a ball: which stretches of their sides bound the union, and where.

A figure is a box grown by a radius; a disc's box has no size. Grown by the ball it keeps its box.
Every side that one figure covers of another is found in closed form, for all pairs at once.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import ArrayLike, NDArray

from layouts.parts.shell import Rect

__all__ = [
    "SHORTEST_MM",
    "TOUCH_MM",
    "Figures",
    "GrownSides",
    "RoundedRect",
    "Stretches",
    "bounding_stretches",
    "figures_of",
    "grown_sides",
    "near_pairs",
]

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]

# Sides that overlap by less only touch: far above float noise; the hollow of the ball between two
# that overlap by more is longer than 1e-4 mm, which slabs, mesh and solid still tell apart.
TOUCH_MM = 1e-7
# A shorter side is left out and its neighbours meet instead: far below anything printed.
SHORTEST_MM = 1e-5
# Discs begin at an angle at which nothing built upright or at 30 or 45 degrees meets them.
DISC_START_RAD = 1.0
SIDES = 8  # of a room: four lines, after each the corner that follows it


@dataclass(frozen=True, slots=True)
class RoundedRect:
    """Plan of a room: an upright rectangle and the radius of its four corners [mm]."""

    rect: Rect
    corner_radius_mm: float


@dataclass(frozen=True, slots=True)
class Figures:
    """Discs first, then rooms: ``centre`` (n, 2), ``half`` box (n, 2), ``radius`` (n,) [mm]."""

    centre: FloatArray
    half: FloatArray
    radius: FloatArray
    discs: int

    def apart_mm(self, i: IntArray, j: IntArray) -> FloatArray:
        """Gap between the figures i and j, pairwise; negative where they overlap."""
        between = np.abs(self.centre[i] - self.centre[j]) - self.half[i] - self.half[j]
        beside: FloatArray = np.hypot(*np.maximum(between, 0.0).T)
        return beside - self.radius[i] - self.radius[j]

    def beyond(self, k: IntArray, points: FloatArray) -> FloatArray:
        """From the box of figure k to each point (m, 2) [mm], as a vector; 0 inside the box."""
        offset = points - self.centre[k]
        away: FloatArray = np.sign(offset) * np.maximum(np.abs(offset) - self.half[k], 0.0)
        return away


@dataclass(frozen=True, slots=True)
class GrownSides:
    """Sides of the grown figures, each walked counter-clockwise round its figure.

    ``start`` (m, 2): where a line begins, or an arc's centre; ``along`` (m, 2): a line's
    direction, 0 for arcs; ``radius`` (m,): an arc's, grown, 0 for lines; ``start_rad`` (m,);
    ``length`` (m,): rad of an arc, mm of a line; ``figure`` (m,).
    """

    start: FloatArray
    along: FloatArray
    radius: FloatArray
    start_rad: FloatArray
    length: FloatArray
    figure: IntArray

    @property
    def normal(self) -> FloatArray:
        """Outward normals (m, 2) of lines; 0 for arcs."""
        return np.column_stack([self.along[:, 1], -self.along[:, 0]])

    def at(self, k: IntArray, way: FloatArray) -> FloatArray:
        """Points (n, 2) [mm] on the sides k, ``way`` (n,) from their beginnings."""
        angle = self.start_rad[k] + way
        turned = self.radius[k, None] * np.column_stack([np.cos(angle), np.sin(angle)])
        points: FloatArray = self.start[k] + way[:, None] * self.along[k] + turned
        return points


@dataclass(frozen=True, slots=True)
class Stretches:
    """Stretches of sides that no other figure covers: side, way at its two ends; all (s,)."""

    side: IntArray
    begin: FloatArray
    end: FloatArray


def figures_of(discs: ArrayLike, rooms: Sequence[RoundedRect]) -> Figures:
    """Columns of all figures; ValueError where there are none or one has no such shape."""
    field = np.asarray(discs, dtype=np.float64)
    if field.size == 0:
        field = np.zeros((0, 3))
    if field.ndim != 2 or field.shape[1] != 3:
        raise ValueError(f"discs: shape {field.shape}, needs (n, 3)")
    plans = np.array(
        [(r.rect.x0, r.rect.y0, r.rect.x1, r.rect.y1, r.corner_radius_mm) for r in rooms],
        dtype=np.float64,
    ).reshape(-1, 5)
    if not len(field) and not len(plans):
        raise ValueError("discs, rooms: give at least one")
    if not (np.isfinite(field).all() and np.isfinite(plans).all()):
        raise ValueError("discs, rooms: every number must be finite")
    corner = plans[:, 4]
    half = (plans[:, 2:4] - plans[:, :2]) / 2 - corner[:, None]
    if (field[:, 2] <= 0).any() or (corner <= 0).any() or (half < -TOUCH_MM).any():
        raise ValueError(
            "discs, rooms: every radius must be above 0 and no corner's above half a side"
        )
    return Figures(
        centre=np.vstack([field[:, :2], (plans[:, :2] + plans[:, 2:4]) / 2]),
        half=np.vstack([np.zeros((len(field), 2)), np.maximum(half, 0.0)]),
        radius=np.concatenate([field[:, 2], corner]),
        discs=len(field),
    )


def near_pairs(figures: Figures, ball_mm: float) -> tuple[IntArray, IntArray]:
    """Ordered pairs (both ways) of figures whose boxes meet once grown by the ball."""
    reach = figures.half + (figures.radius + ball_mm + TOUCH_MM)[:, None]
    boxes = shapely.box(*(figures.centre - reach).T, *(figures.centre + reach).T)
    i, j = shapely.STRtree(boxes).query(boxes)
    return i[i != j], j[i != j]


def grown_sides(figures: Figures, ball_mm: float) -> GrownSides:
    """Sides of all figures grown by the ball: one of a disc, then eight of each room."""
    n = figures.discs
    grown = figures.radius + ball_mm
    centre, half = figures.centre[n:], figures.half[n:]
    rooms = len(centre)
    start = np.zeros((rooms, SIDES, 2))
    along = np.zeros((rooms, SIDES, 2))
    radius = np.zeros((rooms, SIDES))
    first = np.zeros((rooms, SIDES))
    length = np.full((rooms, SIDES), math.pi / 2)
    outward = [(0.0, -1.0), (1.0, 0.0), (0.0, 1.0), (-1.0, 0.0)]
    for k, normal in enumerate(outward):
        way = np.array([-normal[1], normal[0]])
        corner = centre + half * (np.array(normal) + way)
        along[:, 2 * k] = way
        length[:, 2 * k] = 2 * half @ np.abs(way)
        start[:, 2 * k] = centre + half * (np.array(normal) - way) + grown[n:, None] * normal
        start[:, 2 * k + 1] = corner
        radius[:, 2 * k + 1] = grown[n:]
        first[:, 2 * k + 1] = (k - 1) * math.pi / 2
    return GrownSides(
        start=np.vstack([figures.centre[:n], start.reshape(-1, 2)]),
        along=np.vstack([np.zeros((n, 2)), along.reshape(-1, 2)]),
        radius=np.concatenate([grown[:n], radius.ravel()]),
        start_rad=np.concatenate([np.full(n, DISC_START_RAD), first.ravel()]),
        length=np.concatenate([np.full(n, math.tau), length.ravel()]),
        figure=np.concatenate([np.arange(n), n + np.arange(rooms).repeat(SIDES)]),
    )


def bounding_stretches(
    figures: Figures, sides: GrownSides, ball_mm: float, i: IntArray, j: IntArray
) -> Stretches:
    """What of the sides bounds the union of the grown figures, holes' sides too.

    ``i``, ``j``: figures that may meet, as ``near_pairs`` gives them. Of two sides that lie on
    each other the first figure's bounds.
    """
    side, by = _each_side(figures, i, j)
    pair, way = _cut_ways(figures, sides, ball_mm, side, by)
    order = np.lexsort((way, pair))
    pair, way = pair[order], way[order]
    k = np.flatnonzero((pair[1:] == pair[:-1]) & (way[1:] > way[:-1]))
    pair, begin, end = pair[k], way[k], way[k + 1]
    covered = _covered(figures, sides, ball_mm, side[pair], by[pair], (begin + end) / 2)
    return _left_over(figures, sides, side[pair[covered]], begin[covered], end[covered])


def _each_side(figures: Figures, i: IntArray, j: IntArray) -> tuple[IntArray, IntArray]:
    """(side, other figure) for every side of the figures i and the figure j beside it."""
    count = np.where(i < figures.discs, 1, SIDES)
    return _sides_of(figures, i), np.repeat(j, count)


def _sides_of(figures: Figures, k: IntArray) -> IntArray:
    """Numbers of all sides of the figures k, one after the other."""
    n = figures.discs
    count = np.where(k < n, 1, SIDES)
    first = np.where(k < n, k, n + SIDES * (k - n))
    ahead = np.cumsum(count) - count
    numbers: IntArray = np.arange(count.sum()) + np.repeat(first - ahead, count)
    return numbers


def _cut_ways(
    figures: Figures, sides: GrownSides, ball_mm: float, side: IntArray, by: IntArray
) -> tuple[IntArray, FloatArray]:
    """(pair, way): ends of each pair's side, and where the other figure's bound meets it."""
    count = np.where(by < figures.discs, 1, SIDES)
    pair = np.repeat(np.arange(len(side)), count)
    p, q = side[pair], _sides_of(figures, by)
    way = _meeting_ways(sides, p, q)
    k = np.flatnonzero(np.isfinite(way).ravel())
    pair, p, way = pair.repeat(2)[k], p.repeat(2)[k], way.ravel()[k]
    within = (way > 0.0) & (way < sides.length[p])
    pair, p, way = pair[within], p[within], way[within]
    g = by[pair]
    off = np.hypot(*figures.beyond(g, sides.at(p, way)).T) - figures.radius[g] - ball_mm
    met = np.abs(off) <= 2 * TOUCH_MM
    each = np.arange(len(side))
    return (
        np.concatenate([pair[met], each, each]),
        np.concatenate([way[met], np.zeros(len(side)), sides.length[side]]),
    )


def _meeting_ways(sides: GrownSides, p: IntArray, q: IntArray) -> FloatArray:
    """Ways (m, 2) along the sides p to where they meet the circle or line of the sides q.

    Both the same where they only touch; nan where they don't meet.
    """
    result = np.full((len(p), 2), math.nan)
    round_p, round_q = sides.radius[p] > 0, sides.radius[q] > 0
    for chosen, solve in (
        (round_p & round_q, _arc_by_arc),
        (round_p & ~round_q, _arc_by_line),
        (~round_p & round_q, _line_by_arc),
        (~round_p & ~round_q, _line_by_line),
    ):
        k = np.flatnonzero(chosen)
        result[k] = solve(sides, p[k], q[k])
    return result


def _arc_by_arc(sides: GrownSides, p: IntArray, q: IntArray) -> FloatArray:
    r, s = sides.radius[p], sides.radius[q]
    between = sides.start[q] - sides.start[p]
    apart = np.hypot(*between.T)
    outside, within = r + s - apart, apart - np.abs(r - s)
    met = (outside > -TOUCH_MM) & (within > -TOUCH_MM) & (apart > TOUCH_MM)
    cosine = (apart * apart + (r - s) * (r + s)) / np.where(met, 2 * apart * r, 1.0)
    touching = np.minimum(outside, within) <= TOUCH_MM
    return _ways_round(sides, p, np.arctan2(between[:, 1], between[:, 0]), cosine, touching, met)


def _arc_by_line(sides: GrownSides, p: IntArray, q: IntArray) -> FloatArray:
    r, normal = sides.radius[p], sides.normal[q]
    away = ((sides.start[q] - sides.start[p]) * normal).sum(axis=1)
    over = r - np.abs(away)
    towards = np.arctan2(normal[:, 1], normal[:, 0])
    return _ways_round(sides, p, towards, away / r, over <= TOUCH_MM, over > -TOUCH_MM)


def _ways_round(
    sides: GrownSides,
    p: IntArray,
    towards: FloatArray,
    cosine: FloatArray,
    touching: NDArray[np.bool_],
    met: NDArray[np.bool_],
) -> FloatArray:
    """Ways to the two angles on either side of ``towards``, as far off as the cosine says."""
    half = np.arccos(np.clip(np.where(touching, np.sign(cosine), cosine), -1.0, 1.0))
    angles = np.column_stack([towards - half, towards + half]) - sides.start_rad[p, None]
    return np.where(met[:, None], angles % math.tau, math.nan)


def _line_by_arc(sides: GrownSides, p: IntArray, q: IntArray) -> FloatArray:
    offset = sides.start[q] - sides.start[p]
    along = (offset * sides.along[p]).sum(axis=1)
    off = np.abs((offset * sides.normal[p]).sum(axis=1))
    s = sides.radius[q]
    half = np.where(s - off <= TOUCH_MM, 0.0, np.sqrt(np.maximum((s - off) * (s + off), 0.0)))
    ways = np.column_stack([along - half, along + half])
    return np.where((s - off > -TOUCH_MM)[:, None], ways, math.nan)


def _line_by_line(sides: GrownSides, p: IntArray, q: IntArray) -> FloatArray:
    upright = np.abs((sides.along[p] * sides.normal[q]).sum(axis=1)) > 0.5  # else parallel
    way = ((sides.start[q] - sides.start[p]) * sides.along[p]).sum(axis=1)
    return np.where(upright, way, math.nan)[:, None].repeat(2, axis=1)


def _covered(
    figures: Figures,
    sides: GrownSides,
    ball_mm: float,
    p: IntArray,
    g: IntArray,
    way: FloatArray,
) -> NDArray[np.bool_]:
    """Whether figure g covers side p at a way along it that is no meeting of the two."""
    own = sides.figure[p]
    points = sides.at(p, way)
    beyond = figures.beyond(g, points)
    off = np.hypot(*beyond.T) - figures.radius[g] - ball_mm
    facing = (beyond * figures.beyond(own, points)).sum(axis=1) < 0
    result: NDArray[np.bool_] = (off < -TOUCH_MM) | ((off <= TOUCH_MM) & (facing | (g < own)))
    return result


def _left_over(
    figures: Figures, sides: GrownSides, side: IntArray, begin: FloatArray, end: FloatArray
) -> Stretches:
    """What covered stretches leave of all sides, in their order."""
    every = np.arange(len(sides.figure))
    side = np.concatenate([side, every, every])
    begin = np.concatenate([begin, np.zeros(len(every)), sides.length])
    end = np.concatenate([end, np.zeros(len(every)), sides.length])
    order = np.lexsort((begin, side))
    side, begin, end = side[order], begin[order], end[order]
    shift = side * (float(sides.length.max()) + 1.0)  # one side's ways lie all above the last's
    reached = np.maximum.accumulate(end + shift) - shift
    scale = np.where(sides.radius > 0, figures.radius[sides.figure], 1.0)
    free = (side[1:] == side[:-1]) & ((begin[1:] - reached[:-1]) * scale[side[1:]] > SHORTEST_MM)
    k = np.flatnonzero(free)
    return Stretches(side=side[k], begin=reached[k], end=begin[k + 1])
