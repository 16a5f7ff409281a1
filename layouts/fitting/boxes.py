"""Upright boxes round groups of triangles, level by level, and pairs of groups that come near."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["Boxes", "along_a_curve", "boxes_of", "near_pairs"]

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]

GROUP = 4  # boxes of one level make one of the next
BITS = 10  # of each coordinate along the curve


@dataclass(frozen=True, slots=True, eq=False)
class Boxes:
    """``low``, ``high``: one (n, 3) array a level, the triangles' own boxes first."""

    low: tuple[FloatArray, ...]
    high: tuple[FloatArray, ...]


def along_a_curve(points: FloatArray) -> IntArray:
    """An order of points (n, 3) in which neighbours lie near each other (Z-order curve)."""
    if not len(points):
        return np.zeros(0, np.int64)
    low = points.min(axis=0)
    size = max(float((points.max(axis=0) - low).max()), 1e-9)
    cell = ((points - low) / size * (2**BITS - 1)).astype(np.int64)
    code = np.zeros(len(points), np.int64)
    for bit in range(BITS):
        for axis in range(3):
            code |= ((cell[:, axis] >> bit) & 1) << (3 * bit + axis)
    return np.argsort(code, kind="stable")


def boxes_of(corners: FloatArray) -> Boxes:
    """Boxes of triangles (n, 3, 3), which lie in the order of ``along_a_curve``."""
    lows, highs = [corners.min(axis=1)], [corners.max(axis=1)]
    while len(lows[-1]) > GROUP:
        starts = np.arange(0, len(lows[-1]), GROUP)
        lows.append(np.minimum.reduceat(lows[-1], starts, axis=0))
        highs.append(np.maximum.reduceat(highs[-1], starts, axis=0))
    return Boxes(tuple(lows), tuple(highs))


def near_pairs(one: Boxes, two: Boxes, below_mm: float) -> tuple[IntArray, IntArray, FloatArray]:
    """Pairs of triangles whose boxes are no farther apart than ``below_mm``, and how far."""
    level_one, level_two = len(one.low) - 1, len(two.low) - 1
    i, j = (
        g.ravel().astype(np.int64)
        for g in np.meshgrid(
            np.arange(len(one.low[level_one])), np.arange(len(two.low[level_two])), indexing="ij"
        )
    )
    while True:
        apart = np.maximum(
            one.low[level_one][i] - two.high[level_two][j],
            two.low[level_two][j] - one.high[level_one][i],
        )
        apart = np.maximum(apart, 0.0)
        far = np.sqrt(np.einsum("ij,ij->i", apart, apart))
        kept = far <= below_mm
        i, j, far = i[kept], j[kept], far[kept]
        if level_one == 0 and level_two == 0:
            return i, j, far
        if level_one >= level_two and level_one > 0:
            level_one -= 1
            i, j = _opened(i, j, len(one.low[level_one]))
        else:
            level_two -= 1
            j, i = _opened(j, i, len(two.low[level_two]))


def _opened(split: IntArray, other: IntArray, count: int) -> tuple[IntArray, IntArray]:
    """Each group replaced by its members, its partner repeated."""
    first = split * GROUP
    members = np.minimum(GROUP, count - first)
    owner = np.repeat(np.arange(len(split)), members)
    step = np.arange(len(owner)) - np.repeat(np.cumsum(members) - members, members)
    return first[owner] + step, other[owner]
