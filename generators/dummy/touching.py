"""Edges at which a piece touches itself: two bodies of it that meet in a line are joined there.

Where a hollow's corner meets another's, or a wall's edge a step's, four faces share one edge.
Slicers do not agree on what lies within then; a thread of plastic along such an edge settles it.
"""

from __future__ import annotations

import manifold3d
import numpy as np
from numpy.typing import NDArray

from generators.dummy.sections import united

__all__ = ["joined_where_it_touches", "touching_edges_mm"]

SAME_MM = 1e-4  # corners nearer than this are one to a slicer; far below any detail
FINE_MM = 1e-3  # steps of the hollows' overlap, which no printer shows, are taken off
THREAD_MM = 0.02  # half the width of a thread: far below a line, far above float noise
ROUNDS = 4  # a thread's own corners may touch something, then another width is tried


def touching_edges_mm(
    vertices_mm: NDArray[np.float64], faces: NDArray[np.int64]
) -> NDArray[np.float64]:
    """(n, 2, 3) both ends of every edge that more than two faces share, corners within ``SAME_MM``
    taken as one."""
    rounded = np.round(vertices_mm / SAME_MM).astype(np.int64)
    corners, which = np.unique(rounded, axis=0, return_inverse=True)
    faces = which.reshape(-1)[faces]
    edges = np.sort(faces[:, [[0, 1], [1, 2], [2, 0]]].reshape(-1, 2), axis=1)
    edges, count = np.unique(edges[edges[:, 0] != edges[:, 1]], axis=0, return_counts=True)
    ends = corners[edges[count > 2]] * SAME_MM
    return np.asarray(ends, dtype=np.float64)


def joined_where_it_touches(solid: manifold3d.Manifold) -> manifold3d.Manifold:
    """The same within ``THREAD_MM``, no edge shared by more than two faces; its box stays."""
    solid = solid.simplify(FINE_MM)
    x0, y0, z0, x1, y1, z1 = solid.bounding_box()
    box = manifold3d.Manifold.cube([x1 - x0, y1 - y0, z1 - z0]).translate([x0, y0, z0])
    for number in range(ROUNDS):
        mesh = solid.to_mesh64()
        points = np.asarray(mesh.vert_properties, np.float64)[:, :3]
        edges = touching_edges_mm(points, np.asarray(mesh.tri_verts, np.int64))
        if not len(edges):
            break
        half = THREAD_MM * (1.0 + 0.37 * number)
        solid += united([_thread(start, end, half) for start, end in edges]) ^ box
    return solid


def _thread(
    start: NDArray[np.float64], end: NDArray[np.float64], half_mm: float
) -> manifold3d.Manifold:
    """A thread along an edge, somewhat longer than it."""
    corners = np.array(np.meshgrid([-1, 1], [-1, 1], [-1, 1])).reshape(3, -1).T * half_mm
    return manifold3d.Manifold.hull_points(np.vstack([start + corners, end + corners]))
