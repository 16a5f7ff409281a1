"""Which facet an eye far away sees in each pixel of a raster: a depth buffer on plain arrays."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["DepthMap", "depth_map", "steps"]

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]

# Facets are spread into pixels in lots of about this many: enough for speed, little memory.
PIXELS_A_LOT = 1_000_000
NOTHING = -np.inf


@dataclass(frozen=True, slots=True, eq=False)
class DepthMap:
    """Nearest facet of each pixel.

    ``depth`` (h * w,) float, larger is nearer, -inf where nothing is. ``facet`` (h * w,) int,
    its number, -1 for nothing. ``slope`` (m, 2): how each facet's depth grows along x and y.
    """

    wide: int
    tall: int
    depth: FloatArray
    facet: IntArray
    slope: FloatArray

    def ahead(self, points: FloatArray) -> FloatArray:
        """(n,) how far the seen facet lies before each (x, y, depth) point; -inf: nothing there.

        The facet's plane is met at the point itself, not at the pixel's middle: an edge is never
        behind its own facets, however steep these are. Where the plane rises steeply towards
        the point (a facet seen nearly edge-on, next to the point's own), the depth at the
        pixel's middle counts.
        """
        x = np.clip(points[:, 0].astype(np.int64), 0, self.wide - 1)
        y = np.clip(points[:, 1].astype(np.int64), 0, self.tall - 1)
        pixel = y * self.wide + x
        middle = self.depth[pixel]
        slope = self.slope[self.facet[pixel]]
        off = points[:, :2] - np.column_stack([x, y]) - 0.5
        ahead: FloatArray = middle + np.minimum((slope * off).sum(axis=1), 0.0) - points[:, 2]
        return ahead


def steps(count: IntArray) -> tuple[IntArray, IntArray]:
    """For counts (n,): the owner of every step, and the step's number within its owner."""
    owner = np.repeat(np.arange(len(count)), count)
    return owner, np.arange(len(owner)) - np.repeat(np.cumsum(count) - count, count)


def depth_map(corners: FloatArray, *, wide: int, tall: int) -> DepthMap:
    """Depth map of facets (m, 3, 3): corners as (x, y, depth) in pixels, all within the raster.

    A pixel belongs to a facet when its middle does; of facets equally near the last one counts.
    """
    a, b, c = corners[:, 0], corners[:, 1], corners[:, 2]
    normal = np.cross(b - a, c - a)
    upright = np.abs(normal[:, 2:]) < 1e-12
    slope = np.where(upright, 0.0, -normal[:, :2] / np.where(upright, 1.0, normal[:, 2:]))
    depth = np.full(wide * tall, NOTHING)
    facet = np.full(wide * tall, -1, np.int64)
    height = np.ptp(corners[:, :, 1], axis=1)
    size = np.cumsum((np.ptp(corners[:, :, 0], axis=1) + 1) * (height + 1))
    most = size[-1] if len(size) else 0
    lots = np.searchsorted(size, np.arange(PIXELS_A_LOT, most, PIXELS_A_LOT))
    for lot in np.split(np.arange(len(corners)), lots):
        pixel, z, owner = _spread(corners[lot], slope[lot], wide)
        owner = lot[owner]
        before = depth[pixel]
        np.maximum.at(depth, pixel, z)
        nearest = (z == depth[pixel]) & (z >= before)
        facet[pixel[nearest]] = owner[nearest]
    return DepthMap(wide, tall, depth, facet, np.vstack([slope, np.zeros((1, 2))]))


def _spread(
    corners: FloatArray, slope: FloatArray, wide: int
) -> tuple[IntArray, FloatArray, IntArray]:
    """Pixels of facets along exact scan lines: pixel number, depth there, facet."""
    rising = np.argsort(corners[:, :, 1], axis=1, kind="stable")
    sorted_ = np.take_along_axis(corners[:, :, :2], rising[:, :, None], axis=1)
    first = np.ceil(sorted_[:, 0, 1] - 0.5).astype(np.int64)
    last = np.ceil(sorted_[:, 2, 1] - 0.5).astype(np.int64)
    row, k = steps(np.maximum(last - first, 0))
    y = first[row] + k
    middle = y + 0.5
    (ax, ay), (bx, by), (cx, cy) = np.moveaxis(sorted_, (1, 2), (0, 1))
    whole = ax[row] + (middle - ay[row]) * _inverse(cx - ax, cy - ay)[row]
    low = middle < by[row]
    broken = np.where(
        low,
        ax[row] + (middle - ay[row]) * _inverse(bx - ax, by - ay)[row],
        bx[row] + (middle - by[row]) * _inverse(cx - bx, cy - by)[row],
    )
    begin = np.ceil(np.minimum(whole, broken) - 0.5).astype(np.int64)
    end = np.ceil(np.maximum(whole, broken) - 0.5).astype(np.int64)
    owner, k = steps(np.maximum(end - begin, 0))
    x = begin[owner] + k
    line = row
    at = corners[line, 0]
    along = slope[line]
    start = at[:, 2] + (begin + 0.5 - at[:, 0]) * along[:, 0] + (middle - at[:, 1]) * along[:, 1]
    return y[owner] * wide + x, start[owner] + k * along[owner, 0], line[owner]


def _inverse(run: FloatArray, rise: FloatArray) -> FloatArray:
    """run / rise, 0 for level sides, which no scan line's middle crosses."""
    level = rise <= 0
    return np.where(level, 0.0, run / np.where(level, 1.0, rise))
