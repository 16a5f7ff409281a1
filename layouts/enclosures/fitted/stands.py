"""The free plan of the space over the enclosure's height, and the quarter turns with which the held
cells stand in it.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import shapely
from shapely.affinity import rotate
from shapely.geometry.base import BaseGeometry

from layouts.brackets.registry import kind_of
from layouts.enclosures.fitted.case import FittedCase, outside_mm
from layouts.enclosures.fitted.poses import ShiftRaster, shift_raster
from layouts.enclosures.fitted.shell import GAP_MM, levels_of
from layouts.enclosures.fitted.sides import ROUND
from layouts.enclosures.fitted.wishes import asked_shift_mm
from layouts.errors import PlanError
from layouts.fitting.box_fit import quarter_turn
from layouts.formats import low_heads
from layouts.pack import Pack, Side
from layouts.spaces.regions import free_region, seen_from_pack
from layouts.spaces.space import Space

__all__ = ["Pose", "cells_find_room", "free_of", "high_mm", "low_mm", "poses_of", "side_after"]

ANY = shapely.box(0.0, 0.0, 1.0, 1.0)  # a plan: heights do not depend on it
FREE_MM = 150.0  # round the held cells where no space is given
TURNS, BOX_TURNS = (0, 90, 180, 270), (0, 90)  # degrees


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Pose:
    """One turn of the pack: the free area as the pack sees it, and the shifts in it.

    ``half_turns_mm``: the space is the same after half a turn about this point of its plan, so that
    the pack may stand the other way round too; None where it is not."""

    turn_deg: int
    free: BaseGeometry
    raster: ShiftRaster
    half_turns_mm: tuple[float, float] | None = None

    @property
    def turns_deg(self) -> tuple[int, ...]:
        """All turns that it stands for."""
        if self.half_turns_mm is None:
            return (self.turn_deg,)
        return self.turn_deg, self.turn_deg + 180

    def stands_mm(self, turn_deg: int, shift_mm: tuple[float, float]) -> tuple[float, float]:
        """Where the pack's origin lies in the space, for a shift as the pack sees it."""
        x, y = (quarter_turn(self.turn_deg // 90)[:2, :2] @ shift_mm).tolist()
        if turn_deg == self.turn_deg or self.half_turns_mm is None:
            return x, y
        return 2 * self.half_turns_mm[0] - x, 2 * self.half_turns_mm[1] - y


def cells_find_room(pack: Pack, cell_block_mm: tuple[float, float]) -> bool:
    """Whether held cells of these outer sizes with the walls round them alone find room in the plan
    of their space, in some quarter turn; without a space they do. Raises PlanError where nothing of
    the height does."""
    if pack.space is None:
        return True
    held = shapely.box(0.0, 0.0, *cell_block_mm)
    free = _space_free(seen_from_pack(pack.space), pack)
    wall = pack.enclosure.side_gap_mm + outside_mm(pack)
    plan = held.buffer(wall, quad_segs=4)
    return any(
        shift_raster(rotate(free, turn, origin=(0.0, 0.0)), plan) is not None for turn in BOX_TURNS
    )


def free_of(case: FittedCase, space: Space | None = None) -> BaseGeometry:
    """Where the enclosure may lie in the plan of its space, or of another. Raises PlanError where
    that is nowhere."""
    space = space or case.pack.space
    if space is not None:
        space = seen_from_pack(space)
    if space is None:
        x0, y0, x1, y1 = case.held.bounds
        return shapely.box(x0, y0, x1, y1).buffer(FREE_MM, join_style="mitre")
    return _space_free(space, case.pack, case.over_mm)


def high_mm(pack: Pack) -> float:
    """Height of all of it: the stand of its brackets, tub and lid, heads of the lid's screws."""
    levels, heads = levels_of(pack), low_heads()[pack.enclosure.screw].head_high_mm
    return kind_of(pack).reach_mm(pack)[1] + levels.lid_mm - levels.under_mm + heads


def low_mm(pack: Pack, space: Space) -> float:
    """Where its brackets stand, in the space as the pack sees it: on its lowest face, or as asked
    for."""
    asked = asked_shift_mm(pack, ANY, levels_of(pack))
    if asked is None:
        return space.low_mm[2]
    return asked[2] + levels_of(pack).under_mm - kind_of(pack).reach_mm(pack)[1]


def _space_free(space: Space, pack: Pack, over_mm: float = 0.0) -> BaseGeometry:
    low, high = low_mm(pack, space), high_mm(pack) + over_mm
    free = free_region(space, low, low + high)
    if free.is_empty and pack.space is not None and asked_shift_mm(pack, ANY, levels_of(pack)):
        past = max(space.low_mm[2] - low, low + high - space.low_mm[2] - space.box_mm[2])
        raise PlanError(
            field="space.place.at_mm",
            why=f"puts an enclosure {high:.1f} mm high with its brackets "
            + (f"{past:.1f} mm out of the space" if past > 0.0 else "where nothing is free"),
            remedy="another place, or delete it: then one is looked for",
        )
    if free.is_empty:
        raise _no_height(space, high)
    return free.buffer(-GAP_MM)


def _no_height(space: Space, high: float) -> PlanError:
    """Nothing of the plan is free over the enclosure's height: the space is too low by so much, or
    what it holds is in the way."""
    lacks = high - space.box_mm[2]
    told = f"{lacks:.1f} mm too low"
    if lacks <= 0:
        bodies = ", ".join(body.name for body in space.keep_out)
        told = f"filled by {bodies or 'its own walls'}"
    return PlanError(
        field="space",
        value=f"box of {' x '.join(f'{side:g}' for side in space.box_mm)} mm, {told}",
        why=f"has no place for an enclosure {high:.1f} mm high",
        remedy="a higher space, shorter cells, or a smaller enclosure.gas_gap_mm",
    )


def poses_of(case: FittedCase, free: BaseGeometry) -> Iterator[Pose]:
    """One for each turn with which the held cells, their rooms and walls go in."""
    space, plan = case.pack.space, case.cells_plan
    turns: tuple[int, ...] = (0,)
    middle: tuple[float, float] | None = None
    if space is not None and space.place is None:
        wished = case.pack.bms.place or case.pack.fuse_place
        turns = BOX_TURNS if space.is_box and not wished else TURNS
        if turns is BOX_TURNS:
            middle = space.box_mm[0] / 2, space.box_mm[1] / 2
    for turn in turns:
        turned = rotate(free, -turn, origin=(0.0, 0.0))
        raster = shift_raster(turned, plan)
        if raster is not None:
            yield Pose(turn_deg=turn, free=turned, raster=raster, half_turns_mm=middle)


def side_after(side: Side, turn_deg: int) -> Side:
    """The side of the space that a side of the pack faces after quarter turns."""
    return ROUND[(ROUND.index(side) + turn_deg // 90) % 4]
