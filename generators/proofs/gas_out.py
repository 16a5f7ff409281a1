"""Vent gas out of the space: from the enclosure's gas side along the gap to a side that is open.

Where a wall of the space stands between, the gas goes through the gap between it and the enclosure.
That is as wide as a disc that passes along it in the plan, and counted as high as the enclosure.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from generators.proofs.together import PlacedMesh
from layouts.checks import Check
from layouts.enclosures.gas_way import outside_mm2
from layouts.fitting.turns import lead_way
from layouts.planning.pack_plan import PackPlan
from layouts.spaces.regions import free_region
from layouts.spaces.space import Space

__all__ = ["gas_out_check", "widest_way_mm"]

UPWARDS, DOWNWARDS = "+z", "-z"
WAYS = {"+x": (0, 1.0), "-x": (0, -1.0), "+y": (1, 1.0), "-y": (1, -1.0)}
BEFORE_MM = 6.0  # gas is looked for so far before the walls that it leaves through
SLIT_MM = 1.0  # a gap narrower than this leads no gas up or down
OUTSIDE_ROLES = ("tub", "lid", "bracket")  # all else stands within these
FLAT_MM2 = 1e-6  # a triangle with less plan stands upright
FINE_MM = 0.05  # to which a gap's width is found
REMEDY = (
    "leads.side so that the gas side faces an open side of the space, a wider space, or one more "
    "side open in space.open_sides"
)


def gas_out_check(
    plan: PackPlan, space: Space, pose: NDArray[np.float64], placed: Sequence[PlacedMesh]
) -> tuple[Check, ...]:
    """The check; none where no enclosure is made, or the file does not say what is open.

    ``pose`` (4, 4): from the pack's coordinates to the space's."""
    if plan.enclosure_set is None or space.open_sides is None:
        return ()
    limit = outside_mm2(plan.pack, plan.cell_layout, plan.enclosure)
    outer = np.vstack([one.vertices_mm for one in placed]) @ pose[:3, :3].T + pose[:3, 3]
    low, high = float(outer[:, 2].min()), float(outer[:, 2].max())
    body = shapely.union_all([_shadow(one, pose) for one in placed if one.role in OUTSIDE_ROLES])
    free = free_region(space, max(low, space.low_mm[2]), high)
    gap = free.difference(body)
    source = _source(plan, pose, body).intersection(gap)
    found = {
        side: _section_mm2(side, gap, source, free, high - low, plan, pose)
        for side in space.open_sides
    }
    best = max(found, key=lambda side: found[side])
    value = found[best]
    return (
        Check(
            id="gas_out", about="way of vent gas from the enclosure to an open side of the space",
            holds=value >= limit, value=value, limit=limit, unit="mm2",
            source="geometry: gap in the plan as high as the enclosure, against the openings that "
            "gas leaves it through",
            remedy=REMEDY, where=f"towards {best}" if value else "no way to an open side",
        ),
    )  # fmt: skip


def _shadow(mesh: PlacedMesh, pose: NDArray[np.float64]) -> BaseGeometry:
    """A part's plan in the space."""
    points = (mesh.vertices_mm @ pose[:3, :3].T + pose[:3, 3])[:, :2]
    corners = points[mesh.faces]
    (a, b), (c, d) = (corners[:, 1] - corners[:, 0]).T, (corners[:, 2] - corners[:, 0]).T
    twice = a * d - b * c
    solid = corners[twice > FLAT_MM2]  # of a closed body those that look up cover all
    shapes = shapely.polygons(np.concatenate([solid, solid[:, :1]], axis=1))
    return shapely.union_all(shapely.set_precision(shapes, 1e-3))


def _out(plan: PackPlan, pose: NDArray[np.float64]) -> NDArray[np.float64] | None:
    """Where gas leaves, in the space; None where on several sides."""
    side = plan.enclosure.gas_side
    return None if side is None else np.asarray(pose[:3, :3] @ lead_way(side))


