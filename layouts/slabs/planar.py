"""Planar arrangement: all loops of all regions cut against each other once, exactly.

Every segment is cut wherever another loop crosses, touches or overlaps it. What is left are
pieces that lie wholly inside, wholly outside or on the edge of every loop; each piece is kept
once, with what lies left and right of it.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components
from scipy.spatial import cKDTree

from layouts.slabs.crossings import (
    SNAP_MM,
    Segments,
    cuts,
    meeting_pairs,
    on_segment,
    refuse_self_crossing,
    segments_of,
    touching_points_mm,
)
from layouts.slabs.curves import curve_boxes_mm, curve_points_mm
from layouts.slabs.errors import SolidError
from layouts.slabs.inside import LoopSet
from layouts.slabs.profile import Loop, loop_area_mm2

__all__ = ["SAMPLE_SHARE", "PlanarMap", "arrange"]

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]

# Pieces are sampled here, not in the middle, where by symmetry another curve often touches them.
SAMPLE_SHARE = 0.4142


@dataclass(frozen=True, kw_only=True, slots=True)
class PlanarMap:
    """Pieces of all loops, each once; a piece is a line or a counter-clockwise arc.

    vertices (n, 2), ends (m, 2), circles (m, 3), turns (m, 2): as in ``Body``.
    left, right : region name -> (m,) bool, is a point just left / right of the piece inside.
    touches : (k, 2) [mm], where curves of different loops are tangent away from their ends.
    """

    vertices: FloatArray
    ends: IntArray
    circles: FloatArray
    turns: FloatArray
    left: dict[str, NDArray[np.bool_]]
    right: dict[str, NDArray[np.bool_]]
    touches: FloatArray


def _clusters(points: FloatArray, reach_mm: float) -> IntArray:
    """For each point (any dimension) the lowest index of those joined with it in short steps."""
    near = cKDTree(points).query_pairs(reach_mm, output_type="ndarray")
    lowest = np.arange(len(points))
    if not len(near):
        return lowest
    graph = coo_array((np.ones(len(near), np.int8), near.T), shape=(len(points),) * 2)
    _, label = connected_components(graph, directed=False)
    _, first = np.unique(label, return_index=True)
    result: IntArray = first[label]
    return result


def arrange(regions: Mapping[str, Sequence[Loop]]) -> PlanarMap:
    """Cut all loops of all regions against each other; see the module's words.

    SolidError if a loop is open or crosses itself.
    """
    loops = [loop for region in regions.values() for loop in region]
    names = list(regions)
    region_of = np.repeat(np.arange(len(names)), [len(regions[name]) for name in names])
    if not loops:
        raise SolidError("no region has a loop", remedy="give at least one closed figure")
    segments = segments_of(loops)
    i, j = meeting_pairs(segments)
    same = segments.loop[i] == segments.loop[j]
    refuse_self_crossing(segments, i[same], j[same])
    cut_of, cut_at = cuts(segments, i[~same], j[~same])
    vertices, ends, turns, source, forward = _pieces(segments, cut_of, cut_at)
    circles = segments.circles[source]
    ends, circles, turns, piece, owner, same_way = _unique(
        vertices, ends, circles, turns, segments.loop[source], forward
    )
    ccw = np.array([loop_area_mm2(loop) > 0 for loop in loops])
    inside = _memberships(loops, segments, vertices, ends, circles, turns, piece, owner)
    left = np.zeros((len(names), len(ends)), bool)
    right = np.zeros_like(left)
    at, within = inside
    left[region_of[within], at] = True
    right[region_of[within], at] = True
    on_left = ccw[owner] == same_way
    left[region_of[owner[on_left]], piece[on_left]] = True
    right[region_of[owner[~on_left]], piece[~on_left]] = True
    return PlanarMap(
        vertices=vertices,
        ends=ends,
        circles=circles,
        turns=turns,
        left=dict(zip(names, left, strict=True)),
        right=dict(zip(names, right, strict=True)),
        touches=touching_points_mm(segments, i[~same], j[~same]),
    )


def _pieces(
    segments: Segments, cut_of: IntArray, cut_at: FloatArray
) -> tuple[FloatArray, IntArray, FloatArray, IntArray, NDArray[np.bool_]]:
    """Elementary pieces: vertices, ends, turns, segment each comes from, run as stored or not."""
    n = len(segments.loop)
    whole = segments.whole
    seam = segments.circles[:, :2] + segments.circles[:, 2:] * np.array([1.0, 0.0])
    starts = np.where(whole[:, None], seam, segments.first)
    points = np.vstack([starts, cut_at])
    vertex = _clusters(points, SNAP_MM)
    # (segment, parameter, vertex) of both ends and all cuts; whole circles have cuts only
    open_ = np.flatnonzero(~whole)
    arc = segments.circles[:, 2] > 0
    length = np.where(arc, segments.turns[:, 1], np.hypot(*(segments.last - segments.first).T))
    backward = arc & ~segments.forward  # parameters of arcs run counter-clockwise
    cut_t, _ = on_segment(segments.taken(cut_of), cut_at)
    uncut = np.setdiff1d(np.flatnonzero(whole), cut_of)
    of = np.concatenate([open_, open_, cut_of, uncut])
    t = np.concatenate(
        [
            np.where(backward, length, 0.0)[open_],
            np.where(backward, 0.0, length)[open_],
            cut_t,
            np.zeros(len(uncut)),
        ]
    )
    v = np.concatenate([vertex[open_], vertex[segments.after[open_]], vertex[n:], vertex[uncut]])
    order = np.lexsort((t, of))
    of, t, v = of[order], t[order], v[order]
    fresh = np.ones(len(of), bool)
    fresh[1:] = (of[1:] != of[:-1]) | (v[1:] != v[:-1])
    of, t, v = of[fresh], t[fresh], v[fresh]
    of, t, v, begin, end = _closed_circles(whole, of, t, v)
    here = np.flatnonzero(of[:-1] == of[1:]) if len(of) > 1 else np.empty(0, np.int64)
    round_ = whole[of[begin]]
    source = np.concatenate([of[here], of[begin[round_]]])
    v0 = np.concatenate([v[here], v[end[round_]]])
    v1 = np.concatenate([v[here + 1], v[begin[round_]]])
    t0 = np.concatenate([t[here], t[end[round_]]])
    t1 = np.concatenate([t[here + 1], t[begin[round_]] + math.tau])
    used, renumbered = np.unique(np.concatenate([v0, v1]), return_inverse=True)
    v0, v1 = renumbered[: len(v0)], renumbered[len(v0) :]
    vertices = points[used]
    is_arc = arc[source]
    turns = np.zeros((len(source), 2))
    turns[:, 0] = np.where(is_arc, segments.turns[source, 0] + t0, 0.0)
    turns[:, 1] = np.where(is_arc, t1 - t0, 0.0)
    _settle(vertices, v0, v1, segments.circles[source], turns)
    swap = ~is_arc & (v0 > v1)  # a line is stored from its lower vertex number to its higher
    ends = np.column_stack([np.where(swap, v1, v0), np.where(swap, v0, v1)])
    forward = np.where(is_arc, segments.forward[source], ~swap)
    return vertices, ends, turns, source, forward


def _closed_circles(
    whole: NDArray[np.bool_], of: IntArray, t: FloatArray, v: IntArray
) -> tuple[IntArray, FloatArray, IntArray, IntArray, IntArray]:
    """Cuts without a whole circle's last where it is its first, and each segment's row range."""
    # a whole circle closes: its last cut runs on to its first
    begin = np.flatnonzero(np.r_[True, of[1:] != of[:-1]])
    end = np.r_[begin[1:], len(of)] - 1
    closing = whole[of[begin]] & (end > begin) & (v[begin] == v[end])
    if closing.any():
        stay = np.ones(len(of), bool)
        stay[end[closing]] = False
        of, t, v = of[stay], t[stay], v[stay]
        begin = np.flatnonzero(np.r_[True, of[1:] != of[:-1]])
        end = np.r_[begin[1:], len(of)] - 1
    return of, t, v, begin, end


def _settle(
    vertices: FloatArray, v0: IntArray, v1: IntArray, circles: FloatArray, turns: FloatArray
) -> None:
    """Take the arcs' angles from their vertices, which may have moved by a snap."""
    k = np.flatnonzero((circles[:, 2] > 0) & (v0 != v1))
    for column, v in ((0, v0), (1, v1)):
        offset = vertices[v[k]] - circles[k, :2]
        angle = np.arctan2(offset[:, 1], offset[:, 0])
        old = turns[k, 0] if column == 0 else turns[k, 0] + turns[k, 1]
        drift = (angle - old + math.pi) % math.tau - math.pi
        if column == 0:
            turns[k, 0] += drift
            turns[k, 1] -= drift
        else:
            turns[k, 1] += drift


