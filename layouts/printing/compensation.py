"""A level section drawn for a printer: holes wider, outsides narrower by what the printer adds.

A ring that encloses air is a hole; every other ring is an outside, those of slots that are open at
an end too. Sizes are those after shrinkage: the whole part is scaled last.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from layouts.printer_spec import Printer

__all__ = ["Offsets", "drawn_section", "moved_ring", "offsets_of"]

FloatArray = NDArray[np.float64]

SHARP_COSINE = -0.9  # corners sharper than this (about 26 degrees) are cut by the general offset
REVERSED_SHARE = 0.02  # of an edge's length, below which it counts as turned over
THIN_NOISE_MM = 0.02  # thinner remains of corners and chords are no wall
THIN_MM2 = 0.02  # smaller ones neither
JOIN_MM = 0.05  # by which thin walls reach into the thicker ones that they stand on
MITRE_LIMIT = 5.0
ROUND_SHARE = 0.999  # so that the round offset's own chords stay within the mitred one


@dataclass(frozen=True, kw_only=True, slots=True)
class Offsets:
    """By how much rings move into the material [mm], < 0: away from it. ``hole``: of rings that
    enclose air; ``outside``: of all others. ``least``: what is left of a wall at least; a wall
    that would become thinner stays as it is."""

    hole: float
    outside: float
    least: float

    @property
    def most(self) -> float:
        """The greater inward one, 0 where both widen walls."""
        return max(self.hole, self.outside, 0.0)

    def more(self, foot_mm: float) -> Offsets:
        """The same in the first layer."""
        return Offsets(hole=self.hole + foot_mm, outside=self.outside + foot_mm, least=self.least)


def offsets_of(printer: Printer) -> Offsets:
    """Half the undersize of holes on each side, the growth of outsides; half a line is left of any
    wall (common practice, no source: slicers drop what is narrower)."""
    return Offsets(
        hole=printer.hole_mm / 2.0,
        outside=printer.outside_mm,
        least=printer.line_wide_mm / 2.0,
    )


def drawn_section(rings: Sequence[FloatArray], offsets: Offsets) -> BaseGeometry:
    """The region within ``rings`` (n, 2), material at their left, as it is drawn.

    Corners stay corners. Walls of which less than ``offsets.least`` would be left, and small
    islands, stay as they are.
    """
    region = _region(rings)
    moved = [moved_ring(ring, _inward(ring, offsets)) for ring in rings]
    thin = _thin(region, offsets)
    if all(ring is not None for ring in moved):
        drawn = _region([ring for ring in moved if ring is not None])
        if drawn.is_valid and thin.is_empty and len(drawn.geoms) == len(region.geoms):
            return drawn
    drawn = shapely.union_all([_offset(one, offsets) for one in region.geoms])
    if thin.is_empty:
        return drawn
    reach = max(offsets.hole, offsets.outside) + JOIN_MM  # to what is left of thicker walls
    return drawn.union(thin.buffer(reach).intersection(region))


def moved_ring(ring: FloatArray, inward_mm: float) -> FloatArray | None:
    """A ring whose edges lie ``inward_mm`` further left, < 0: right, corner for corner.

    None where an edge turns over or a corner is too sharp.
    """
    if inward_mm == 0.0:
        return ring
    edges = np.roll(ring, -1, axis=0) - ring
    lengths = np.hypot(*edges.T)
    along = edges / lengths[:, None]
    left = np.column_stack([-along[:, 1], along[:, 0]])
    before = np.roll(left, 1, axis=0)
    cosine = np.einsum("ij,ij->i", left, before)
    if cosine.min() < SHARP_COSINE:
        return None
    moved: FloatArray = ring + inward_mm * (left + before) / (1.0 + cosine)[:, None]
    there = np.einsum("ij,ij->i", np.roll(moved, -1, axis=0) - moved, along)
    return None if (there < REVERSED_SHARE * lengths).any() else moved


def _inward(ring: FloatArray, offsets: Offsets) -> float:
    return offsets.outside if _twice_area_mm2(ring) > 0 else offsets.hole


def _twice_area_mm2(ring: FloatArray) -> float:
    x, y = (ring - ring[0]).T
    return float(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y))


def _region(rings: Sequence[FloatArray]) -> shapely.MultiPolygon:
    """Outer rings with the holes that lie in them; an island in a hole is an outer ring."""
    area = [_twice_area_mm2(ring) for ring in rings]
    outer = sorted((k for k, one in enumerate(area) if one > 0), key=lambda k: area[k])
    filled = [shapely.Polygon(rings[k]) for k in outer]
    shapely.prepare(filled)
    holes: list[list[FloatArray]] = [[] for _ in outer]
    for k, one in enumerate(area):
        if one < 0:
            at = shapely.Point(rings[k][0])
            within = next((n for n, shape in enumerate(filled) if shape.contains(at)), None)
            if within is not None:  # a hole of an outer ring that another one has swallowed
                holes[within].append(rings[k])
    return shapely.MultiPolygon(
        [shapely.Polygon(rings[k], inner) for k, inner in zip(outer, holes, strict=True)]
    )


def _offset(one: shapely.Polygon, offsets: Offsets) -> BaseGeometry:
    """One polygon by the general offset, which parts and joins what it must."""
    outer = _mitred(shapely.Polygon(one.exterior), -offsets.outside)
    holes = [_mitred(shapely.Polygon(ring), offsets.hole) for ring in one.interiors]
    return outer.difference(shapely.union_all(holes)) if holes else outer


def _thin(region: BaseGeometry, offsets: Offsets) -> BaseGeometry:
    """What of a region an offset leaves less than ``least`` of."""
    reach = max(offsets.hole, offsets.outside) + offsets.least / 2.0
    if reach <= 0:
        return shapely.MultiPolygon()
    lost = region.difference(_mitred(_mitred(region, -reach), reach))
    lost = _mitred(lost, -THIN_NOISE_MM / 2.0)
    parts = [one for one in shapely.get_parts(lost) if one.area > THIN_MM2]
    return _mitred(shapely.union_all(parts), THIN_NOISE_MM / 2.0)


def _mitred(shape: BaseGeometry, by_mm: float) -> BaseGeometry:
    """Grown, corners staying corners; now and then a mitred offset alone leaves a speck of what it
    should have passed, which the round one does not."""
    if by_mm == 0.0:
        return shape
    sharp = shapely.buffer(shape, by_mm, join_style="mitre", mitre_limit=MITRE_LIMIT)
    rounded = shapely.buffer(shape, by_mm * ROUND_SHARE)
    return sharp.union(rounded) if by_mm > 0 else sharp.intersection(rounded)
