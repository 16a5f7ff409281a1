"""The finished pack as bodies that must fit: printed parts and clearances, outside only."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import ConvexHull

from layouts.fitting.surface import Surface, joined, make_surface
from layouts.parts.clearance import Clearance, ClearanceKind
from layouts.parts.convex import ConvexPiece

__all__ = ["BodySolid", "PackBody", "make_body"]

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]

SPACING_MM = 5.0  # longest side of the small triangles
INSIDE_NOISE_MM = 1e-6  # a triangle on a filled solid's face is inside it
SLIVER_SHARE = 1e-9  # a piece's face this thin for its size decides no plane


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class BodySolid:
    """One closed solid: ``planes`` (k, 4) outward normal and offset where it is convex.

    ``outer`` (m,): triangles that no filled solid hides. Bodies may overlap each other."""

    name: str
    vertices_mm: FloatArray
    faces: IntArray
    outer: NDArray[np.bool_]
    planes: FloatArray | None = None


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class PackBody:
    """All solids that must fit, in the pack's coordinates.

    ``surfaces``: outer triangles of each; ``surface``: of all of them, small ones for distances;
    ``skin``: of those that are not convex, the printed parts; ``owner`` (m,): each triangle's
    solid. ``points`` (n, 3): corners of the small triangles;
    ``hull``: the outermost corners of all solids. ``low_mm``, ``high_mm``: the body's box.
    """

    solids: tuple[BodySolid, ...]
    surfaces: tuple[Surface, ...]
    surface: Surface
    skin: Surface | None
    owner: IntArray
    points: FloatArray
    hull: FloatArray
    low_mm: FloatArray
    high_mm: FloatArray

    def name_of(self, face: int) -> str:
        """The solid that an outer triangle belongs to."""
        return self.solids[int(self.owner[face])].name

    @property
    def middle_mm(self) -> FloatArray:
        """Middle of the body's box."""
        middle: FloatArray = (self.low_mm + self.high_mm) / 2
        return middle


def make_body(
    parts: Sequence[tuple[str, FloatArray, IntArray]],
    clearances: Iterable[Clearance],
    *,
    base: PackBody | None = None,
) -> PackBody:
    """The body of a pack.

    ``parts``: name, points (n, 3) and triangles (m, 3) of each placed printed part, closed and
    facing outwards. ``clearances``: bodies that must stay free as well. What lies within one of
    kind INSIDE is left out of distances. ``base``: a body that is part of this one. Raises
    ValueError where there is nothing at all.
    """
    clearances = tuple(clearances)
    rooms = [
        _planes(p)
        for clearance in clearances
        if clearance.kind is ClearanceKind.INSIDE
        for p in clearance.pieces
    ]
    solids = [
        BodySolid(name=name, vertices_mm=v, faces=f, outer=~_hidden(v[f], rooms))
        for name, v, f in parts
    ]
    solids += [
        BodySolid(
            name=clearance.name,
            vertices_mm=piece.vertices_mm,
            faces=piece.faces,
            outer=np.ones(len(piece.faces), dtype=np.bool_),
            planes=_planes(piece),
        )
        for clearance in clearances
        for piece in clearance.pieces
    ]
    each = [make_surface(s.vertices_mm[s.faces[s.outer]], spacing_mm=SPACING_MM) for s in solids]
    if base is not None:
        solids, each = [*base.solids, *solids], [*base.surfaces, *each]
    if not solids:
        raise ValueError("a body needs at least one part or clearance")
    points = np.vstack([solid.vertices_mm for solid in solids])
    # corners that two solids share mix their directions: no sides are decided by this surface
    surface = joined(each)
    printed = [one for one, s in zip(each, solids, strict=True) if s.planes is None]
    corners = np.unique(np.round(surface.small.reshape(-1, 3), 9), axis=0)
    return PackBody(
        solids=tuple(solids),
        surfaces=tuple(each),
        surface=surface,
        skin=joined(printed) if printed else None,
        owner=np.repeat(np.arange(len(solids)), [len(one.corners) for one in each]),
        points=corners,
        hull=_hull(points),
        low_mm=points.min(axis=0),
        high_mm=points.max(axis=0),
    )


def _hull(points: FloatArray) -> FloatArray:
    """The points that are corners of the convex hull."""
    hull: FloatArray = points[ConvexHull(points).vertices]
    return hull


def _planes(piece: ConvexPiece) -> FloatArray:
    """(k, 4) unit outward normals and offsets of a piece's faces."""
    a, b, c = (piece.vertices_mm[piece.faces[:, k]] for k in range(3))
    cross = np.cross(b - a, c - a)
    size = np.linalg.norm(cross, axis=1)
    sound = size > SLIVER_SHARE * size.max()
    normal = cross[sound] / size[sound, None]
    offset = np.einsum("ij,ij->i", normal, a[sound])
    kept = np.unique(np.round(np.column_stack([normal, offset]), 9), axis=0)
    return np.asarray(kept, dtype=np.float64)


def _hidden(corners: FloatArray, rooms: Sequence[FloatArray]) -> NDArray[np.bool_]:
    """(m,) triangles (m, 3, 3) that lie within one of the filled convex solids."""
    hidden = np.zeros(len(corners), dtype=np.bool_)
    for planes in rooms:
        beyond = corners @ planes[:, :3].T - planes[:, 3]
        hidden |= (beyond <= INSIDE_NOISE_MM).all(axis=(1, 2))
    return hidden
