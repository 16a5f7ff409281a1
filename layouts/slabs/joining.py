"""Pieces that only shapes without effect have cut apart are joined again."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

__all__ = ["Pieces", "joined"]

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]
BoolArray = NDArray[np.bool_]
# vertices, ends, circles, turns, material left and right (slabs, pieces)
Pieces = tuple[FloatArray, IntArray, FloatArray, FloatArray, BoolArray, BoolArray]

# Arcs whose centres and radii agree this well are parts of one circle.
SAME_CIRCLE_MM = 1e-7
# Lines whose directions agree this well (sine) are parts of one line: 5e-7 mm at 500 mm.
SAME_LINE_SINE = 1e-9


def joined(pieces: Pieces) -> Pieces:
    """Join neighbours on one line or circle where nothing else ends and material is alike.

    Arrays as in ``Body``; material: (slabs, pieces) bool. A circle joined to a whole one begins
    at angle 0. Vertices that nothing uses any more drop out.
    """
    vertices, ends, circles, turns, left, right = pieces
    p, q = _continued(vertices, ends, circles, left, right)
    if not len(p):
        return _compact(pieces)
    graph = coo_array((np.ones(len(p), np.int8), (p, q)), shape=(len(ends),) * 2)
    _, label = connected_components(graph, directed=False)
    order = np.argsort(label, kind="stable")
    begin = np.flatnonzero(np.r_[True, np.diff(label[order]) != 0])
    size = np.diff(np.r_[begin, len(order)])
    links = np.bincount(label[p], minlength=len(size))
    ends, circles, turns = ends.copy(), circles.copy(), turns.copy()
    stays = np.ones(len(ends), bool)
    extra: list[tuple[float, float]] = []
    for component in np.flatnonzero(size > 1).tolist():
        members = order[begin[component] : begin[component] + size[component]]
        head = int(members[0])
        stays[members[1:]] = False
        if links[component] == size[component]:  # goes all the way round: a whole circle
            cx, cy, radius = circles[head]
            extra.append((float(cx) + float(radius), float(cy)))
            ends[head] = len(vertices) + len(extra) - 1
            turns[head] = (0.0, math.tau)
        elif circles[head, 2] > 0:
            starts, stops = ends[members, 0], ends[members, 1]
            first = members[~np.isin(starts, stops)][0]
            last = members[~np.isin(stops, starts)][0]
            sweep = math.fsum(turns[members, 1].tolist())
            ends[head] = (ends[first, 0], ends[last, 1])
            turns[head] = (turns[first, 0], sweep)
        else:
            values, count = np.unique(ends[members], return_counts=True)
            a, b = values[count == 1]
            way = vertices[ends[head, 1]] - vertices[ends[head, 0]]
            ends[head] = (a, b) if way @ (vertices[b] - vertices[a]) > 0 else (b, a)
    if extra:
        vertices = np.vstack([vertices, np.array(extra)])
    return _compact(
        (vertices, ends[stays], circles[stays], turns[stays], left[:, stays], right[:, stays])
    )


def _continued(
    vertices: FloatArray, ends: IntArray, circles: FloatArray, left: BoolArray, right: BoolArray
) -> tuple[IntArray, IntArray]:
    """Pairs of pieces that go on into each other."""
    count = np.bincount(ends.ravel(), minlength=len(vertices))
    order = np.argsort(ends.ravel(), kind="stable")
    begin = np.cumsum(count) - count
    two = np.flatnonzero(count == 2)
    p, q = order[begin[two]] // 2, order[begin[two] + 1] // 2
    k = p != q
    p, q, at = p[k], q[k], two[k]
    p_arrives, q_arrives = ends[p, 1] == at, ends[q, 1] == at
    same_way = p_arrives != q_arrives
    alike = np.where(
        same_way[None, :],
        (left[:, p] == left[:, q]) & (right[:, p] == right[:, q]),
        (left[:, p] == right[:, q]) & (right[:, p] == left[:, q]),
    ).all(axis=0)
    arcs = (circles[p, 2] > 0) & (circles[q, 2] > 0)
    one_circle = arcs & (np.abs(circles[p] - circles[q]) < SAME_CIRCLE_MM).all(axis=1) & same_way
    u = vertices[at] - vertices[np.where(p_arrives, ends[p, 0], ends[p, 1])]
    w = vertices[np.where(q_arrives, ends[q, 0], ends[q, 1])] - vertices[at]
    size = np.hypot(*u.T) * np.hypot(*w.T)
    bent = np.abs(u[:, 0] * w[:, 1] - u[:, 1] * w[:, 0]) > SAME_LINE_SINE * size
    one_line = (circles[p, 2] == 0) & (circles[q, 2] == 0) & ~bent & ((u * w).sum(axis=1) > 0)
    k = alike & (one_circle | one_line)
    return p[k], q[k]


def _compact(pieces: Pieces) -> Pieces:
    """The same without unused vertices."""
    vertices, ends, circles, turns, left, right = pieces
    used, number = np.unique(ends, return_inverse=True)
    return vertices[used], number.reshape(ends.shape), circles, turns, left, right
