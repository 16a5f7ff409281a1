"""Walls, lid and screws round rooms in their places, exact: what the planner chooses between."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from layouts.enclosures.fitted.errors import OutlineError
from layouts.enclosures.fitted.gasket import Flange, flange_round, flange_screws
from layouts.enclosures.fitted.lid_screws import LidScrew, ScrewSite, choose_lid_screws
from layouts.enclosures.fitted.loops import loop_polygon, parallel
from layouts.enclosures.fitted.outline import RoundedRect, ShellOutline, closed_outline
from layouts.enclosures.fitted.rooms import CORNER_MM, PARTITION_MM, Room, RoomKind
from layouts.enclosures.fitted.sides import OUTWARD, axis_along, rect_at
from layouts.enclosures.groove import groove_of
from layouts.holders.fastening import CellBlock
from layouts.pack import Pack, Side
from layouts.slabs.profile import Loop, loop_area_mm2

__all__ = ["LID_LIP_MM", "LIP_PLAY_MM", "Levels", "ShellPlan", "levels_of", "shell_round"]

# All common practice or judgement, no source.
BALL_MM = 4.4  # a boss for a heat-set insert stands in each hollow
LEAST_RADIUS_MM = 0.8  # of any corner or hollow: two lines of a 0.4 nozzle
LIP_PLAY_MM = 0.4  # between wall and lip, a side
LID_LIP_MM = 1.26  # three lines of a 0.4 nozzle
LIP_DEEP_MM = 9.0  # 4 below the slots' lower edge
HOOD_MM = 0.2  # a straight lip stands so far off the cells' crests that it is no tangent of theirs
GAS_OFF_MM = 3.0  # the same where gas leaves behind it
HOOD_DEEP_MM = 15.0
LEAST_HOOD_MM = 30.0  # between the outermost crests of a side
SLOT_DEEP_MM = 5.0
GAP_MM = 0.4  # between the enclosure and the space


@dataclass(frozen=True, kw_only=True, slots=True)
class Levels:
    """Heights in pack coordinates: floor's underside and top, walls' rim, lid's outer face."""

    under_mm: float
    floor_mm: float
    rim_mm: float
    lid_mm: float

    @property
    def inside_mm(self) -> float:
        """Height of the cavity."""
        return self.rim_mm - self.floor_mm


def levels_of(pack: Pack) -> Levels:
    """Gaps for gas over and under the holders, then floor and lid."""
    case = pack.enclosure
    floor = -pack.holder.lip_mm - case.gas_gap_mm
    rim = pack.lip_to_lip_mm + pack.holder.lip_mm + case.gas_gap_mm
    return Levels(
        under_mm=floor - case.floor_mm, floor_mm=floor, rim_mm=rim, lid_mm=rim + case.lid_mm
    )


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class ShellPlan:
    """One enclosure, its outlines decided.

    ``inner``, ``outer``: faces of the walls; ``lip_inner``, ``lip_outer``: of the lid's lip.
    ``cells``: what the cells' gas fills, ``partition`` its parallel, which dry rooms lie outside
    of. ``screws``: of the lid, counter-clockwise. ``stands_off``: the side where the lip leaves the
    wall a gap for gas. ``flange``: of the rim where there is a gasket; its edge is the lid's, which
    then has no lip: ``lip_inner`` and ``lip_outer`` are both that edge.
    """

    rooms: tuple[Room, ...]
    inner: ShellOutline
    outer: Loop
    cells: Loop
    partition: Loop
    lip_inner: Loop
    lip_outer: Loop
    screws: tuple[LidScrew, ...]
    levels: Levels
    wall_mm: float
    stands_off: Side | None = None
    flange: Flange | None = None

    @property
    def lid_plan(self) -> BaseGeometry:
        """The lid in the plan, with its screws' bosses."""
        bosses = shapely.buffer(
            shapely.points([s.at_mm for s in self.screws]), [s.radius_mm for s in self.screws]
        )
        return shapely.union_all([loop_polygon(self.lip_outer), *bosses])

    @property
    def plastic_mm3(self) -> float:
        """Floor, lid, walls and lip; bosses and what stands inside not counted."""
        floor, lid = (
            self.levels.floor_mm - self.levels.under_mm,
            self.levels.lid_mm - self.levels.rim_mm,
        )
        walls = loop_area_mm2(self.outer) - loop_area_mm2(self.inner.loop)
        lip = loop_area_mm2(self.lip_outer) - loop_area_mm2(self.lip_inner)
        return (
            loop_area_mm2(self.outer) * floor
            + loop_area_mm2(self.lip_outer) * lid
            + walls * self.levels.inside_mm
            + lip * LIP_DEEP_MM
        )


