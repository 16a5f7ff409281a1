"""A part cut into the printer's layers: one section for all layers that do not differ.

Sections are read off the drawing's own pieces at the middle of each layer. Those of cones and
bores, which change from layer to layer, are cut once for every few layers.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from layouts.parts.drawing import CHORD_MM, Drawing
from layouts.parts.given import GivenShape
from layouts.parts.part import Part
from layouts.slabs.body import Body, ConeWall
from layouts.slabs.bore import Bore
from layouts.slabs.faces import Plan

__all__ = ["LayerStack", "disc_at", "layer_stack", "section_at"]

FloatArray = NDArray[np.float64]

LEANING_LAYERS = 5  # one section for so many layers where walls lean: an estimate needs no more
BORE_SIDES = 24  # of the prism that stands for a bore: its area is within 1.2 %
TOP_NOISE_MM = 1e-6  # a part of 2.0 mm has ten layers of 0.2, whatever the last digit
MESH_SNAP_MM = 1e-5  # ends of cuts through neighbouring triangles: float noise


@dataclass(frozen=True, kw_only=True, slots=True)
class LayerStack:
    """``sections``: the different ones; ``of``: number of the section of each layer, from below."""

    layer_mm: float
    sections: tuple[BaseGeometry, ...]
    of: tuple[int, ...]


def layer_stack(part: Part, layer_mm: float, *, leaning_layers: int = LEANING_LAYERS) -> LayerStack:
    """The layers of a part and of the loose bodies that are printed with it, one copy.

    ``leaning_layers``: how many share a section where walls lean."""
    shapes = [_sliced(one, leaning_layers) for one in (part.drawing, *part.supports)]
    top = max(one.box_mm()[1][2] for one in (part.drawing, *part.supports))
    heights = np.arange(layer_mm / 2.0, top - TOP_NOISE_MM, layer_mm)
    keys = [tuple(keys) for keys in zip(*(one.keys(heights) for one in shapes), strict=True)]
    numbers: dict[tuple[bytes, ...], int] = {}
    sections: list[BaseGeometry] = []
    for key, z in zip(keys, heights.tolist(), strict=True):
        if key not in numbers:
            numbers[key] = len(sections)
            cuts = [one.section(z) for one, k in zip(shapes, key, strict=True) if k]
            # loose bodies lie apart from the part: nothing to unite
            pieces = [piece for cut in cuts for piece in shapely.get_parts(cut)]
            sections.append(shapely.MultiPolygon([one for one in pieces if not one.is_empty]))
    return LayerStack(
        layer_mm=layer_mm, sections=tuple(sections), of=tuple(numbers[key] for key in keys)
    )


def section_at(shape: Drawing | GivenShape, z_mm: float) -> BaseGeometry:
    """The material of a shape at one height."""
    return _sliced(shape, LEANING_LAYERS).section(z_mm)


def _sliced(shape: Drawing | GivenShape, leaning_layers: int) -> _DrawnSections | _MeshSections:
    if isinstance(shape, GivenShape):
        return _MeshSections(shape, leaning_layers)
    return _DrawnSections(shape, leaning_layers)


def _leaning_key(heights: FloatArray, z0: float, z1: float, layers: int) -> NDArray[np.int64]:
    """0 outside of z0 to z1; within, a new number for every so many layers."""
    inside = (heights >= z0) & (heights < z1)
    return np.where(inside, 1 + (np.cumsum(inside) - 1) // layers, 0)


class _DrawnSections:
    """Sections of a drawing's body, its bores cut."""

    def __init__(self, drawing: Drawing, leaning_layers: int) -> None:
        body = drawing.body
        self._body, self._bores, self._leaning_layers = body, drawing.bores, leaning_layers
        self._plan = Plan(body.vertices, body.ends, body.circles, body.turns)
        self._points = _piece_points(body)
        self._z0 = np.array([wall.z0_mm for wall in body.walls])
        self._z1 = np.array([wall.z1_mm for wall in body.walls])
        self._pieces = np.array([wall.piece for wall in body.walls])
        self._sides = np.array([wall.side for wall in body.walls])

    def keys(self, heights: FloatArray) -> list[bytes]:
        """Equal for layers whose sections are; empty where there is no material."""
        low, high = self._body.slabs_mm[0][0], self._body.slabs_mm[-1][1]
        leaning = [
            _leaning_key(heights, *span, self._leaning_layers)
            for span in sorted({(one.z0_mm, one.z1_mm) for one in self._body.cones})
            + [_bore_span_mm(bore) for bore in self._bores]
        ]
        keys = []
        for k, z in enumerate(heights.tolist()):
            cut = np.packbits(self._cut(z)).tobytes()
            leans = np.array([one[k] for one in leaning], np.int64).tobytes()
            keys.append(cut + leans if low < z < high else b"")
        return keys

    def section(self, z_mm: float) -> BaseGeometry:
        """The material at one height."""
        cut = self._cut(z_mm)
        cones = [one for one in self._body.cones if one.z0_mm <= z_mm < one.z1_mm]
        shape: BaseGeometry = shapely.Polygon()
        if cut.any():
            loops = self._plan.chain(self._pieces[cut], self._sides[cut])
            rings = [
                shapely.Polygon(np.vstack([self._run(*item) for item in loop])) for loop in loops
            ]
            areas = [self._plan.loop_area_mm2(loop) for loop in loops]
            outer = [ring for ring, area in zip(rings, areas, strict=True) if area > 0]
            holes = [ring for ring, area in zip(rings, areas, strict=True) if area <= 0]
            shape = _nested_rings(outer, holes)
        for side in (1, -1):
            discs = [disc_at(self._body, one, z_mm) for one in cones if one.side == side]
            if discs:
                united = shapely.union_all(discs)
                shape = shape.union(united) if side > 0 else shape.difference(united)
        for bore in self._bores:
            low, high = _bore_span_mm(bore)
            if low < z_mm < high:
                shape = shape.difference(_bore_section(bore, z_mm))
        return shape

    def _cut(self, z_mm: float) -> NDArray[np.bool_]:
        """Walls at one height; where some end and others begin, those that begin."""
        return (self._z0 <= z_mm) & (z_mm < self._z1)

    def _run(self, piece: int, sign: int) -> FloatArray:
        """(k, 2) points along a piece, without its end."""
        points = self._points[piece]
        return points[:-1] if sign > 0 else points[:0:-1]


