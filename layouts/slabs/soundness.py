"""Refuses what can't be one sound body: material that only just touches itself, several bodies."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from layouts.slabs.body import Body
from layouts.slabs.curves import curve_distances_mm
from layouts.slabs.errors import SolidError
from layouts.slabs.inside import ranges

__all__ = ["refuse_pinched", "refuse_several_shells", "refuse_touching"]

IntArray = NDArray[np.int64]
BoolArray = NDArray[np.bool_]

# A piece that ends this near to a touch meets the other by its end, with a shared vertex.
TOUCH_AT_VERTEX_MM = 1e-4
# Curves this near to a touching point pass through it: the touch's own slack, twice, and a little.
TOUCH_REACH_MM = 3e-6


def refuse_pinched(
    vertices: NDArray[np.float64],
    ends: IntArray,
    left: BoolArray,
    right: BoolArray,
    heights: Sequence[tuple[float, float]],
) -> None:
    """SolidError where material meets itself in a line only, upright or level.

    Such a line would be the edge of four faces: no solid, and nothing that holds when printed.
    Arrays as in ``Body``; material beside the pieces: (slabs, pieces) bool.
    """
    for k, (z0, z1) in enumerate(heights):
        walled = left[k] != right[k]
        meeting = np.bincount(ends[walled].ravel(), minlength=len(vertices))
        if (meeting > 2).any():
            x, y = vertices[int(np.argmax(meeting > 2))]
            raise SolidError(
                f"two corners only touch at ({x:.4f}, {y:.4f}) from z = {z0:g} to {z1:g} mm",
                remedy="let the shapes overlap or keep a gap",
            )
    for k in range(1, len(heights)):
        up = (left[k - 1] & ~left[k], right[k - 1] & ~right[k])
        down = (left[k] & ~left[k - 1], right[k] & ~right[k - 1])
        bad = (up[0] & down[1]) | (up[1] & down[0])
        if bad.any():
            x, y = vertices[ends[int(np.argmax(bad)), 0]]
            raise SolidError(
                f"material below and above z = {heights[k][0]:g} mm only meets in an edge "
                f"that begins at ({x:.4f}, {y:.4f})",
                remedy="let the shapes overlap or keep a gap",
            )


def refuse_touching(
    touches: NDArray[np.float64],
    vertices: NDArray[np.float64],
    ends: IntArray,
    circles: NDArray[np.float64],
    turns: NDArray[np.float64],
    walled: BoolArray,
) -> None:
    """SolidError where two curves are tangent to each other in a slab in which both are walls.

    Such walls would meet in a line without sharing an edge.
    touches : (k, 2) [mm]. walled : (slabs, pieces) bool. Other arrays as in ``Body``.
    """
    if not len(touches):
        return
    first, last = vertices[ends[:, 0]], vertices[ends[:, 1]]
    for point in touches:
        points = np.broadcast_to(point, (len(ends), 2))
        through = curve_distances_mm(vertices, ends, circles, turns, points) < TOUCH_REACH_MM
        ended = np.minimum(np.hypot(*(first - point).T), np.hypot(*(last - point).T))
        passing = through & (ended > TOUCH_AT_VERTEX_MM)
        if (walled[:, passing].any(axis=1) & (walled[:, through].sum(axis=1) > 1)).any():
            x, y = point
            raise SolidError(
                f"two curves only touch at ({x:.4f}, {y:.4f})",
                remedy="let the shapes overlap or keep a gap",
            )


def refuse_several_shells(body: Body) -> None:
    """SolidError unless all faces hang together by shared edges: one body without closed voids."""
    levels = sorted(
        {face.z_mm for face in body.faces}
        | {z for wall in body.walls for z in (wall.z0_mm, wall.z1_mm)}
    )
    number = {z: k for k, z in enumerate(levels)}
    count = len(levels)
    flat = [
        (node, piece * count + number[face.z_mm])
        for node, face in enumerate(body.faces)
        for loop in face.loops
        for piece, _ in loop
    ]
    first = len(body.faces)
    for node, cone in enumerate(body.cones, first + len(body.walls)):
        flat += [(node, piece * count + number[cone.z0_mm]) for piece in cone.lower]
        flat.append((node, cone.upper * count + number[cone.z1_mm]))
    table = np.array(flat, np.int64).reshape(-1, 2)
    piece = np.array([wall.piece for wall in body.walls], np.int64)
    low = np.array([number[wall.z0_mm] for wall in body.walls], np.int64)
    high = np.array([number[wall.z1_mm] for wall in body.walls], np.int64)
    wall_node = first + np.arange(len(body.walls))
    # upright edges: (vertex, stretch between two levels) for both ends of every wall
    stretch, of = ranges(low, high - low), np.repeat(np.arange(len(low)), high - low)
    beyond = len(body.ends) * count
    nodes_of = [table[:, 0], wall_node, wall_node]
    key = [table[:, 1], piece * count + low, piece * count + high]
    for end in (0, 1):
        nodes_of.append(wall_node[of])
        key.append(beyond + body.ends[piece[of], end] * count + stretch)
    nodes, keys = np.concatenate(nodes_of), np.concatenate(key)
    edges, edge = np.unique(keys, return_inverse=True)
    total = first + len(body.walls) + len(body.cones)
    size = total + len(edges)
    graph = coo_array((np.ones(len(nodes), np.int8), (nodes, total + edge)), shape=(size, size))
    shells, label = connected_components(graph, directed=False)
    if shells > 1:
        x, y, z = _smallest_shell_at(body, label[:first])
        raise SolidError(
            f"{shells} separate shells (bodies or closed voids), the smallest at "
            f"({x:.3f}, {y:.3f}), z = {z:g} mm",
            remedy="join them or build each as a body of its own",
        )


def _smallest_shell_at(body: Body, shell: IntArray) -> tuple[float, float, float]:
    """A corner [mm] of the shell that is smallest in the plan; ``shell``: number of each face."""
    boxes: dict[int, list[float]] = {}
    corner: dict[int, tuple[float, float, float]] = {}
    for face, number in zip(body.faces, shell.tolist(), strict=True):
        points = body.vertices[[body.ends[piece, 0] for piece, _ in face.loops[0]]]
        low, high = points.min(axis=0), points.max(axis=0)
        box = boxes.setdefault(number, [*low.tolist(), *high.tolist()])
        box[:2] = np.minimum(box[:2], low).tolist()
        box[2:] = np.maximum(box[2:], high).tolist()
        corner.setdefault(number, (float(points[0, 0]), float(points[0, 1]), face.z_mm))
    smallest = min(boxes, key=lambda k: math.dist(boxes[k][:2], boxes[k][2:]))
    return corner[smallest]