def _unique(
    vertices: FloatArray,
    ends: IntArray,
    circles: FloatArray,
    turns: FloatArray,
    loop: IntArray,
    forward: NDArray[np.bool_],
) -> tuple[IntArray, FloatArray, FloatArray, IntArray, IntArray, NDArray[np.bool_]]:
    """Coincident pieces once; then piece number, loop and direction of every owner."""
    pair = np.sort(ends, axis=1)
    key = pair[:, 0] * len(vertices) + pair[:, 1]
    _, inverse, count = np.unique(key, return_inverse=True, return_counts=True)
    maybe = np.flatnonzero(count[inverse] > 1)
    representative = np.arange(len(ends))
    if len(maybe):
        middle = curve_points_mm(vertices, ends[maybe], circles[maybe], turns[maybe])
        # the pair of ends is a third coordinate, so that only pieces between the same ends join
        spread = np.column_stack([middle, inverse[maybe]])
        representative[maybe] = maybe[_clusters(spread, 4 * SNAP_MM)]
    kept, piece = np.unique(representative, return_inverse=True)
    flipped = (circles[representative, 2] == 0) & (ends[representative, 0] != ends[:, 0])
    return ends[kept], circles[kept], turns[kept], piece, loop, forward ^ flipped


def _memberships(
    loops: Sequence[Loop],
    segments: Segments,
    vertices: FloatArray,
    ends: IntArray,
    circles: FloatArray,
    turns: FloatArray,
    piece: IntArray,
    owner: IntArray,
) -> tuple[IntArray, IntArray]:
    """Pairs (piece, loop): the piece lies wholly inside that loop, not on its edge."""
    sample = curve_points_mm(vertices, ends, circles, turns, SAMPLE_SHARE)
    reverse = ~segments.forward[:, None]
    low, high = curve_boxes_mm(
        np.where(reverse, segments.last, segments.first),
        np.where(reverse, segments.first, segments.last),
        segments.circles,
        segments.turns,
    )
    begin = np.flatnonzero(np.r_[True, segments.loop[1:] != segments.loop[:-1]])
    low, high = np.minimum.reduceat(low, begin), np.maximum.reduceat(high, begin)
    boxes = shapely.box(low[:, 0], low[:, 1], high[:, 0], high[:, 1])
    at, loop = shapely.STRtree(boxes).query(shapely.points(sample))
    count = len(loops)
    foreign = ~np.isin(at * count + loop, piece * count + owner)
    at, loop = at[foreign], loop[foreign]
    round_ = segments.whole[begin][loop]
    inside = np.zeros(len(at), bool)
    k = np.flatnonzero(round_)
    circle = segments.circles[begin][loop[k]]
    inside[k] = np.hypot(*(sample[at[k]] - circle[:, :2]).T) < circle[:, 2]
    k = np.flatnonzero(~round_)
    signed = np.column_stack(
        [
            np.where(
                segments.forward, segments.turns[:, 0], segments.turns[:, 0] + segments.turns[:, 1]
            ),
            np.where(segments.forward, 1.0, -1.0) * segments.turns[:, 1],
        ]
    )
    crossings = LoopSet(
        segments.first, segments.last, segments.circles, signed, segments.loop, count
    )
    inside[k] = crossings.contains(sample[at[k]], loop[k])
    return at[inside], loop[inside]
