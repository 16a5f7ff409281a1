"""Edges of triangle meshes that a drawing shows: sharp ones and outlines, and chains of them."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["DrawnEdges", "chained", "drawn_edges", "facet_normals"]

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]

# Neighbouring facets at a larger angle meet in an edge. Facets of a round part turn by less
# (chords 0.02 mm off a radius of 0.6 mm turn by 30 degrees); a flat runs into a round by none.
SHARP_RAD = math.radians(31.0)
# A facet with a side this much longer than it is high has no direction of its own.
SLIVER_MM = 1e-6
# Cosine to the eye below which a facet is seen edge-on: it hides nothing.
EDGE_ON = 1e-9
# A corner this little above a facet's plane lies in it: float noise.
FLAT_MM = 1e-7


def facet_normals(vertices: FloatArray, faces: IntArray) -> tuple[FloatArray, NDArray[np.bool_]]:
    """(m, 3) unit normals and (m,) which facets are slivers (no height, so no direction)."""
    a, b, c = vertices[faces[:, 0]], vertices[faces[:, 1]], vertices[faces[:, 2]]
    normal = np.cross(b - a, c - a)
    twice = np.sqrt(np.einsum("ij,ij->i", normal, normal))
    longest = np.sqrt(
        np.maximum.reduce([np.einsum("ij,ij->i", d, d) for d in (b - a, c - b, a - c)])
    )
    sliver = twice <= SLIVER_MM * longest
    return normal / np.where(twice > 0, twice, 1.0)[:, None], sliver


@dataclass(frozen=True, slots=True, eq=False)
class DrawnEdges:
    """Edges that may be seen, and the facets that face the eye.

    ``ends`` (k, 2) int vertex numbers. ``outward`` (k, 3): for an outline, about square to the
    edge and away from the body; zero for an edge between two facets that face the eye.
    ``front`` (m,) bool: facets that face the eye.
    """

    ends: IntArray
    outward: FloatArray
    front: NDArray[np.bool_]


def drawn_edges(vertices: FloatArray, faces: IntArray, eye: FloatArray) -> DrawnEdges:
    """Sharp edges with a facet towards the eye, and outlines (one facet towards it, one away).

    ``vertices`` (n, 3), ``faces`` (m, 3) counter-clockwise from outside, closed; ``eye`` (3,)
    unit vector towards the eye. Outlines along an inner corner are left out: the body itself
    always hides them.
    """
    normal, sliver = facet_normals(vertices, faces)
    sides = faces[:, [0, 1, 1, 2, 2, 0]].reshape(-1, 2)
    low, high = sides.min(axis=1), sides.max(axis=1)
    key = low * np.int64(len(vertices)) + high
    order = np.argsort(key, kind="stable")
    sorted_ = key[order]
    # a closed mesh has every edge twice (four times where bodies touch along it)
    first = np.arange(0, len(order) - 1, 2)
    paired = first[sorted_[first] == sorted_[first + 1]]
    edge = order[paired]
    left, right = order[paired] // 3, order[paired + 1] // 3
    _lend_normals(normal, sliver, left, right)
    faces_eye = normal @ eye > EDGE_ON
    sharp = np.einsum("ij,ij->i", normal[left], normal[right]) < math.cos(SHARP_RAD)
    outline = faces_eye[left] != faces_eye[right]
    shown = np.flatnonzero((sharp & faces_eye[left]) | outline)
    left, right, edge, outline = left[shown], right[shown], edge[shown], outline[shown]
    ends = np.column_stack([low[edge], high[edge]])
    # the right facet's third corner lies below the left facet at an outer corner
    third = faces[right].sum(axis=1) - ends.sum(axis=1)
    above = np.einsum("ij,ij->i", vertices[third] - vertices[ends[:, 0]], normal[left])
    kept = ~outline | (above < FLAT_MM)
    outward = np.where(outline[:, None], normal[left] + normal[right], 0.0)
    return DrawnEdges(ends[kept], outward[kept], faces_eye & ~sliver)


def _lend_normals(
    normal: FloatArray, sliver: NDArray[np.bool_], left: IntArray, right: IntArray
) -> None:
    """Give slivers the direction of a neighbour in the same plane, in place.

    Slivers come where points of one straight side are joined to each other: they lie in a
    level face, so of their neighbours the one that faces most up or down counts.
    """
    missing = sliver.copy()
    for _ in range(8):
        if not missing.any():
            return
        score = np.full(len(normal), -1.0)
        source = np.full(len(normal), -1, np.int64)
        for here, there in ((left, right), (right, left)):
            use = np.flatnonzero(missing[here] & ~missing[there])
            use = use[np.argsort(np.abs(normal[there[use], 2]), kind="stable")]
            better = np.abs(normal[there[use], 2]) > score[here[use]]
            use = use[better]
            source[here[use]] = there[use]
            score[here[use]] = np.abs(normal[there[use], 2])
        found = np.flatnonzero(source >= 0)
        if not len(found):
            return
        normal[found] = normal[source[found]]
        missing[found] = False


def chained(edges: IntArray) -> list[list[int]]:
    """Edges (k, 2) put into runs: each a list of edge numbers, ``~number`` when run backwards.

    Every edge is in exactly one run. At a vertex edges are joined in pairs; closed runs start
    anywhere.
    """
    ends = edges.ravel()  # half edge 2e + s: end s of edge e
    order = np.argsort(ends, kind="stable")
    sorted_ = ends[order]
    new = np.ones(len(order), bool)
    new[1:] = sorted_[1:] != sorted_[:-1]
    starts = np.flatnonzero(new)
    place = np.arange(len(order)) - starts[np.cumsum(new) - 1]
    mate = np.full(len(order), -1, np.int64)
    first = np.flatnonzero((place[:-1] % 2 == 0) & ~new[1:])
    mate[order[first]] = order[first + 1]
    mate[order[first + 1]] = order[first]
    mates = mate.tolist()
    seen = [False] * len(edges)
    runs: list[list[int]] = []
    loose = np.flatnonzero(mate < 0).tolist()
    for begin in [*loose, *range(0, len(order), 2)]:
        if seen[begin >> 1]:
            continue
        run: list[int] = []
        half = begin  # the run enters an edge at this end
        while half >= 0 and not seen[half >> 1]:
            edge = half >> 1
            seen[edge] = True
            run.append(~edge if half & 1 else edge)
            half = mates[half ^ 1]
        runs.append(run)
    return runs
