"""Small meshes and solids of known volume for the export tests."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import trimesh
from numpy.typing import NDArray

BOX_MM = (30.0, 20.0, 10.0)


@dataclass(frozen=True)
class PlainMesh:
    """Vertices and faces, as the exporters take them."""

    vertices_mm: NDArray[np.float64]
    faces: NDArray[np.int64]


def box_mesh(size_mm: tuple[float, float, float] = BOX_MM) -> PlainMesh:
    """A box standing on z = 0 with one corner at the origin."""
    box = trimesh.creation.box(size_mm)
    return PlainMesh(box.vertices + np.asarray(size_mm) / 2.0, box.faces)


def ring_mesh() -> PlainMesh:
    """A round ring with odd numbers in its corners, standing on z = 0."""
    ring = trimesh.creation.annulus(r_min=7.1, r_max=math.pi * 4.0, height=3.3)
    return PlainMesh(ring.vertices + np.array([0.0, 0.0, 3.3 / 2.0]), ring.faces)


def turned(x: float, y: float, z: float = 0.0, *, angle_rad: float = 0.0) -> NDArray[np.float64]:
    """A turn about z, then a shift."""
    cos, sin = math.cos(angle_rad), math.sin(angle_rad)
    return np.array([[cos, -sin, 0, x], [sin, cos, 0, y], [0, 0, 1, z], [0, 0, 0, 1.0]])


def half_turn_about_y(z: float) -> NDArray[np.float64]:
    """(x, y, z) -> (-x, y, -z), then up."""
    return np.array([[-1.0, 0, 0, 0], [0, 1, 0, 0], [0, 0, -1, z], [0, 0, 0, 1]])