def _source(plan: PackPlan, pose: NDArray[np.float64], body: BaseGeometry) -> BaseGeometry:
    """What lies before the walls that gas leaves through: a strip before one side of them, before
    the vent alone, or all round."""
    ring = body.buffer(BEFORE_MM).difference(body)
    seal, out = plan.enclosure.seal, _out(plan, pose)
    if seal is not None:
        at = pose[:3, :3] @ np.array(seal.vent_at_mm) + pose[:3, 3]
        near = shapely.Point(at[:2]).buffer(seal.vent_mm[0] + 4 * BEFORE_MM)
        ring = ring.intersection(near)
    if out is None or abs(out[2]) > 0.5:
        return ring
    points = shapely.get_coordinates(plan.enclosure.shell.outer)
    posed = np.column_stack([points, np.zeros(len(points))]) @ pose[:3, :3].T + pose[:3, 3]
    x0, y0 = posed[:, :2].min(axis=0)
    x1, y1 = posed[:, :2].max(axis=0)
    edge = float((posed[:, :2] @ out[:2]).max())
    box = np.array([(x0, y0), (x1, y0), (x1, y1), (x0, y1)])
    before = box + np.outer(edge - box @ out[:2], out[:2])  # all corners on the side's line
    return ring.intersection(shapely.MultiPoint(before).convex_hull.buffer(2 * BEFORE_MM))


def _section_mm2(
    side: str,
    gap: BaseGeometry,
    source: BaseGeometry,
    free: BaseGeometry,
    high_mm: float,
    plan: PackPlan,
    pose: NDArray[np.float64],
) -> float:
    """Free section of the way to one open side."""
    if source.is_empty:
        return 0.0
    if side in (UPWARDS, DOWNWARDS):
        wide = gap.buffer(-SLIT_MM / 2).buffer(SLIT_MM / 2)
        return float(sum(p.area for p in shapely.get_parts(wide) if p.intersects(source)))
    axis, sign = WAYS[side]
    out = _out(plan, pose)
    wide = widest_way_mm(gap, source, free.bounds, axis, sign)
    if out is not None and out[axis] * sign > 0.5:
        wide = max(wide, _straight_mm(gap, source, free.bounds, axis, sign))
    return wide * high_mm


def _straight_mm(
    gap: BaseGeometry,
    source: BaseGeometry,
    bounds: tuple[float, float, float, float],
    axis: int,
    sign: float,
) -> float:
    """How much of a source's length has nothing before it as far as the side of the bounds."""
    low, high = list(source.bounds[:2]), list(source.bounds[2:])
    begin = low[axis] if sign > 0 else high[axis]
    end = bounds[axis + 2] if sign > 0 else bounds[axis]
    low[axis], high[axis] = min(begin, end), max(begin, end)
    stopped = shapely.box(*low, *high).difference(gap.buffer(FINE_MM))
    along = 1 - axis
    total = shapely.LineString([(low[along], 0.0), (high[along], 0.0)])
    covered = [
        shapely.LineString([(part.bounds[along], 0.0), (part.bounds[along + 2], 0.0)])
        for part in shapely.get_parts(stopped)
        if part.area > FINE_MM
    ]
    return float(total.difference(shapely.union_all(covered)).length)


def widest_way_mm(
    gap: BaseGeometry,
    source: BaseGeometry,
    bounds: tuple[float, float, float, float],
    axis: int,
    sign: float,
) -> float:
    """Diameter of the largest disc that passes through the gap from a source to a side of its
    bounds; 0 where none does [mm]. ``axis``, ``sign``: the side's direction."""
    edge = bounds[axis + 2] if sign > 0 else bounds[axis]

    def passes(wide: float) -> bool:
        for part in shapely.get_parts(gap.buffer(-wide / 2)):
            x0, y0, x1, y1 = part.bounds
            reach = (x0, y0, x1, y1)[axis + 2 if sign > 0 else axis]
            near = part.distance(source) <= wide / 2 + FINE_MM
            if near and abs(reach - edge) <= wide / 2 + FINE_MM:
                return True
        return False

    low, high = 0.0, float(max(bounds[2] - bounds[0], bounds[3] - bounds[1]))
    if not passes(FINE_MM):
        return 0.0
    while high - low > FINE_MM:
        middle = (low + high) / 2
        low, high = (middle, high) if passes(middle) else (low, middle)
    return low
