"""Thin shells of the outside: one line of wall, one layer on the bed, nothing within.

The base is printed on its floor, open at the top; the cap on the lid's outer face, its drip skirts
upwards. So no roof wider than a gas slot or a mounting pad has to be bridged anywhere."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import manifold3d
import shapely
from shapely.geometry.base import BaseGeometry

from generators.dummy.sections import PlanLayer, grown, polygons, prism, united

__all__ = ["PrintLines", "base_shell", "bracket_shell", "cap_shell"]

INTO_MM = 1e-3  # parts of a hollow reach so far into each other, that they become one
LARGE_MM = 6.0  # a ledge deeper than this gets a wall under its inner edge
STEP_MM = 0.6  # of the slope under a smaller ledge, one up and one in: 45 degrees
COLLAR_FREE_MM = 0.25  # between the cap's collar and the base's wall
COLLAR_DEEP_MM = 3.5  # the collar hangs so far below the cap: less than the gas slots do
COLLAR_ROUND_MM = 5.0  # the collar passes what stands out or in by less across


@dataclass(frozen=True, kw_only=True, slots=True)
class PrintLines:
    """What is printed, in mm: one line's width, one layer's height.

    A face on the bed is one layer, a roof over a hollow two, so that a sagging first one is
    covered.
    """

    wall_mm: float
    layer_mm: float

    @property
    def floor_mm(self) -> float:
        """Thickness of a face on the bed."""
        return self.layer_mm

    @property
    def roof_mm(self) -> float:
        """Thickness of a face over a hollow."""
        return 2 * self.layer_mm


def base_shell(slabs: Sequence[PlanLayer], lines: PrintLines) -> manifold3d.Manifold:
    """What is hollow in the base, to be taken from it. ``slabs``: its plan from below."""
    hollow = _hollow(slabs, lines, open_top=True)
    kept: list[manifold3d.Manifold] = []
    for below, above in zip(slabs, slabs[1:], strict=False):
        ledge = below.plan.difference(above.plan)
        large = grown(grown(ledge, -LARGE_MM / 2), LARGE_MM / 2 + INTO_MM)
        if not large.is_empty:
            # the wall above goes on below, down to the floor: it carries the ledge's inner edge
            wall = above.plan.difference(grown(above.plan, -lines.wall_mm))
            foot = wall.intersection(grown(large, 1.5 * lines.wall_mm))
            kept.append(prism(foot, slabs[0].z0_mm, below.z1_mm))
        small = ledge.difference(large)
        free = grown(above.plan, -lines.wall_mm)
        kept += _slope(small, free, below.z1_mm - lines.roof_mm, slabs[0].z0_mm)
    return hollow - united(kept) if kept else hollow


def _slope(
    ledge: BaseGeometry, free: BaseGeometry, z_mm: float, z_least: float
) -> list[manifold3d.Manifold]:
    """Steps under a ledge: each layer stands out from the one below by no more than its height.

    ``free``: the hollow above, which the ledge's far edge borders on.
    """
    made = []
    around = grown(ledge, LARGE_MM)
    near = free.intersection(around)
    for k in range(round(LARGE_MM / STEP_MM)):
        top = z_mm - k * STEP_MM
        step = ledge.difference(near.buffer((k + 1) * STEP_MM, join_style="mitre"))
        if step.area < STEP_MM**2 or top - STEP_MM < z_least:
            break
        made.append(prism(step, top - STEP_MM - INTO_MM, top + INTO_MM))
    return made


def _hollow(
    slabs: Sequence[PlanLayer], lines: PrintLines, *, open_top: bool, upright: bool = True
) -> manifold3d.Manifold:
    """Everything farther than a wall from the sides, and from faces below and above.

    ``upright``: printed as it stands, else upside down.
    """
    under, over = lines.floor_mm, lines.roof_mm
    if not upright:
        under, over = over, under
    ends = {z for slab in slabs for edge in (slab.z0_mm, slab.z1_mm)
            for z in (edge - over, edge, edge + under)}  # fmt: skip
    heights = sorted(z for z in ends if slabs[0].z0_mm < z <= slabs[-1].z1_mm)
    made = []
    for z0, z1 in zip(heights, heights[1:], strict=False):
        middle = (z0 + z1) / 2
        low, high = middle - under, middle + over
        if low < slabs[0].z0_mm or (high > slabs[-1].z1_mm and not open_top):
            continue
        plans = [slab.plan for slab in slabs if slab.z0_mm < high and low < slab.z1_mm]
        inside = grown(shapely.intersection_all(plans), -lines.wall_mm)
        top = z1 + (1.0 if open_top and z1 == heights[-1] else INTO_MM)
        made.append(prism(inside, z0 - INTO_MM, top))
    return united(made)


def cap_shell(
    cap: manifold3d.Manifold,
    slabs: Sequence[PlanLayer],
    rim: BaseGeometry,
    z_rim_mm: float,
    lines: PrintLines,
) -> manifold3d.Manifold:
    """The cap's shell. ``slabs``: its plan from below; ``rim``: the base's top plan.

    ``z_rim_mm``: the height at which the plate begins. Over the base's inside the plate stays
    open. A collar within the base's wall holds it.
    """
    plates = [slab for slab in slabs if slab.z0_mm > z_rim_mm - INTO_MM]
    hanging = [slab for slab in slabs if slab.z0_mm <= z_rim_mm - INTO_MM]
    plate = shapely.intersection_all([slab.plan for slab in plates])
    z_top, wall = plates[-1].z1_mm, lines.wall_mm
    under = z_rim_mm + lines.roof_mm
    over = plate.difference(rim)  # what is seen of the plate's underside, and the drip skirts
    over = shapely.union_all(polygons(grown(grown(over, -INTO_MM), INTO_MM)))
    inside = grown(plate, -wall)
    border = over.difference(grown(over, -wall))
    hollow = [
        prism(inside.difference(border), under - INTO_MM, z_top - lines.floor_mm),
        # the closed part lies on the base's wall beside it
        prism(inside.difference(grown(over, wall)), z_rim_mm - INTO_MM, under),
    ]
    if hanging:
        hollow.append(_hollow(hanging, lines, open_top=False, upright=False))
    shell = cap - united(hollow)
    within = grown(rim, -(wall + COLLAR_FREE_MM))
    within = within.intersection(grown(grown(within, -COLLAR_ROUND_MM), COLLAR_ROUND_MM))
    holes = [shapely.Polygon(ring) for one in polygons(plate) for ring in one.interiors]
    free = grown(shapely.union_all([shapely.Polygon(), *holes]), INTO_MM)
    collar = within.difference(grown(within, -wall)).difference(free)
    return shell + prism(collar, z_rim_mm - COLLAR_DEEP_MM, z_top - lines.floor_mm / 2)


def bracket_shell(
    bracket: manifold3d.Manifold,
    slabs: Sequence[PlanLayer],
    around_holes: manifold3d.Manifold,
    lines: PrintLines,
) -> manifold3d.Manifold:
    """A bracket's shell, on its side. ``around_holes``: rods a wall wider than its holes."""
    return bracket - (_hollow(slabs, lines, open_top=False) - around_holes)
