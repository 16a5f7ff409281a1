"""Shells of straight lines alone, for what reads a shell and draws none."""

from __future__ import annotations

import itertools

import shapely

from layouts.enclosures.fitted.lid_screws import LidScrew
from layouts.enclosures.fitted.outline import ShellOutline
from layouts.enclosures.fitted.rooms import PARTITION_MM, Room
from layouts.enclosures.fitted.shell import Levels, ShellPlan
from layouts.slabs.profile import Line, Loop

WALL_MM, PLAY_MM, LIP_MM = 2.0, 0.5, 1.5
LEVELS = Levels(under_mm=-8.0, floor_mm=-5.0, rim_mm=70.0, lid_mm=72.5)


def straight(shape: shapely.Polygon) -> Loop:
    """A polygon's sides, counter-clockwise."""
    ring = shapely.get_coordinates(shapely.orient_polygons(shape).exterior).tolist()
    return tuple(Line(tuple(a), tuple(b)) for a, b in itertools.pairwise(ring))


def grown(shape: shapely.Polygon, by_mm: float) -> shapely.Polygon:
    """A shape of upright sides grown, corners sharp."""
    return shapely.Polygon(shape.buffer(by_mm, join_style="mitre").exterior)


def plain_shell(
    inner: shapely.Polygon,
    *,
    cells: shapely.Polygon | None = None,
    rooms: tuple[Room, ...] = (),
    screws: tuple[LidScrew, ...] = (),
) -> ShellPlan:
    """Walls, lip and partition of upright sides round an inside and its cells."""
    lip = grown(inner, WALL_MM + PLAY_MM)
    wet = inner if cells is None else cells
    x, y = inner.centroid.x, inner.centroid.y
    screws = screws or (insert_boss(x, y),)  # a lid has one at least
    return ShellPlan(
        rooms=rooms, inner=ShellOutline(loop=straight(inner), figures=(), seats=()),
        outer=straight(grown(inner, WALL_MM)), cells=straight(wet),
        partition=straight(grown(wet, PARTITION_MM)), lip_inner=straight(lip),
        lip_outer=straight(grown(lip, LIP_MM)), screws=screws, levels=LEVELS, wall_mm=WALL_MM,
    )  # fmt: skip


def insert_boss(x_mm: float, y_mm: float) -> LidScrew:
    """A lid screw with an insert."""
    return LidScrew(x_mm=x_mm, y_mm=y_mm, insert=True, foot_mm=(x_mm, y_mm))
