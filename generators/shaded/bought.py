"""What is bought, as plain bodies: cells, rings, screws, nuts, inserts, glands, board, fuse.

Their outer sizes are those of the plan and of the tables; what these do not tell (a crimp, a cap's
ribs) is drawn as is usual, no source.
"""

from __future__ import annotations

import math

import numpy as np
import shapely
from numpy.typing import NDArray

from generators.meshes.mesh import Mesh, joined_mesh
from generators.shaded.shapes import block, lathe, prism
from layouts.parts.glands import GlandSize
from layouts.parts.shell import BoardPlace

__all__ = [
    "board_bodies", "can_bodies", "fuse_body", "fuse_sleeve", "gland_body", "insert_body",
    "lug_body", "nut_body", "ring_body", "screw_body", "turned_to", "washer_body",
]  # fmt: skip

SCREW_SIDES = 20
INSIDE_MM = 10.0  # of a gland, with its nut, behind the wall
LUG_LONG_MM = 24.0  # from the screw's middle to the end of the crimp
CRIMP_MM = 0.6  # of a lug's barrel round its wire
BOARD_MM = 2.0  # the bare board; the rest of its thickness are parts on it


def can_bodies(diameter_mm: float, length_mm: float, sides: int) -> tuple[Mesh, Mesh]:
    """Sleeve and metal ends of one can, positive end up: the sleeve folded over both rims, a crimp
    below the positive end, which stands out as a button; the negative end is flat."""
    r, b, long = diameter_mm / 2, diameter_mm * 0.14, length_mm
    sleeve = lathe(
        [(r - 1.9, 0.02), (r - 0.7, 0.0), (r - 0.15, 0.25), (r, 0.9), (r, long - 6.2),
         (r - 0.45, long - 5.6), (r - 0.45, long - 5.0), (r, long - 4.4), (r, long - 1.1),
         (r - 0.25, long - 0.55), (r - 0.8, long - 0.4), (r - 1.9, long - 0.42)],
        sides,
    )  # fmt: skip
    low = lathe([(0.0, 0.05), (r - 1.9, 0.05)], sides)
    high = lathe(
        [(r - 1.9, long - 0.45), (r * 0.62, long - 0.45), (r * 0.55, long - 1.2),
         (b * 1.55, long - 1.2), (b * 1.3, long - 0.1), (b * 1.1, long), (0.0, long)],
        sides,
    )  # fmt: skip
    return sleeve, joined_mesh((low, high))


def ring_body(diameter_mm: float, hole_mm: float, thick_mm: float, sides: int) -> Mesh:
    """An insulating ring, its underside on z = 0."""
    inside, outside = hole_mm / 2, diameter_mm / 2 - 0.5
    return _collar(inside, outside, 0.0, thick_mm, sides)


def screw_body(
    thread_mm: float, length_mm: float, head_mm: float, head_high_mm: float, key_mm: float
) -> Mesh:
    """A screw with a socket, its head's underside on z = 0, the thread downwards."""
    m, r, k = thread_mm / 2, head_mm / 2, key_mm / 2
    return lathe(
        [(0.0, -length_mm), (m * 0.8, -length_mm), (m, -length_mm + m * 0.4), (m, 0.0), (r, 0.0),
         (r, head_high_mm - 0.3), (r - 0.3, head_high_mm), (k, head_high_mm),
         (k, head_high_mm * 0.45), (0.0, head_high_mm * 0.45)],
        SCREW_SIDES,
    )  # fmt: skip


def washer_body(hole_mm: float, diameter_mm: float, high_mm: float) -> Mesh:
    """A washer on z = 0."""
    return _collar(hole_mm / 2, diameter_mm / 2, 0.0, high_mm, SCREW_SIDES)


def nut_body(thread_mm: float, flats_mm: float, high_mm: float) -> Mesh:
    """A hexagon nut on z = 0."""
    turn = np.arange(6) * (math.tau / 6)
    ring = flats_mm / math.sqrt(3.0) * np.column_stack([np.cos(turn), np.sin(turn)])
    hole = shapely.Point(0.0, 0.0).buffer(thread_mm / 2, quad_segs=5)
    return prism(shapely.Polygon(ring).difference(hole), 0.0, high_mm)


def insert_body(thread_mm: float, hole_mm: float, long_mm: float) -> Mesh:
    """A heat-set insert, its mouth on z = 0, downwards into its hole."""
    return _collar(thread_mm / 2, hole_mm / 2, -long_mm, 0.0, SCREW_SIDES)


def gland_body(gland: GlandSize, wall_mm: float) -> Mesh:
    """A cable gland with its nut, the wall's outer face on z = 0, its cap upwards; the wire closes
    its hole."""
    hole, keep, long = gland.hole_radius_mm, gland.keep_radius_mm * 0.92, gland.long_mm
    wire = gland.wire_mm / 2
    back = -wall_mm
    return lathe(
        [(wire, back - INSIDE_MM), (hole, back - INSIDE_MM), (hole, back - 5.0), (keep, back - 5.0),
         (keep, back), (hole, back), (hole, 0.0), (keep, 0.0), (keep, 0.22 * long),
         (keep * 0.86, 0.24 * long), (keep * 0.86, 0.34 * long), (keep * 0.95, 0.36 * long),
         (keep * 0.95, 0.74 * long), (keep * 0.7, long), (wire, long), (wire, 0.8 * long),
         (0.0, 0.8 * long)],
        24,
    )  # fmt: skip


