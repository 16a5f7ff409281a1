"""What comes off the printer: the drawn meshes, shrunk and bulged as the printer does, against the
sizes that were meant.

Measured on the meshes that are written, by sections and, in bores, by rays; nothing of how they
were drawn is read. Of a drawing only where its bores lie.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import manifold3d
import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import affinity
from shapely.geometry.base import BaseGeometry

from generators.made_part import MeshedPart
from generators.meshes.mesh import Mesh
from generators.proofs.geometry_check import TOOL_FAULT, geometry_check
from generators.proofs.holes import HoleAxis, hole_radii_mm
from generators.proofs.mesh_facts import mesh_facts
from generators.proofs.solids import mesh_solid
from layouts.checks import Check
from layouts.parts.given import GivenShape
from layouts.printer_spec import Printer
from layouts.slabs.bore import Bore

__all__ = ["PRINT_OFF_MM", "as_printed", "print_size_proofs"]

FloatArray = NDArray[np.float64]

PRINT_OFF_MM = 0.05  # chords and cut tips of sharp corners; far below what a printer holds
LEVEL = 1.0 - 1e-9  # cosine: faces that lie level
LEAST_STRETCH_MM = 0.02  # lower ones are noise between two levels
BESIDE_BORE_MM = 0.6  # sections are not compared nearer to a bore: it is measured by itself
MITRE_LIMIT = 5.0
# Figures sunk into the face on the bed are read, nothing goes into them: no deeper than this, and
# strokes no wider. Thin land between them prints as it can.
MARK_DEEP_MM, MARK_WIDE_MM, BESIDE_MARK_MM = 0.8, 1.2, 2.0
RIM_STEP_MM = 1.0  # rims are looked at so close
# Of the first layer's rims: walls that are too thin to be drawn narrower bulge there all the same.
FOOT_SHARE = 0.75
# Corners of less than 60 degrees end thinner than a line: how they come out is the printer's affair
BLUNT, THIN_EDGE_MM2, BESIDE_EDGE_MM = 2.0, 0.005, 0.8
FAR_MM = 10.0  # what has vanished counts as off by this
THICKER = (
    "smaller printer.outside_mm, hole_mm or foot_mm if they were assumed; else thicker walls: the "
    "part has some that the printer prints no thinner"
)


def print_size_proofs(printer: Printer, made: Sequence[MeshedPart]) -> tuple[Check, ...]:
    """Whether the drawn meshes are sound, and by how much the prints are off; nothing where parts
    are drawn as they are meant."""
    unsound, unsound_at = 0, ""
    worst, worst_at = 0.0, ""
    for one in made:
        if one.for_printer is None:
            continue
        drawn = one.for_printer.scaled()[0]
        facts = mesh_facts(one.name, drawn.vertices_mm, drawn.faces)
        if not (facts.watertight and facts.volume and facts.bodies == 1):
            unsound, unsound_at = unsound + 1, unsound_at or one.name
            continue
        off = _off_mm(one, drawn, printer)
        if off > worst or not worst_at:
            worst, worst_at = off, one.name
    if not (unsound_at or worst_at):
        return ()
    return (
        geometry_check(
            "print_sound",
            "parts whose mesh, drawn for the printer, is not closed, one body and outwards",
            float(unsound),
            0.0,
            "",
            where=unsound_at,
            remedy=THICKER if unsound else TOOL_FAULT,
        ),
        geometry_check(
            "print_size",
            "by how much a part is off its size after printing, by the printer's own sizes",
            worst,
            PRINT_OFF_MM,
            "mm",
            where=worst_at,
            remedy=THICKER,
        ),
    )


def as_printed(section: BaseGeometry, printer: Printer, *, first_layer: bool) -> BaseGeometry:
    """A drawn section as it comes off the printer: shrunk, holes smaller, outsides larger."""
    x, y = (1.0 - percent / 100.0 for percent in printer.shrink_percent[:2])
    foot = printer.foot_mm if first_layer else 0.0
    shrunk = affinity.scale(section, x, y, origin=(0.0, 0.0))
    parts = []
    for one in shapely.get_parts(shrunk):
        outer = _grown(shapely.Polygon(one.exterior), printer.outside_mm + foot)
        holes = [
            _grown(shapely.Polygon(ring), -printer.hole_mm / 2.0 - foot) for ring in one.interiors
        ]
        parts.append(outer.difference(shapely.union_all(holes)))
    return shapely.union_all(parts)


def _grown(shape: BaseGeometry, by_mm: float) -> BaseGeometry:
    grown: BaseGeometry = shapely.buffer(shape, by_mm, join_style="mitre", mitre_limit=MITRE_LIMIT)
    return grown


def _off_mm(one: MeshedPart, drawn: Mesh, printer: Printer) -> float:
    """The worst of all sections, of the height and of the bores."""
    given = isinstance(one.part.drawing, GivenShape)
    meant = mesh_solid(one.mesh.vertices_mm, one.mesh.faces)
    there = mesh_solid(drawn.vertices_mm, drawn.faces)
    z_scale = 1.0 - printer.shrink_percent[2] / 100.0
    top, drawn_top = (float(mesh.vertices_mm[:, 2].max()) for mesh in (one.mesh, drawn))
    off = abs(drawn_top * z_scale - top)
    bores = () if given else one.part.drawing.bores
    own = _scaled_only(printer) if given else printer
    foot_mm = printer.layer_mm * z_scale
    levels = _levels_mm(one.mesh)
    if printer.foot_mm and not given:
        levels = sorted({*levels, foot_mm})
    heights = [_heights_mm(bore) for bore in bores]
    levels = sorted({*levels, *(z for pair in heights for z in pair if levels[0] < z < levels[-1])})
    marks = _marks(one.mesh)
    for low, high in zip(levels, levels[1:], strict=False):
        if high - low < LEAST_STRETCH_MM:
            continue
        z = (low + high) / 2.0
        if any(below < z < above for below, above in heights):
            continue  # a bore opens a hole to the outside: its rim is no hole's at this height
        section = _section(meant, z)
        edges = _thin_edges(section, printer.line_wide_mm)
        foot = own.foot_mm > 0 and z < foot_mm
        printed = as_printed(_section(there, z / z_scale), own, first_layer=foot)
        look = _Look(
            z_mm=z,
            bores=bores,
            beside=edges.union(marks) if z < MARK_DEEP_MM else edges,
            share=FOOT_SHARE if foot else 1.0,
        )
        off = max(off, look.apart_mm(section, printed))
    return max([off, *(_bore_off_mm(bore, meant, there, printer) for bore in bores)])


def _scaled_only(printer: Printer) -> Printer:
    """The same printer for a shape that is given: it is scaled, its walls are left alone."""
    return replace(printer, hole_mm=0.0, outside_mm=0.0, foot_mm=0.0)


def _levels_mm(mesh: Mesh) -> list[float]:
    """Heights of all level faces."""
    a, b, c = np.moveaxis(mesh.vertices_mm[mesh.faces], 1, 0)
    normal = np.cross(b - a, c - a)
    length = np.linalg.norm(normal, axis=1)
    level = np.abs(normal[:, 2]) >= LEVEL * length
    return sorted({*np.round(a[level, 2], 6).tolist()})


def _heights_mm(bore: Bore) -> tuple[float, float]:
    """Between which heights a bore, or one wider by what a printer may add, takes material."""
    z = bore.start[2], bore.start[2] + bore.direction[2] * bore.depth_mm
    reach = bore.radius_mm * math.hypot(*bore.direction[:2]) + BESIDE_BORE_MM
    return min(z) - reach, max(z) + reach


def _marks(mesh: Mesh) -> BaseGeometry:
    """What lies on and round the figures sunk into the face on the bed."""
    a, b, c = np.moveaxis(mesh.vertices_mm[mesh.faces], 1, 0)
    normal = np.cross(b - a, c - a)
    down = normal[:, 2] <= -LEVEL * np.linalg.norm(normal, axis=1)
    floors = down & (a[:, 2] > LEAST_STRETCH_MM) & (a[:, 2] <= MARK_DEEP_MM)
    corners = np.stack([a, b, c], axis=1)[floors & (np.linalg.norm(normal, axis=1) > 0.0)][:, :, :2]
    floor = shapely.union_all(shapely.polygons(corners))
    wide = floor.buffer(-MARK_WIDE_MM / 2.0).buffer(MARK_WIDE_MM)
    return floor.difference(wide).buffer(BESIDE_MARK_MM)


def _thin_edges(section: BaseGeometry, thick_mm: float) -> BaseGeometry:
    """What lies on and round acute edges and walls thinner than a line, which print as one or not
    at all."""
    opened = section.buffer(-thick_mm / 2.0, join_style="mitre", mitre_limit=BLUNT).buffer(
        thick_mm / 2.0, join_style="mitre", mitre_limit=BLUNT
    )
    lost = shapely.get_parts(section.difference(opened))
    return shapely.union_all([one for one in lost if one.area > THIN_EDGE_MM2]).buffer(
        BESIDE_EDGE_MM
    )


def _section(solid: manifold3d.Manifold, z_mm: float) -> BaseGeometry:
    rings = [np.vstack([ring, ring[:1]]) for ring in solid.slice(z_mm).to_polygons()]
    return shapely.build_area(shapely.MultiLineString(rings))


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class _Look:
    """How two sections are compared: but for ``bores`` and for what lies ``beside``, on the
    ``share`` of their rims that is off least."""

    z_mm: float
    bores: Sequence[Bore]
    beside: BaseGeometry
    share: float

    def apart_mm(self, meant: BaseGeometry, printed: BaseGeometry) -> float:
        """How far the rims of two sections are from each other."""
        if meant.is_empty or printed.is_empty:
            return 0.0 if meant.is_empty and printed.is_empty else FAR_MM
        return max(self._from(meant, printed), self._from(printed, meant))

    def _from(self, one: BaseGeometry, other: BaseGeometry) -> float:
        points = _rim_points(one)
        for bore in self.bores:
            points = points[_beside(bore, points, self.z_mm)]
        if not self.beside.is_empty:
            shapely.prepare(self.beside)
            points = points[~shapely.contains_xy(self.beside, points)]
        if not len(points):
            return 0.0
        tree = shapely.STRtree(_edges(other))
        at = shapely.points(points)
        _, apart = tree.query_nearest(at, return_distance=True, all_matches=False)
        return float(np.quantile(apart, self.share))


def _rings(section: BaseGeometry) -> list[FloatArray]:
    """(n, 2) points of each ring, the first one last again."""
    polygons = shapely.get_parts(section)
    return [
        shapely.get_coordinates(ring) for one in polygons for ring in (one.exterior, *one.interiors)
    ]


def _rim_points(section: BaseGeometry) -> FloatArray:
    """Corners of a section, and points along its edges."""
    along = [shapely.get_coordinates(shapely.segmentize(shapely.linestrings(ring), RIM_STEP_MM))
             for ring in _rings(section)]  # fmt: skip
    return np.vstack(along)


def _edges(section: BaseGeometry) -> NDArray[np.object_]:
    rows = [np.hstack([ring[:-1], ring[1:]]) for ring in _rings(section)]
    edges: NDArray[np.object_] = shapely.linestrings(np.vstack(rows).reshape(-1, 2, 2))
    return edges


def _beside(bore: Bore, points: FloatArray, z_mm: float) -> NDArray[np.bool_]:
    """Which points of a section lie clear of a bore."""
    way = np.array(bore.direction)
    start = np.array(bore.start) - 1.0 * way
    from_start = np.column_stack([points, np.full(len(points), z_mm)]) - start
    deep = from_start @ way
    aside = np.linalg.norm(from_start - deep[:, None] * way, axis=1)
    clear: NDArray[np.bool_] = (
        (aside > bore.radius_mm + BESIDE_BORE_MM) | (deep < 0.0) | (deep > bore.depth_mm + 2.0)
    )
    return clear


def _bore_off_mm(
    bore: Bore, meant: manifold3d.Manifold, drawn: manifold3d.Manifold, printer: Printer
) -> float:
    """How far a bore's printed radius is off, where both meshes have a wall round it."""
    shrink = np.array([1.0 - percent / 100.0 for percent in printer.shrink_percent])
    into = np.array(bore.direction)
    axis = HoleAxis(at_mm=np.array(bore.start), into=into)
    less = max(printer.outside_mm, printer.hole_mm / 2.0, 0.0)  # the printer adds it to both faces
    low, high = less, bore.depth_mm - bore.past_mm - less
    if high - low < LEAST_STRETCH_MM:
        return 0.0
    radii = hole_radii_mm([meant], axis, low, high)
    shrunk = drawn.scale(shrink.tolist())
    printed = hole_radii_mm([shrunk], axis, low, high) - printer.hole_mm / 2.0
    walled = np.abs(radii - bore.radius_mm) < BESIDE_BORE_MM
    if not walled.any():
        return 0.0
    return float(np.abs(printed - radii)[walled].max())
