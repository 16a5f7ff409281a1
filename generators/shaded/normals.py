"""Smooth normals at the corners of a mesh: round faces look round, edges stay sharp."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import connected_components

from generators.meshes.mesh import Mesh

__all__ = ["corner_normals"]

CREASE_DEG = 32.0  # faces that meet flatter are one round face


def corner_normals(mesh: Mesh) -> NDArray[np.float32]:
    """(m, 3, 3) unit normals: each corner's is the mean, by area, over the faces that edges flatter
    than the crease join to its own."""
    faces, points = mesh.faces, mesh.vertices_mm
    a, b, c = (points[faces[:, k]] for k in range(3))
    normal = np.cross(b - a, c - a)
    unit = normal / np.maximum(np.linalg.norm(normal, axis=1), 1e-12)[:, None]
    first, second = _joined_edges(faces, unit, len(points))
    rows, columns = [], []
    for end in (0, 1):  # an edge's two corners, which the other face has the other way round
        vertex = faces[first // 3, (first % 3 + end) % 3]
        rows.append(first // 3 * 3 + (first % 3 + end) % 3)
        other = faces[second // 3]
        columns.append(second // 3 * 3 + np.argmax(other == vertex[:, None], axis=1))
    count = 3 * len(faces)
    joins = coo_matrix(
        (np.ones(2 * len(first), bool), (np.concatenate(rows), np.concatenate(columns))),
        (count, count),
    )
    label = connected_components(joins, directed=False)[1]
    weight = np.repeat(normal, 3, axis=0)
    summed = np.stack([np.bincount(label, weight[:, k])[label] for k in range(3)], axis=1)
    long = np.maximum(np.linalg.norm(summed, axis=1), 1e-12)[:, None]
    found: NDArray[np.float32] = (summed / long).reshape(-1, 3, 3).astype(np.float32)
    return found


def _joined_edges(
    faces: NDArray[np.int64], unit: NDArray[np.float64], count: int
) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Numbers of edges (3 a face, from its corner i on) that two faces share without a crease."""
    edges = np.sort(faces[:, [0, 1, 1, 2, 2, 0]].reshape(-1, 2), axis=1)
    key = edges[:, 0] * (count + 1) + edges[:, 1]
    order = np.argsort(key, kind="stable")
    same = np.flatnonzero(key[order][1:] == key[order][:-1])
    first, second = order[same], order[same + 1]
    flat = (unit[first // 3] * unit[second // 3]).sum(axis=1) > np.cos(np.radians(CREASE_DEG))
    return first[flat], second[flat]
