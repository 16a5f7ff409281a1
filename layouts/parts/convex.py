"""Convex pieces as closed triangle meshes: prisms, round bars and bends of a round wire."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["ConvexPiece", "bar", "bend", "block", "moved_piece", "prism"]

# Rounds become regular polygons round the circle, so no piece is ever smaller than its round.
BAR_SIDES = 24
BEND_STEPS = 6  # a quarter bend; a step of 15 degrees adds 0.9 % to its outer radius

FloatArray = NDArray[np.float64]


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class ConvexPiece:
    """A convex polyhedron: ``vertices_mm`` (n, 3), ``faces`` (m, 3) seen from outside ccw."""

    vertices_mm: FloatArray
    faces: NDArray[np.int64]


def moved_piece(piece: ConvexPiece, matrix: FloatArray) -> ConvexPiece:
    """The piece put in place by a (4, 4) matrix that turns and shifts."""
    there = piece.vertices_mm @ matrix[:3, :3].T + matrix[:3, 3]
    return ConvexPiece(vertices_mm=there, faces=piece.faces)


def _loft(low: FloatArray, high: FloatArray) -> ConvexPiece:
    """Between two like rings (n, 3), ccw when seen from ``high`` towards ``low``."""
    n = len(low)
    k = np.arange(n)
    after = (k + 1) % n
    fan = np.arange(1, n - 1)
    first = np.zeros_like(fan)
    faces = np.vstack(
        [
            np.column_stack([k, after, after + n]),
            np.column_stack([k, after + n, k + n]),
            np.column_stack([first, fan + 1, fan]),
            np.column_stack([first, fan, fan + 1]) + n,
        ]
    )
    return ConvexPiece(vertices_mm=np.vstack([low, high]), faces=faces.astype(np.int64))


def prism(ring_mm: Sequence[tuple[float, float]], z0_mm: float, z1_mm: float) -> ConvexPiece:
    """An upright prism over a convex ring, corners counter-clockwise."""
    ring = np.asarray(ring_mm, dtype=np.float64)
    low, high = (np.column_stack([ring, np.full(len(ring), z)]) for z in (z0_mm, z1_mm))
    return _loft(low, high)


def block(low_mm: Sequence[float], high_mm: Sequence[float]) -> ConvexPiece:
    """An upright box between two corners."""
    (x0, y0, z0), (x1, y1, z1) = low_mm, high_mm
    return prism(((x0, y0), (x1, y0), (x1, y1), (x0, y1)), z0, z1)


def _axes(along: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Two unit vectors that make a right-handed frame with the unit vector ``along``."""
    other = np.eye(3)[int(np.argmin(np.abs(along)))]
    first = np.cross(other, along)
    first /= np.linalg.norm(first)
    return first, np.cross(along, first)


def bar(start_mm: Sequence[float], end_mm: Sequence[float], radius_mm: float) -> ConvexPiece:
    """A round bar between two points, as a circumscribed prism of ``BAR_SIDES`` sides."""
    start, end = np.asarray(start_mm, dtype=np.float64), np.asarray(end_mm, dtype=np.float64)
    along = (end - start) / np.linalg.norm(end - start)
    first, second = _axes(along)
    angle = (np.arange(BAR_SIDES) + 0.5) * (math.tau / BAR_SIDES)
    reach = radius_mm / math.cos(math.pi / BAR_SIDES)
    ring = reach * (np.cos(angle)[:, None] * first + np.sin(angle)[:, None] * second)
    return _loft(start + ring, end + ring)


def bend(
    start_mm: Sequence[float],
    along: Sequence[float],
    towards: Sequence[float],
    *,
    wire_mm: float,
    inside_mm: float,
) -> tuple[ConvexPiece, ...]:
    """A quarter bend of a round wire of diameter ``wire_mm``, in ``BEND_STEPS`` convex pieces.

    The wire comes to ``start_mm`` running ``along`` and leaves running ``towards`` (unit
    vectors, square to each other). ``inside_mm``: radius on the bend's inner side. Each piece
    holds all of the wire between its two end planes.
    """
    start, out, way = (np.asarray(v, dtype=np.float64) for v in (start_mm, along, towards))
    axis = np.cross(way, out)
    centre = start + way * (inside_mm + wire_mm / 2)
    half = math.pi / 4 / BEND_STEPS
    section = _bend_section(inside_mm, wire_mm / 2, half)
    rings = []
    for k in range(BEND_STEPS + 1):
        angle = k * 2 * half
        spoke = -way * math.cos(angle) + out * math.sin(angle)
        rings.append(centre + section[:, :1] * spoke + section[:, 1:] * axis)
    return tuple(_loft(low, high) for low, high in zip(rings[:-1], rings[1:], strict=True))


def _bend_section(inside_mm: float, radius_mm: float, half_rad: float) -> FloatArray:
    """(n, 2) distance from the bend's axis and height along it, of a ring at each end plane.

    Chords from plane to plane lie on the inner side of their arcs: the ring reaches as much
    farther out as its own chord falls short, and keeps the inner points.
    """
    angle = (np.arange(BAR_SIDES) + 0.5) * (math.tau / BAR_SIDES)
    reach = radius_mm / math.cos(math.pi / BAR_SIDES)
    far = inside_mm + radius_mm + reach * np.cos(angle)
    high = reach * np.sin(angle)
    far = np.where(np.cos(angle) > 0, far / math.cos(half_rad), far)
    return np.column_stack([far, high])
