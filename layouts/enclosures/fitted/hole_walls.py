"""Plastic round the holes of lid screws and mounting pads: none may break through."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import shapely

from layouts.enclosures.fitted.gasket import Flange
from layouts.enclosures.fitted.lid_screws import LidScrew
from layouts.enclosures.fitted.loops import loop_polygon
from layouts.enclosures.fitted.pad_blocks import bore_plans
from layouts.enclosures.fitted.sizes import FittedSizes
from layouts.enclosures.printed import FIELD
from layouts.errors import PlanError
from layouts.parts.shell import box, disc

__all__ = ["LEAST_PLASTIC_MM", "HoleWall", "hole_walls", "refuse_thin_walls"]

LEAST_PLASTIC_MM = 0.8  # two lines of a 0.4 nozzle; common practice, no source
NEAR_MM = 12.0  # of the plan round a screw, more than any boss reaches


@dataclass(frozen=True, kw_only=True, slots=True)
class HoleWall:
    """The least plastic between a hole and the nearest face beside or behind it.

    ``x_mm``, ``y_mm``: the hole's mouth in the plan. Below 0 where the hole breaks through."""

    hole: str
    x_mm: float
    y_mm: float
    plastic_mm: float


def hole_walls(sizes: FittedSizes) -> tuple[HoleWall, ...]:
    """Of every lid screw's hole and of both holes of every mounting pad."""
    return (*_upright(sizes), *_in_pads(sizes))


def refuse_thin_walls(sizes: FittedSizes) -> None:
    """PlanError where a hole has less plastic than ``LEAST_PLASTIC_MM`` beside it."""
    for wall in hole_walls(sizes):
        if wall.plastic_mm < LEAST_PLASTIC_MM:
            raise PlanError(
                field=FIELD,
                why=f"the {wall.hole} at ({wall.x_mm:.1f}, {wall.y_mm:.1f}) would have "
                f"{wall.plastic_mm:.2f} mm of plastic beside it, least {LEAST_PLASTIC_MM:g}",
                remedy="change wall_mm or side_gap_mm a little, or the space round it",
            )


def _upright(sizes: FittedSizes) -> Iterator[HoleWall]:
    shell = sizes.shell
    inner, outer, cells = (
        loop_polygon(loop) for loop in (shell.inner.loop, shell.outer, shell.cells)
    )
    slots = shapely.union_all([shapely.Polygon(slot.corners_mm) for slot in sizes.slots])
    for screw in shell.screws:
        if shell.flange is None:
            solid = _solid(screw, inner, outer, cells, slots)
        else:
            solid = _outside_groove(screw, shell.flange)
        at = shapely.Point(screw.at_mm)
        sign = 1.0 if solid.contains(at) else -1.0
        yield HoleWall(
            hole="lid screw's hole", x_mm=screw.x_mm, y_mm=screw.y_mm,
            plastic_mm=sign * solid.boundary.distance(at) - screw.hole_radius_mm,
        )  # fmt: skip


def _solid(
    screw: LidScrew,
    inner: shapely.Polygon,
    outer: shapely.Polygon,
    cells: shapely.Polygon,
    slots: shapely.geometry.base.BaseGeometry,
) -> shapely.geometry.base.BaseGeometry:
    """The tub's plan round a screw, as high up as its hole goes; the partition is left out."""
    near = disc(screw.x_mm, screw.y_mm, NEAR_MM)
    boss = disc(screw.x_mm, screw.y_mm, screw.radius_mm)
    inside = inner.contains(shapely.Point(screw.at_mm))
    walls = outer.intersection(near).difference(slots)
    if not inside:
        walls = walls.union(boss)
    walls = walls.difference(inner)
    if inside:
        walls = walls.union(boss.intersection(outer)).difference(cells)
    return walls


def _outside_groove(screw: LidScrew, flange: Flange) -> shapely.geometry.base.BaseGeometry:
    """The flange's plan round a screw, beyond the cord's groove."""
    near = disc(screw.x_mm, screw.y_mm, NEAR_MM)
    boss = disc(screw.x_mm, screw.y_mm, screw.radius_mm)
    beyond = loop_polygon(flange.edge).intersection(near).union(boss)
    return beyond.difference(loop_polygon(flange.groove_outer))


def _in_pads(sizes: FittedSizes) -> Iterator[HoleWall]:
    inner = loop_polygon(sizes.shell.inner.loop)
    for pad in sizes.pads:
        beside = (sizes.pad_width_mm - pad.apart_mm) / 2 - sizes.pad_hole_radius_mm
        high = pad.high_mm - pad.up_mm - sizes.pad_hole_radius_mm
        for side, rect in zip((-0.5, 0.5), bore_plans(sizes, pad), strict=True):
            x, y = pad.at_mm(pad.along_mm + side * pad.apart_mm, pad.face_mm)
            yield HoleWall(
                hole="mounting pad's hole", x_mm=x, y_mm=y,
                plastic_mm=min(beside, high, box(rect).distance(inner)),
            )  # fmt: skip