def _nested_rings(outer: Sequence[BaseGeometry], holes: Sequence[BaseGeometry]) -> BaseGeometry:
    """Outer rings less the holes in them; an island in a hole is an outer ring of its own."""
    if not holes:
        return shapely.union_all(outer) if len(outer) > 1 else outer[0]
    if len(outer) == 1:
        return shapely.Polygon(outer[0].exterior.coords, [hole.exterior.coords for hole in holes])
    tree = shapely.STRtree(outer)
    home: dict[int, list[BaseGeometry]] = {}
    for hole in holes:
        # a hole may touch its ring, so a point within it decides; that may lie in an island of its
        round_it = tree.query(hole.representative_point(), predicate="within").tolist()
        larger = [k for k in round_it if outer[k].area > hole.area]
        home.setdefault(min(larger, key=lambda k: outer[k].area), []).append(hole)
    return shapely.MultiPolygon(
        [
            shapely.Polygon(one.exterior.coords, [hole.exterior.coords for hole in home.get(k, ())])
            for k, one in enumerate(outer)
        ]
    )


def _piece_points(body: Body) -> list[FloatArray]:
    """Both ends of each line; an arc's points, chords as near to it as the mesh's."""
    first, last = body.vertices[body.ends[:, 0]], body.vertices[body.ends[:, 1]]
    points = []
    for k, (x, y, radius) in enumerate(body.circles.tolist()):
        if radius == 0.0:
            points.append(np.stack([first[k], last[k]]))
            continue
        start, sweep = body.turns[k].tolist()
        points.append(_arc_points((x, y), radius, start, sweep))
        points[-1][0], points[-1][-1] = first[k], last[k]
    return points


def _arc_points(
    centre: tuple[float, float], radius: float, start: float, sweep: float
) -> FloatArray:
    step = 2.0 * math.acos(max(1.0 - CHORD_MM / radius, 0.5))
    angles = start + sweep * np.linspace(0.0, 1.0, max(2, math.ceil(sweep / step) + 1))
    return centre + radius * np.column_stack([np.cos(angles), np.sin(angles)])