def shell_round(
    pack: Pack,
    cell_block: CellBlock,
    rooms: Sequence[Room],
    free: BaseGeometry,
    *,
    lanes: Sequence[BaseGeometry],
    held: BaseGeometry,
    gas_side: Side | None = None,
) -> ShellPlan:
    """The walls round held cells and rooms, their lid and its screws.

    ``free``: what the whole must lie in, in the plan. ``lanes``: where no screw's boss may stand.
    ``gas_side``: the lip stands off the wall there, where hollows alone are too small for gas.
    Raises OutlineError where no such walls exist, or they leave the free space.
    """
    wall, levels = pack.enclosure.wall_mm, levels_of(pack)
    gap = pack.enclosure.side_gap_mm
    discs = np.array(cell_block.outline.discs) + (0.0, 0.0, gap)
    wet = [room for room in rooms if not room.is_dry]
    inner = closed_outline(discs, _rounded(rooms), BALL_MM, least_radius_mm=LEAST_RADIUS_MM)
    outer = parallel(inner.loop, wall, LEAST_RADIUS_MM)
    cells = closed_outline(
        discs, _rounded([room for room in wet if room.kind is not RoomKind.LANDING]), BALL_MM,
        least_radius_mm=LEAST_RADIUS_MM,
    ).loop  # fmt: skip
    groove = groove_of(pack.enclosure)
    if groove is not None:
        hoods = _hoods(discs + (0.0, 0.0, wall), None)
        flange = flange_round(
            groove, discs, _rounded(rooms), hoods, free, wall_mm=wall, ball_mm=BALL_MM
        )
        return ShellPlan(
            rooms=tuple(rooms), inner=inner, outer=outer, cells=cells,
            partition=parallel(cells, PARTITION_MM, LEAST_RADIUS_MM),
            lip_inner=flange.edge, lip_outer=flange.edge,
            screws=_found(flange_screws(flange, free, _kept_off(held, rooms, lanes))),
            levels=levels, wall_mm=wall, flange=flange,
        )  # fmt: skip
    lip_inner, lip_outer = _lip(discs, rooms, wall, free, gas_side)
    site = ScrewSite(
        inner=loop_polygon(inner.loop), outer=loop_polygon(outer),
        seats=[seat.centre_mm for seat in inner.seats],
        corners_of=[room.rect for room in rooms if room.kind in APPLIANCES],
        allowed=free, kept_off=_kept_off(held, rooms, lanes),
    )  # fmt: skip
    ways = [room.rect for room in rooms if room.kind is RoomKind.WAY]
    screws = choose_lid_screws(site)
    if screws is None and len(ways) > 1:  # in a way round the cells, above its wires
        others = [room for room in rooms if room.kind is not RoomKind.WAY]
        site = replace(site, kept_off=_kept_off(held, others, lanes), ways=ways)
        screws = choose_lid_screws(site)
    return ShellPlan(
        rooms=tuple(rooms), inner=inner, outer=outer, cells=cells,
        partition=parallel(cells, PARTITION_MM, LEAST_RADIUS_MM),
        lip_inner=lip_inner, lip_outer=lip_outer, screws=_found(screws), levels=levels,
        wall_mm=wall, stands_off=gas_side,
    )  # fmt: skip


