"""Level sections of solids as plan shapes, gaps closed in them, and prisms made of them again.

Tub, lid and brackets are stacks of slabs: between two levels their plan does not change, so a
section in the middle of each slab is sufficient."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import manifold3d
import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

__all__ = [
    "GAP_MM",
    "PlanLayer",
    "closed",
    "filled_gaps",
    "levels_of",
    "prism",
    "slabs_of",
    "united",
]

GAP_MM = 3.0  # gaps narrower than this are closed
LEVEL_MM = 1e-4  # vertices nearer in height than this lie on one level: float noise
# A gap of exactly 3 mm stays open whatever the last digit of a float says.
EXACT_GAP_MM = 1e-3
# Slivers thinner than this are rounding of offsets, no shapes.
SLIVER_MM = 5e-3
# A prism that fills a gap reaches so far into what stands beside it, that they become one.
INTO_MM = 2e-3
# A disc gets so deep into what is filled, no deeper: less than the mock-up may be off.
FLUSH_MM = 0.12
SHARP = 5.0  # mitre limit: corners as sharp as 23 degrees stay corners


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class PlanLayer:
    """A stretch of height with one plan: everything solid from ``z0_mm`` to ``z1_mm``."""

    z0_mm: float
    z1_mm: float
    plan: BaseGeometry


def grown(plan: BaseGeometry, by_mm: float) -> BaseGeometry:
    """The shape grown (shrunk where negative) with its corners kept as corners."""
    # corners that meet nearly parallel divide by nothing on the way to being cut off
    with np.errstate(divide="ignore", invalid="ignore"):
        return plan.buffer(by_mm, join_style="mitre", mitre_limit=SHARP)


def closed(plan: BaseGeometry, gap_mm: float = GAP_MM) -> BaseGeometry:
    """The shape with gaps narrower than ``gap_mm`` filled; all else stays as it is.

    Filled is what mitred corners, out and back, close (a concave corner gets no fillet), as
    far as a disc as wide as the gap would not get in, or hardly: mouths end nearly flush.
    """
    reach = gap_mm / 2 - EXACT_GAP_MM
    fill = grown(grown(plan, reach), -reach).difference(plan)
    if fill.is_empty:
        return plan
    out_of_reach = plan.buffer(reach, quad_segs=32).buffer(-reach + FLUSH_MM, quad_segs=32)
    return plan.union(_cleaned(fill.intersection(out_of_reach)))


def _cleaned(plan: BaseGeometry) -> BaseGeometry:
    """The shape without slivers."""
    return grown(grown(plan, -SLIVER_MM), SLIVER_MM)


def levels_of(solid: manifold3d.Manifold) -> list[float]:
    """Heights at which a stack of slabs changes, from below."""
    heights = np.unique(np.asarray(solid.to_mesh64().vert_properties)[:, 2])
    if not len(heights):
        return []
    keep = np.concatenate([[True], np.diff(heights) > LEVEL_MM])
    return [float(z) for z in heights[keep]]


def slabs_of(solid: manifold3d.Manifold, levels: Sequence[float] | None = None) -> list[PlanLayer]:
    """The slabs of a solid whose walls are upright, cut at ``levels`` (left out: its own)."""
    heights = levels_of(solid) if levels is None else list(levels)
    return [
        PlanLayer(z0_mm=z0, z1_mm=z1, plan=plan_at(solid, (z0 + z1) / 2))
        for z0, z1 in zip(heights, heights[1:], strict=False)
    ]


def plan_at(solid: manifold3d.Manifold, z_mm: float) -> BaseGeometry:
    """The section at a height, an empty shape where nothing is."""
    loops = [np.asarray(loop) for loop in solid.slice(z_mm).to_polygons()]
    whole: BaseGeometry = shapely.Polygon()
    # rings lie within each other, never across: what an odd number of them encloses is solid
    for loop in loops:
        if len(loop) >= 3:
            whole = whole.symmetric_difference(shapely.Polygon(loop))
    return whole


def polygons(plan: BaseGeometry) -> list[shapely.Polygon]:
    """All polygons of a shape that have an area."""
    parts = shapely.get_parts(plan, return_index=False)
    found: list[shapely.Polygon] = []
    for part in parts:
        if isinstance(part, shapely.Polygon):
            found += [part] if part.area > SLIVER_MM**2 else []
        elif hasattr(part, "geoms"):
            found += polygons(part)
    return found


def prism(plan: BaseGeometry, z0_mm: float, z1_mm: float) -> manifold3d.Manifold:
    """Everything over a shape between two heights; empty for an empty shape."""
    contours: list[NDArray[np.float64]] = []
    for one in polygons(plan):
        one = shapely.geometry.polygon.orient(one)
        contours.append(np.asarray(one.exterior.coords)[:-1])
        contours += [np.asarray(hole.coords)[:-1] for hole in one.interiors]
    if not contours or z1_mm <= z0_mm:
        return manifold3d.Manifold()
    section = manifold3d.CrossSection(contours)
    return section.extrude(z1_mm - z0_mm).translate([0.0, 0.0, z0_mm])


def united(solids: Iterable[manifold3d.Manifold]) -> manifold3d.Manifold:
    """All solids as one."""
    found = [solid for solid in solids if not solid.is_empty()]
    if not found:
        return manifold3d.Manifold()
    return manifold3d.Manifold.batch_boolean(found, manifold3d.OpType.Add)


def filled_gaps(slabs: Sequence[PlanLayer], gap_mm: float = GAP_MM) -> list[PlanLayer]:
    """What must be added to a stack so that no gap narrower than ``gap_mm`` stays open.

    Upright gaps are closed within each slab's plan; level ones (lower than ``gap_mm``, with
    material above and below) over all slabs that they run through.
    """
    added = []
    for slab in slabs:
        fill = closed(slab.plan, gap_mm).difference(slab.plan)
        if not fill.is_empty and fill.area > SLIVER_MM:
            added.append(PlanLayer(z0_mm=slab.z0_mm, z1_mm=slab.z1_mm, plan=grown(fill, INTO_MM)))
    for first in range(1, len(slabs) - 1):
        for last in range(first, len(slabs) - 1):
            run = slabs[first : last + 1]
            if slabs[last].z1_mm - slabs[first].z0_mm >= gap_mm - EXACT_GAP_MM:
                break
            both = slabs[first - 1].plan.intersection(slabs[last + 1].plan)
            fill = _cleaned(both.difference(shapely.union_all([slab.plan for slab in run])))
            if not fill.is_empty:
                low, high = slabs[first].z0_mm - INTO_MM, slabs[last].z1_mm + INTO_MM
                added.append(PlanLayer(z0_mm=low, z1_mm=high, plan=grown(fill, INTO_MM)))
    return added