def lug_body(hole_mm: float, washer_mm: float, wire_mm: float) -> Mesh:
    """A ring lug, its screw's axis on z, its crimp towards +x; its underside on z = 0."""
    thick = 1.2
    eye = shapely.Point(0.0, 0.0).buffer(washer_mm / 2 + 0.5, quad_segs=12)
    neck = shapely.box(0.0, -wire_mm * 0.4, LUG_LONG_MM * 0.5, wire_mm * 0.4)
    flat = prism(
        eye.union(neck).difference(shapely.Point(0.0, 0.0).buffer(hole_mm / 2, quad_segs=12)),
        0.0,
        thick,
    )
    r = wire_mm / 2 + CRIMP_MM
    long = LUG_LONG_MM * 0.5
    barrel = lathe([(0.0, 0.0), (r, 0.0), (r, long), (0.0, long)], SCREW_SIDES)
    points = barrel.vertices_mm[:, [2, 0, 1]] + (long, 0.0, wire_mm / 2)
    return joined_mesh((flat, Mesh(points, barrel.faces)))


def fuse_body(plan: shapely.Polygon, z0_mm: float, z1_mm: float) -> Mesh:
    """A fuse holder: its base in the plan, a lower and narrower cap on it."""
    x0, y0, x1, y1 = plan.bounds
    shoulder = z0_mm + 0.62 * (z1_mm - z0_mm)
    inset = 0.16 * min(x1 - x0, y1 - y0)
    top = shapely.box(x0 + inset, y0 + inset, x1 - inset, y1 - inset)
    return joined_mesh((prism(plan, z0_mm, shoulder), prism(top, shoulder, z1_mm)))


def fuse_sleeve(wire_mm: float, long_mm: float) -> Mesh:
    """A fuse holder in the line of its lead, along z from 0."""
    r, thin = wire_mm / 2 + 4.5, wire_mm / 2 + 1.2
    return lathe(
        [(0.0, 0.0), (thin, 0.0), (thin, 5.0), (r, 8.0), (r, long_mm * 0.5 - 1.0),
         (r + 1.0, long_mm * 0.5 - 1.0), (r + 1.0, long_mm * 0.5 + 1.0),
         (r, long_mm * 0.5 + 1.0), (r, long_mm - 8.0), (thin, long_mm - 5.0), (thin, long_mm),
         (0.0, long_mm)],
        28,
    )  # fmt: skip


def board_bodies(board: BoardPlace, towards: tuple[float, float]) -> Mesh:
    """The protection board within the room that it has at most: the bare board at its back, parts
    of usual sizes on the side ``towards`` (x, y) the cells, or on top where it lies flat."""
    rect, low, high = board.plan, board.z0_mm, board.z1_mm
    size = np.array((rect.x1 - rect.x0, rect.y1 - rect.y0, high - low))
    thin = int(np.argmin(size))
    back = 0 if thin == 2 or towards[thin] > 0 else 1  # the end of the thin axis it stands at
    wide = [axis for axis in range(3) if axis != thin]
    corner = np.array((rect.x0, rect.y0, low))
    bare = _within(corner, size, thin, back, (0.0, 1.0), (0.0, 1.0), (0.0, BOARD_MM), wide)
    parts = [bare]
    depth = float(size[thin])
    for k in range(5):
        at = 0.06 + 0.18 * k
        tall = (0.1, 0.72) if k % 2 else (0.18, 0.6)
        deep = BOARD_MM - 0.2, max(BOARD_MM + 1.0, depth * (0.55 if k % 2 else 0.96))
        parts.append(_within(corner, size, thin, back, (at, at + 0.13), tall, deep, wide))
    return joined_mesh(tuple(parts))


def _within(
    corner: NDArray[np.float64],
    size: NDArray[np.float64],
    thin: int,
    back: int,
    along: tuple[float, float],
    across: tuple[float, float],
    deep_mm: tuple[float, float],
    wide: list[int],
) -> Mesh:
    """A block by shares of the board's sides and its distance from the board's back [mm]."""
    low, high = corner.copy(), corner.copy()
    first, second = sorted(wide, key=lambda axis: -float(size[axis]))
    for axis, shares in ((first, along), (second, across)):
        low[axis] += shares[0] * size[axis]
        high[axis] += shares[1] * size[axis]
    near, far = deep_mm
    if back:
        near, far = float(size[thin]) - far, float(size[thin]) - near
    low[thin] += near
    high[thin] += far
    return block(low.tolist(), high.tolist())


def turned_to(way: NDArray[np.float64], at_mm: NDArray[np.float64]) -> NDArray[np.float64]:
    """(4, 4): +z turned to a unit direction, the origin moved to a point."""
    up = np.asarray(way, dtype=np.float64)
    helper = np.array((0.0, 1.0, 0.0)) if abs(up[1]) < 0.9 else np.array((1.0, 0.0, 0.0))
    x = np.cross(helper, up)
    x /= np.linalg.norm(x)
    matrix = np.eye(4)
    matrix[:3, 0], matrix[:3, 1], matrix[:3, 2], matrix[:3, 3] = x, np.cross(up, x), up, at_mm
    return matrix


def _collar(inside_mm: float, outside_mm: float, z0: float, z1: float, sides: int) -> Mesh:
    return lathe(
        [(inside_mm, z0), (outside_mm, z0), (outside_mm, z1), (inside_mm, z1), (inside_mm, z0)],
        sides,
    )
