"""The free plan of the space over the enclosure's height, and the quarter turns with which the held
cells stand in it.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import shapely
from shapely.affinity import rotate
from shapely.geometry.base import BaseGeometry

from layouts.enclosures.fitted.case import Case, outside_mm
from layouts.enclosures.fitted.poses import ShiftRaster, shift_raster
from layouts.enclosures.fitted.shell import GAP_MM, Levels, levels_of
from layouts.errors import PlanError
from layouts.pack import Pack
from layouts.spaces.regions import free_region
from layouts.spaces.space import Space

__all__ = ["Pose", "cells_find_room", "free_of", "poses_of"]

FREE_MM = 150.0  # round the held cells where no space is given
TURNS, BOX_TURNS = (0, 90, 180, 270), (0, 90)  # degrees


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Pose:
    """One turn of the pack: the free area as the pack sees it, and the shifts in it."""

    turn_deg: int
    free: BaseGeometry
    raster: ShiftRaster


def cells_find_room(pack: Pack, cell_block_mm: tuple[float, float]) -> bool:
    """Whether held cells of these outer sizes with the walls round them alone find room in the plan
    of their space, in some quarter turn; without a space they do. Raises PlanError where nothing of
    the height does."""
    if pack.space is None:
        return True
    held = shapely.box(0.0, 0.0, *cell_block_mm)
    free = _space_free(pack.space, levels_of(pack))
    wall = pack.enclosure.side_gap_mm + outside_mm(pack)
    plan = held.buffer(wall, quad_segs=4)
    return any(
        shift_raster(rotate(free, turn, origin=(0.0, 0.0)), plan) is not None for turn in BOX_TURNS
    )


def free_of(case: Case, space: Space | None = None) -> BaseGeometry:
    """Where the enclosure may lie in the plan of its space, or of another. Raises PlanError where
    that is nowhere."""
    space = space or case.pack.space
    if space is None:
        x0, y0, x1, y1 = case.held.bounds
        return shapely.box(x0, y0, x1, y1).buffer(FREE_MM, join_style="mitre")
    return _space_free(space, case.levels)


def _space_free(space: Space, levels: Levels) -> BaseGeometry:
    low, high = space.low_mm[2], levels.lid_mm - levels.under_mm
    free = free_region(space, low, low + high)
    if free.is_empty:
        raise PlanError(
            field="space",
            value=f"box of {' x '.join(f'{side:g}' for side in space.box_mm)} mm",
            why=f"has no place for an enclosure {high:.1f} mm high",
            remedy="a higher space, shorter cells, or a smaller enclosure.gas_gap_mm",
        )
    return free.buffer(-GAP_MM)


def poses_of(case: Case, free: BaseGeometry) -> Iterator[Pose]:
    """One for each turn with which the held cells, their rooms and walls go in."""
    space, plan = case.pack.space, case.cells_plan
    turns: tuple[int, ...] = (0,)
    if space is not None:
        turns = BOX_TURNS if space.is_box else TURNS
    for turn in turns:
        turned = rotate(free, -turn, origin=(0.0, 0.0))
        raster = shift_raster(turned, plan)
        if raster is not None:
            yield Pose(turn_deg=turn, free=turned, raster=raster)
