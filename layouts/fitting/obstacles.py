"""What a body must stay clear of in a space: walls of the free space, and the bodies in it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from layouts.fitting.surface import Surface, make_surface
from layouts.spaces.regions import space_mesh
from layouts.spaces.space import Prism, Solid, Space

__all__ = ["Obstacle", "obstacles_of", "side_words"]

FloatArray = NDArray[np.float64]

MOST_SMALL = 120_000  # small triangles of all obstacles at most, about
LEAST_SPACING_MM = 4.0
# A face counts as level or upright, or as facing along an axis, within 8 degrees of it.
ALONG = 0.99


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Obstacle:
    """One closed surface whose normals point to where the body may be.

    ``room``: it is the free space's own boundary, else a body to stay out of. ``surface``: all that
    a gap is kept to. ``floor``: the free space stands on a floor at z = 0, left out of ``surface``:
    a body may stand on it, touching it is no gap that could be too small. ``low_mm``, ``high_mm``:
    its box. ``apart`` (k, 3): one corner of each of its separate bodies."""

    name: str
    room: bool
    surface: Surface
    floor: bool
    apart: FloatArray
    low_mm: FloatArray
    high_mm: FloatArray
    solid: Solid

    def named(self, face: int) -> str:
        """In words, at one of its triangles."""
        if not self.room:
            return f"'{self.name}'"
        return f"the {side_words(-self.surface.normal[face])} of the space"


def side_words(outward: FloatArray) -> str:
    """A wall by the way it lies in: ``+x side``; ``wall towards (0.5, -0.87, 0)`` if aslant."""
    axis = int(np.abs(outward).argmax())
    if abs(outward[axis]) >= ALONG:
        return f"{'+' if outward[axis] > 0 else '-'}{'xyz'[axis]} side"
    told = ", ".join(f"{round(float(v), 2) + 0.0:g}" for v in outward)
    return f"wall towards ({told})"


def obstacles_of(space: Space) -> tuple[Obstacle, ...]:
    """The free space's boundary first, if there is one, then every body to stay out of."""
    meshes = space_mesh(space)
    rooms = len(meshes) - len(space.keep_out)
    solids = [(solid, k < rooms) for k, solid in enumerate(meshes)]
    area = sum(_area_mm2(solid) for solid, _ in solids)
    # a small triangle is about half a square of its longest side by half of that
    spacing = max(LEAST_SPACING_MM, float(np.sqrt(4.0 * area / MOST_SMALL)))
    return tuple(_obstacle(solid, room, space.room, spacing) for solid, room in solids)


def _area_mm2(solid: Solid) -> float:
    a, b, c = (solid.vertices_mm[solid.faces[:, k]] for k in range(3))
    return float(np.linalg.norm(np.cross(b - a, c - a), axis=1).sum() / 2)


def _one_each(solid: Solid) -> FloatArray:
    """One corner of each separate body of a mesh."""
    ends = solid.faces[:, [0, 1, 1, 2]].reshape(-1, 2)
    n = len(solid.vertices_mm)
    links = coo_array((np.ones(len(ends), np.int8), (ends[:, 0], ends[:, 1])), shape=(n, n))
    _, label = connected_components(links, directed=False)
    used = np.unique(solid.faces)
    _, first = np.unique(label[used], return_index=True)
    return solid.vertices_mm[used[first]]


def _obstacle(solid: Solid, room: bool, kind: Prism | Solid | None, spacing: float) -> Obstacle:
    faces = solid.faces[:, ::-1] if room else solid.faces
    surface = make_surface(solid.vertices_mm[faces], spacing_mm=spacing)
    floor = room and isinstance(kind, Prism)
    if floor:
        surface = surface.without(surface.corners[:, :, 2].max(axis=1) <= 0.0)
    return Obstacle(
        name=solid.name,
        room=room,
        surface=surface,
        floor=floor,
        apart=_one_each(solid),
        low_mm=solid.vertices_mm.min(axis=0),
        high_mm=solid.vertices_mm.max(axis=0),
        solid=solid,
    )
