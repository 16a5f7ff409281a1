"""Distances between points, segments and triangles, many pairs at once, on plain arrays."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

__all__ = ["crossing_depth", "nearest_on_triangles", "triangle_gaps", "winding"]

FloatArray = NDArray[np.float64]

# Below this a squared length is no length: (1e-9 mm)^2, far below any drawn detail.
NO_LENGTH = 1e-18
# Triangles times points that one lot of solid angles works on: bounds the memory.
ANGLES_A_LOT = 4_000_000


def _dot(a: FloatArray, b: FloatArray) -> FloatArray:
    out: FloatArray = np.einsum("...i,...i->...", a, b)
    return out


def nearest_on_triangles(points: FloatArray, corners: FloatArray) -> FloatArray:
    """Nearest point of triangle k (n, 3, 3) to point k (n, 3)."""
    a, b, c = corners[:, 0], corners[:, 1], corners[:, 2]
    ab, ac = b - a, c - a
    normal = np.cross(ab, ac)
    size = _dot(normal, normal)
    flat = size <= NO_LENGTH * np.maximum(_dot(ab, ab), _dot(ac, ac))
    ap = points - a
    safe = np.where(flat, 1.0, size)
    v = _dot(np.cross(ap, ac), normal) / safe
    w = _dot(np.cross(ab, ap), normal) / safe
    inside = ~flat & (v >= 0.0) & (w >= 0.0) & (v + w <= 1.0)
    best: FloatArray = a + v[:, None] * ab + w[:, None] * ac
    outer = np.flatnonzero(~inside)
    if len(outer):
        near = np.full(len(outer), np.inf)
        for side in range(3):
            start, end = corners[outer, side], corners[outer, (side + 1) % 3]
            along = end - start
            long = _dot(along, along)
            share = _dot(points[outer] - start, along) / np.where(long > 0, long, 1.0)
            share = np.clip(share, 0.0, 1.0)
            at = start + share[:, None] * along
            off = points[outer] - at
            square = _dot(off, off)
            closer = square < near
            near = np.where(closer, square, near)
            best[outer[closer]] = at[closer]
    return best


def _segment_points(
    p: FloatArray, q: FloatArray, r: FloatArray, s: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Nearest points of segments pq and rs, pair by pair (C. Ericson, Real-Time Collision
    Detection, 5.1.9: closest points of two line segments)."""
    d1, d2, off = q - p, s - r, p - r
    a, e, f = _dot(d1, d1), _dot(d2, d2), _dot(d2, off)
    b, c = _dot(d1, d2), _dot(d1, off)
    safe_a, safe_e = np.where(a > NO_LENGTH, a, 1.0), np.where(e > NO_LENGTH, e, 1.0)
    wide = a * e - b * b
    skew = wide > 1e-14 * a * e
    u = np.where(skew, np.clip((b * f - c * e) / np.where(skew, wide, 1.0), 0.0, 1.0), 0.0)
    t = np.where(e > NO_LENGTH, (b * u + f) / safe_e, 0.0)
    t_in = np.clip(t, 0.0, 1.0)
    u = np.where(a > NO_LENGTH, np.clip((b * t_in - c) / safe_a, 0.0, 1.0), 0.0)
    return p + u[:, None] * d1, r + t_in[:, None] * d2


