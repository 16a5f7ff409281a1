"""Plane geometry of lines and counter-clockwise arcs given as columns, as in ``Body``."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

__all__ = ["curve_boxes_mm", "curve_distances_mm", "curve_points_mm", "piece_boxes_mm"]

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]


def piece_boxes_mm(
    vertices: NDArray[np.float64],
    ends: NDArray[np.int64],
    circles: NDArray[np.float64],
    turns: NDArray[np.float64],
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Least and greatest corners (m, 2) [mm] of every piece's box."""
    first, last = vertices[ends[:, 0]], vertices[ends[:, 1]]
    return curve_boxes_mm(first, last, circles, turns)


def curve_boxes_mm(
    first: NDArray[np.float64],
    last: NDArray[np.float64],
    circles: NDArray[np.float64],
    turns: NDArray[np.float64],
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Boxes of lines and counter-clockwise arcs with the given ends (m, 2) [mm]."""
    low, high = np.minimum(first, last), np.maximum(first, last)
    arc = np.flatnonzero(circles[:, 2] > 0)
    for quarter in range(4):
        # the arc passes the circle's extreme point in this direction
        passed = (quarter * (math.pi / 2) - turns[arc, 0]) % math.tau <= turns[arc, 1]
        k = arc[passed]
        axis, sign = quarter % 2, 1.0 if quarter < 2 else -1.0
        extreme = circles[k, axis] + sign * circles[k, 2]
        if sign > 0:
            high[k, axis] = np.maximum(high[k, axis], extreme)
        else:
            low[k, axis] = np.minimum(low[k, axis], extreme)
    return low, high


def curve_points_mm(
    vertices: FloatArray, ends: IntArray, circles: FloatArray, turns: FloatArray, share: float = 0.5
) -> FloatArray:
    """A point (m, 2) [mm] on every piece, ``share`` of the way along it."""
    first, last = vertices[ends[:, 0]], vertices[ends[:, 1]]
    angle = turns[:, 0] + share * turns[:, 1]
    arc = circles[:, :2] + circles[:, 2:] * np.column_stack([np.cos(angle), np.sin(angle)])
    result: FloatArray = np.where(circles[:, 2:] > 0, arc, first + share * (last - first))
    return result


def curve_distances_mm(
    vertices: FloatArray, ends: IntArray, circles: FloatArray, turns: FloatArray, points: FloatArray
) -> FloatArray:
    """Least distance from each point to its piece, pairwise [mm]."""
    first, last = vertices[ends[:, 0]], vertices[ends[:, 1]]
    along = last - first
    length2 = (along * along).sum(axis=1)
    t = ((points - first) * along).sum(axis=1) / np.where(length2 > 0, length2, 1.0)
    foot = first + np.clip(t, 0.0, 1.0)[:, None] * along
    straight = np.hypot(*(points - foot).T)
    offset = points - circles[:, :2]
    way = (np.arctan2(offset[:, 1], offset[:, 0]) - turns[:, 0]) % math.tau
    to_ends = np.minimum(np.hypot(*(points - first).T), np.hypot(*(points - last).T))
    to_arc = np.abs(np.hypot(*offset.T) - circles[:, 2])
    round_ = np.where(way <= turns[:, 1], to_arc, to_ends)
    result: FloatArray = np.where(circles[:, 2] > 0, round_, straight)
    return result
