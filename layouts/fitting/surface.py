"""A closed triangle mesh made ready for distances: compact triangles, their tree, normals."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from layouts.fitting.boxes import Boxes, along_a_curve, boxes_of
from layouts.fitting.patches import patched, small_triangles
from layouts.fitting.triangles import nearest_on_triangles

__all__ = ["Signed", "Surface", "joined", "make_surface"]

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]

CANDIDATES = 8  # nearest small triangles that are looked at exactly for a surface's nearest point
EQUALLY_NEAR_MM = 1e-6  # triangles as near as that meet in the same nearest corner or side


@dataclass(frozen=True, slots=True, eq=False)
class Signed:
    """Distances of points to a surface.

    ``distance_mm`` (n,): negative on the surface's back side. ``point`` (n, 3): nearest point.
    ``way`` (n, 3): unit vector in which the distance grows. ``face`` (n,): its triangle.
    """

    distance_mm: FloatArray
    point: FloatArray
    way: FloatArray
    face: IntArray


@dataclass(frozen=True, slots=True, eq=False)
class Surface:
    """Triangles of one closed surface, normals towards its front side.

    ``corners`` (m, 3, 3); ``normal`` (m, 3) unit. Small triangles, no side longer than the
    spacing: ``small`` (k, 3, 3), ``parent`` (k,), ``middle`` (k, 3), in the order of ``boxes``.
    """

    corners: FloatArray
    normal: FloatArray
    small: FloatArray
    parent: IntArray
    middle: FloatArray
    tree: cKDTree
    boxes: Boxes
    spacing_mm: float

    def without(self, left_out: NDArray[np.bool_]) -> Surface:
        """The same surface, distances not taken to the triangles ``left_out`` (m,)."""
        kept = ~left_out[self.parent]
        return _surface(
            self.corners, self.normal, self.small[kept], self.parent[kept], self.spacing_mm
        )

    def signed(
        self, points: FloatArray, *, share: float = 0.0, candidates: int = CANDIDATES
    ) -> Signed:
        """Signed distances of points (n, 3).

        The nearest of ``candidates`` small triangles by their middles is exact but where a
        small triangle farther down the list is nearer: the error is below a small triangle's
        size. ``share``: distances may be too large by this share, which is quicker far off.
        Where several triangles meet in the nearest point, the one that faces it most
        squarely decides on which side the point lies.
        """
        count = min(candidates, len(self.middle))
        _, index = self.tree.query(points, k=count, eps=share, workers=-1)
        index = np.asarray(index).reshape(len(points), count)
        flat_points = np.repeat(points, count, axis=0)
        near = nearest_on_triangles(flat_points, self.small[index.ravel()])
        off = (flat_points - near).reshape(len(points), count, 3)
        distance = np.sqrt(np.einsum("nki,nki->nk", off, off))
        face = self.parent[index]
        square = np.einsum("nki,nki->nk", off, self.normal[face])
        equal = distance <= distance.min(axis=1, keepdims=True) + EQUALLY_NEAR_MM
        pick = np.where(equal, np.abs(square), -1.0).argmax(axis=1)
        row = np.arange(len(points))
        chosen, off, far = face[row, pick], off[row, pick], distance[row, pick]
        side = np.where(square[row, pick] < 0.0, -1.0, 1.0)
        touching = far < 1e-9
        way = side[:, None] * off / np.where(touching, 1.0, far)[:, None]
        way[touching] = self.normal[chosen[touching]]
        point = near.reshape(len(points), count, 3)[row, pick]
        return Signed(side * far, point, way, chosen)


def make_surface(corners: FloatArray, *, spacing_mm: float) -> Surface:
    """A surface from triangles (m, 3, 3); ``spacing_mm``: longest side of the small triangles."""
    cut = patched(corners, spacing_mm)
    cross = np.cross(cut[:, 1] - cut[:, 0], cut[:, 2] - cut[:, 0])
    twice = np.linalg.norm(cross, axis=1)
    normal = cross / np.where(twice > 0, twice, 1.0)[:, None]
    return _surface(cut, normal, *small_triangles(cut, spacing_mm), spacing_mm)


def joined(surfaces: Sequence[Surface]) -> Surface:
    """Several surfaces as one; their triangles are numbered on."""
    starts = np.cumsum([0, *(len(one.corners) for one in surfaces[:-1])])
    return _surface(
        np.concatenate([one.corners for one in surfaces]),
        np.concatenate([one.normal for one in surfaces]),
        np.concatenate([one.small for one in surfaces]),
        np.concatenate([one.parent + k for one, k in zip(surfaces, starts, strict=True)]),
        max(one.spacing_mm for one in surfaces),
    )


def _surface(
    corners: FloatArray,
    normal: FloatArray,
    small: FloatArray,
    parent: IntArray,
    spacing_mm: float,
) -> Surface:
    order = along_a_curve(small.mean(axis=1))
    small, parent = small[order], parent[order]
    middle = small.mean(axis=1)
    return Surface(
        corners, normal, small, parent, middle, cKDTree(middle), boxes_of(small), spacing_mm
    )
