"""A body made of slabs, as plain numbers: what the solid and the mesh are both built from."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from layouts.slabs.curves import piece_boxes_mm

__all__ = ["Body", "ConeWall", "LevelFace", "WallFace", "vertex_levels_mm"]


class LevelFace(NamedTuple):
    """A flat face at one height, seen from above.

    ``loops``: the outer one first (counter-clockwise), then its holes (clockwise); each a tuple
    of (piece, +1 as stored or -1 backwards). ``sense``: +1 material below it, -1 material above.
    """

    z_mm: float
    sense: int
    loops: tuple[tuple[tuple[int, int], ...], ...]


class WallFace(NamedTuple):
    """An upright face over one piece; ``side``: +1 material left of the piece, -1 right of it."""

    piece: int
    z0_mm: float
    z1_mm: float
    side: int


class ConeWall(NamedTuple):
    """A cone between the pieces of a circle below, in turn, and one whole circle above.

    ``side``: +1 material within, -1 material round it.
    """

    lower: tuple[int, ...]
    z0_mm: float
    upper: int
    z1_mm: float
    side: int


@dataclass(frozen=True, kw_only=True, slots=True)
class Body:
    """One connected body of slabs.

    vertices : (n, 2) float [mm], shared by all levels.
    ends : (m, 2) int, first and last vertex of each piece; equal for a whole circle.
    circles : (m, 3) float [mm], centre x, y and radius of each piece's circle; radius 0: a line.
    turns : (m, 2) float [rad], first angle and sweep (> 0, counter-clockwise) of each arc.
    slabs_mm : (z0, z1) of each slab, from below.
    slab_areas : material of each slab [mm2], cones and sunk figures not counted.
    sunk_mm3, cones_mm3 : what sunk figures take away and cones add (< 0: take away).
    """

    vertices: NDArray[np.float64]
    ends: NDArray[np.int64]
    circles: NDArray[np.float64]
    turns: NDArray[np.float64]
    faces: tuple[LevelFace, ...]
    walls: tuple[WallFace, ...]
    cones: tuple[ConeWall, ...]
    slabs_mm: tuple[tuple[float, float], ...]
    slab_areas: tuple[float, ...]
    engraved_mm3: float = 0.0
    cones_mm3: float = 0.0

    def volume_mm3(self) -> float:
        """Sum of area * height, with cones and sunk figures [mm3]; exact for arcs."""
        slabs = zip(self.slab_areas, self.slabs_mm, strict=True)
        return math.fsum(area * (z1 - z0) for area, (z0, z1) in slabs) + (
            self.cones_mm3 - self.engraved_mm3
        )

    def box_mm(self) -> tuple[tuple[float, float, float], tuple[float, float, float]]:
        """Least and greatest corner of the body's upright box [mm]; exact for arcs."""
        low, high = piece_boxes_mm(self.vertices, self.ends, self.circles, self.turns)
        (x0, y0), (x1, y1) = low.min(axis=0), high.max(axis=0)
        return (
            (float(x0), float(y0), self.slabs_mm[0][0]),
            (float(x1), float(y1), self.slabs_mm[-1][1]),
        )


def vertex_levels_mm(body: Body) -> dict[int, list[float]]:
    """For each vertex the heights [mm] at which a wall or cone ends there, rising.

    Upright edges are cut at these, so that all walls at a vertex share them.
    """
    met: dict[int, set[float]] = {}
    first, last = body.ends[:, 0].tolist(), body.ends[:, 1].tolist()
    for piece, z0, z1, _ in body.walls:
        for vertex in (first[piece], last[piece]):
            met.setdefault(vertex, set()).update((z0, z1))
    for cone in body.cones:
        for piece in cone.lower:
            met.setdefault(first[piece], set()).add(cone.z0_mm)
    return {vertex: sorted(levels) for vertex, levels in met.items()}