def triangle_gaps(first: FloatArray, second: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Nearest points (n, 3) of triangle pairs (n, 3, 3), of the first and of the second.

    Where triangles cross, the points coincide. The least of six corner-to-triangle and nine
    side-to-side distances, or a crossing of a side with the other triangle.
    """
    best = np.full(len(first), np.inf)
    on_first, on_second = np.zeros((len(first), 3)), np.zeros((len(first), 3))

    def keep(one: FloatArray, two: FloatArray) -> None:
        off = one - two
        square = _dot(off, off)
        closer = square < best
        best[closer] = square[closer]
        on_first[closer] = one[closer]
        on_second[closer] = two[closer]

    for k in range(3):
        keep(first[:, k], nearest_on_triangles(first[:, k], second))
        keep(nearest_on_triangles(second[:, k], first), second[:, k])
        for m in range(3):
            one, two = _segment_points(
                first[:, k], first[:, (k + 1) % 3], second[:, m], second[:, (m + 1) % 3]
            )
            keep(one, two)
    for k in range(3):
        for sides, faces in ((first, second), (second, first)):
            at, crossing = _crossings(sides[:, k], sides[:, (k + 1) % 3], faces)
            best[crossing] = 0.0
            on_first[crossing] = at[crossing]
            on_second[crossing] = at[crossing]
    return on_first, on_second


def _crossings(
    start: FloatArray, end: FloatArray, corners: FloatArray
) -> tuple[FloatArray, NDArray[np.bool_]]:
    """Where segments pass through triangles (rims counted), and whether they do."""
    a, ab, ac = corners[:, 0], corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    normal = np.cross(ab, ac)
    from_, to = _dot(start - a, normal), _dot(end - a, normal)
    through = (from_ * to <= 0.0) & (from_ != to)
    share = from_ / np.where(through, from_ - to, 1.0)
    at = start + share[:, None] * (end - start)
    size = _dot(normal, normal)
    safe = np.where(size > 0, size, 1.0)
    v = _dot(np.cross(at - a, ac), normal) / safe
    w = _dot(np.cross(ab, at - a), normal) / safe
    inside = through & (size > 0) & (v >= 0) & (w >= 0) & (v + w <= 1)
    return at, inside


def crossing_depth(first: FloatArray, second: FloatArray, least_mm: float) -> FloatArray:
    """(n,) how far a side of one triangle reaches through the other, 0 where none does.

    A side counts only where both its ends lie more than ``least_mm`` off the other's plane
    and it passes more than that inside the other's rim: bodies that touch do not count.
    """
    deepest = np.zeros(len(first))
    for sides, faces in ((first, second), (second, first)):
        a, ab, ac = faces[:, 0], faces[:, 1] - faces[:, 0], faces[:, 2] - faces[:, 0]
        normal = np.cross(ab, ac)
        twice = np.sqrt(_dot(normal, normal))
        longest = np.sqrt(np.maximum.reduce([_dot(ab, ab), _dot(ac, ac), _dot(ac - ab, ac - ab)]))
        sound = twice > least_mm * longest
        unit = normal / np.where(sound, twice, 1.0)[:, None]
        for k in range(3):
            start, end = sides[:, k], sides[:, (k + 1) % 3]
            from_, to = _dot(start - a, unit), _dot(end - a, unit)
            through = sound & (from_ * to < 0.0)
            through &= np.minimum(np.abs(from_), np.abs(to)) > least_mm
            share = from_ / np.where(through, from_ - to, 1.0)
            at = start + share[:, None] * (end - start)
            room = np.full(len(first), np.inf)
            for m in range(3):
                p, q = faces[:, m], faces[:, (m + 1) % 3]
                along = q - p
                long = np.sqrt(np.maximum(_dot(along, along), NO_LENGTH))
                room = np.minimum(room, _dot(np.cross(unit, along / long[:, None]), at - p))
            through &= room > least_mm
            depth = np.minimum(np.minimum(np.abs(from_), np.abs(to)), room)
            deepest = np.where(through, np.maximum(deepest, depth), deepest)
    return deepest


def winding(points: FloatArray, corners: FloatArray) -> FloatArray:
    """(n,) how often a closed surface (m, 3, 3) winds round each point: 1 inside, 0 outside.

    Sum of the triangles' signed solid angles over 4 pi (A. Van Oosterom, J. Strackee, The Solid
    Angle of a Plane Triangle, 1983); from memory.
    """
    out = np.zeros(len(points))
    lot = max(1, ANGLES_A_LOT // max(1, len(corners)))
    for first in range(0, len(points), lot):
        here = points[first : first + lot]
        a, b, c = (corners[None, :, k] - here[:, None] for k in range(3))
        la, lb, lc = (np.sqrt(_dot(v, v)) for v in (a, b, c))
        above = _dot(a, np.cross(b, c))
        below = la * lb * lc + _dot(a, b) * lc + _dot(b, c) * la + _dot(c, a) * lb
        out[first : first + lot] = np.arctan2(above, below).sum(axis=1) / (2 * np.pi)
    return out