def disc_at(body: Body, cone: ConeWall, z_mm: float) -> BaseGeometry:
    """A cone's circle at one height."""
    lower, upper = body.circles[cone.lower[0]], body.circles[cone.upper]
    share = (z_mm - cone.z0_mm) / (cone.z1_mm - cone.z0_mm)
    x, y, radius = (lower + share * (upper - lower)).tolist()
    return shapely.Polygon(_arc_points((x, y), radius, 0.0, math.tau)[:-1])


def _bore_span_mm(bore: Bore) -> tuple[float, float]:
    z = bore.start[2], bore.start[2] + bore.depth_mm * bore.direction[2]
    across = bore.radius_mm * math.sqrt(max(0.0, 1.0 - bore.direction[2] ** 2))
    return min(z) - across, max(z) + across


def _bore_section(bore: Bore, z_mm: float) -> BaseGeometry:
    """What a bore takes at one height: the hull of where a prism's edges pass it."""
    along = np.array(bore.direction)
    across = np.cross(along, np.eye(3)[int(np.argmin(np.abs(along)))])
    across /= np.linalg.norm(across)
    angle = math.tau * np.arange(BORE_SIDES) / BORE_SIDES
    ring = bore.radius_mm * (
        np.cos(angle)[:, None] * across + np.sin(angle)[:, None] * np.cross(along, across)
    )
    near = np.array(bore.start) + ring
    far = near + bore.depth_mm * along
    edges = np.concatenate(
        [
            np.stack([near, far], axis=1),
            np.stack([near, np.roll(near, -1, axis=0)], axis=1),
            np.stack([far, np.roll(far, -1, axis=0)], axis=1),
        ]
    )
    points = _crossings(edges, z_mm)
    return shapely.MultiPoint(points).convex_hull if len(points) > 2 else shapely.Polygon()


def _crossings(edges: FloatArray, z_mm: float) -> FloatArray:
    """(k, 2) where edges (m, 2, 3) pass a height."""
    low, high = edges[:, 0, 2] - z_mm, edges[:, 1, 2] - z_mm
    passing = (low < 0.0) != (high < 0.0)
    share = low[passing] / (low[passing] - high[passing])
    there = edges[passing, 0] + share[:, None] * (edges[passing, 1] - edges[passing, 0])
    return np.asarray(there[:, :2])


class _MeshSections:
    """Sections of a given shape, cut from its mesh."""

    def __init__(self, shape: GivenShape, leaning_layers: int) -> None:
        self._corners, self._leaning_layers = shape.vertices_mm[shape.faces], leaning_layers

    def keys(self, heights: FloatArray) -> list[bytes]:
        """A section of its own for every few layers."""
        low, high = self._corners[:, :, 2].min(), self._corners[:, :, 2].max()
        group = np.arange(len(heights)) // self._leaning_layers
        inside = (heights > low) & (heights < high)
        return [
            int(g).to_bytes(4) if there else b"" for g, there in zip(group, inside, strict=True)
        ]

    def section(self, z_mm: float) -> BaseGeometry:
        """The material at one height."""
        corners = self._corners
        above = corners[:, :, 2] > z_mm
        cut = corners[above.any(axis=1) & ~above.all(axis=1)]
        if not len(cut):
            return shapely.Polygon()
        ends = []
        for a in range(3):
            edge = np.stack([cut[:, a], cut[:, (a + 1) % 3]], axis=1)
            low, high = edge[:, 0, 2] - z_mm, edge[:, 1, 2] - z_mm
            passing = (low > 0.0) != (high > 0.0)
            share = np.where(passing, low / np.where(passing, low - high, 1.0), np.nan)
            ends.append(edge[:, 0, :2] + share[:, None] * (edge[:, 1, :2] - edge[:, 0, :2]))
        three = np.stack(ends, axis=1)
        two = three[~np.isnan(three[:, :, 0])].reshape(-1, 2, 2)
        lines = shapely.linestrings(np.round(two / MESH_SNAP_MM) * MESH_SNAP_MM)
        rings = shapely.get_parts(shapely.polygonize(lines[shapely.length(lines) > 0.0]))
        # polygonize gives holes as faces of their own: a face is material where its nest is odd
        filled = [shapely.Polygon(ring.exterior) for ring in rings]
        shape: BaseGeometry = shapely.Polygon()
        for one in sorted(filled, key=lambda ring: -ring.area):
            shape = shape.symmetric_difference(one)
        return shape