def _found(screws: tuple[LidScrew, ...] | None) -> tuple[LidScrew, ...]:
    """Lid screws, where there are any. Raises OutlineError else."""
    if screws is None:
        raise OutlineError(
            "the lid's screws find no places",
            remedy="more room round the enclosure, or other rooms",
        )
    return screws


APPLIANCES = (RoomKind.BOARD, RoomKind.FUSE, RoomKind.CHARGE)  # bosses may stand in their corners
CORNER_KEPT_MM = 5.2  # bosses stand in a dry room's corners no deeper than this


def _kept_off(
    held: BaseGeometry, rooms: Sequence[Room], lanes: Sequence[BaseGeometry]
) -> BaseGeometry:
    """Where no boss may stand: held cells, rooms but the corners of some, lanes."""
    return shapely.union_all(
        [
            held,
            *(room.plan for room in rooms if room.kind not in APPLIANCES),
            *(r.plan.buffer(-CORNER_KEPT_MM) for r in rooms if r.is_dry),
            *lanes,
        ]
    )


def _rounded(rooms: Sequence[Room], by_mm: float = 0.0) -> tuple[RoundedRect, ...]:
    """Rooms as figures of an outline, grown."""
    return tuple(
        RoundedRect(
            rect=room.rect.grown(by_mm),
            corner_radius_mm=room.corner_radius_mm + by_mm,
        )
        for room in rooms
    )


def _lip(
    discs: NDArray[np.float64],
    rooms: Sequence[Room],
    wall_mm: float,
    free: BaseGeometry,
    gas_side: Side | None,
) -> tuple[Loop, Loop]:
    """Both faces of the lid's lip: straight past the wall's hollows on as many sides as the space
    allows, so that gas leaves behind it and it takes little time to print."""
    by = wall_mm + LIP_PLAY_MM
    grown = discs + (0.0, 0.0, by)
    hoods = _hoods(grown, gas_side)
    must = [hoods.pop(gas_side)] if gas_side in hoods else []
    why = OutlineError("the lid leaves the space", remedy="a larger space")
    for count in range(len(hoods), -1, -1):
        for chosen in itertools.combinations(hoods.values(), count):
            try:
                inner = closed_outline(
                    grown, (*_rounded(rooms, by), *must, *chosen), BALL_MM,
                    least_radius_mm=LEAST_RADIUS_MM,
                ).loop  # fmt: skip
                outer = parallel(inner, LID_LIP_MM, LEAST_RADIUS_MM)
            except OutlineError as error:
                why = error
                continue
            if free.contains(loop_polygon(outer)):
                return inner, outer
    raise why


def _hoods(discs: NDArray[np.float64], gas_side: Side | None) -> dict[Side, RoundedRect]:
    """For each side of the cells a figure that a straight lip runs along, from its first crest to
    its last."""
    found = {}
    for side, way in OUTWARD.items():
        out = discs[:, :2] @ np.array(way) + discs[:, 2]
        crest = float(out.max())
        # where gas leaves, cells that stand back by half a row count too
        back = HOOD_DEEP_MM if side is gas_side else HOOD_MM
        along = discs[out > crest - back, axis_along(side)]
        low, high = float(along.min()), float(along.max())
        if high - low < LEAST_HOOD_MM and side is not gas_side:
            continue
        half = max(0.0, CORNER_MM - (high - low) / 2)  # no narrower than its corners
        off = GAS_OFF_MM if side is gas_side else HOOD_MM
        rect = rect_at(side, crest - HOOD_DEEP_MM - CORNER_MM, crest + off, low - half, high + half)
        found[side] = RoundedRect(rect=rect, corner_radius_mm=CORNER_MM)
    return found
