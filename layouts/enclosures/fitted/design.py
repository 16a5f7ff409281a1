"""The fitted enclosure of a pack: rooms placed, walls drawn, that with the least plastic taken."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from layouts.brackets.kind import MountingPad
from layouts.brackets.registry import kind_of
from layouts.cells.arrangement import CellLayout
from layouts.enclosures.fitted.errors import OutlineError
from layouts.enclosures.fitted.faces import (
    BracketReach,
    PadPlace,
    pad_pairs,
    pad_places,
)
from layouts.enclosures.fitted.fittings import (
    board_seat,
    charge_hole,
    drains_of,
    fuse_seat,
    notches_of,
    open_end,
    stops_of,
    wall_holes,
)
from layouts.enclosures.fitted.gas import ducts_of, free_mm2, slot_high_mm
from layouts.enclosures.fitted.loops import loop_polygon
from layouts.enclosures.fitted.placing import PlasticRates, RoomSet, gland_lanes, place_rooms
from layouts.enclosures.fitted.poses import plan_poses, slid
from layouts.enclosures.fitted.rooms import Room, RoomKind, room_needs, rooms_at_cells
from layouts.enclosures.fitted.shell import (
    GAP_MM,
    LID_LIP_MM,
    LIP_DEEP_MM,
    LIP_PLAY_MM,
    Levels,
    ShellPlan,
    levels_of,
    shell_round,
)
from layouts.enclosures.fitted.sides import axis_along, edge_mm, rect_at, span_mm
from layouts.enclosures.fitted.sizes import Duct, FittedSizes, WallHole
from layouts.enclosures.gas_way import ENCLOSURE_PA
from layouts.enclosures.support_pads import support_pads_of
from layouts.errors import PlanError
from layouts.formats import screws
from layouts.holders.fastening import CellBlock
from layouts.holders.shape import cell_block_shape
from layouts.pack import Face, Pack, Side
from layouts.parts.fasteners import insert_hole_deep_mm
from layouts.parts.glands import gland_for
from layouts.parts.outlet import BEND_RATIO
from layouts.parts.shell import Rect, box
from layouts.plates.ways_out import ways_out
from layouts.spaces.regions import free_region
from layouts.strips.joining import Interconnect
from layouts.strips.vent_area import vent_area_mm2

FREE_MM = 150.0  # round the held cells where no space is given
OPENING_DEEP_MM = 20.0  # a cell's radius: the partition follows the flank into its hollows
ENOUGH_RATIO = 1.2  # of what one cell needs: gas also narrows on its way to the slots
GAS_OUT_MM = 3.0  # free before the side where gas leaves
STOP_UNDER_MM = 1.0  # stops end so far under the lower holder's upper edge
OPENING_MM = 1.0  # round a landing, where the partition is left out
PAD_CLEARANCE_MM = 0.1  # under the lid: the stack must not hold it up
PAD_WIDE_MM = 34.0  # a mounting pad along its wall
PAD_SCREW = "M4"
TURNS, BOX_TURNS = (0, 90, 180, 270), (0, 90)  # degrees
POSES_MOST = 4  # for each turn
NO_CHARGE_PORT = "no wall is free for a charge port: charge leads share the main glands"
SETS_DRAWN = 3  # sets of rooms that are drawn exactly for one pose


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class _Case:
    """What stays the same for all poses and sets of rooms."""

    pack: Pack
    cell_block: CellBlock
    held: BaseGeometry
    fixed: tuple[Room, ...]
    levels: Levels
    metal: BaseGeometry  # that leaves the held cells at the lower face

    @property
    def lane_mm(self) -> tuple[float, float]:
        """Before the glands: across, and out, with the wire's bend."""
        gland = gland_for(self.pack.leads.outside_mm)
        bend = (BEND_RATIO + 1.0) * self.pack.leads.outside_mm
        return 2 * gland.keep_radius_mm, gland.long_mm + bend

    @property
    def out_mm(self) -> float:
        """From the walls' inner face to the lid's outside."""
        return self.pack.enclosure.wall_mm + LIP_PLAY_MM + LID_LIP_MM


def design_fitted(
    pack: Pack, cell_layout: CellLayout, interconnect: Interconnect, cell_block: CellBlock
) -> FittedSizes:
    """Tub and lid of a pack. Raises PlanError where the pack file must change."""
    held = cell_block_shape(cell_block.outline)
    ways = ways_out(pack, interconnect, held)
    metal = [way.space for way in ways if way.face is Face.LOWER]
    case = _Case(
        pack=pack, cell_block=cell_block, held=held, fixed=rooms_at_cells(pack, ways, held),
        levels=levels_of(pack), metal=shapely.union_all([shapely.Polygon(), *metal]),
    )  # fmt: skip
    best: _Found | None = None
    why: dict[str, int] = {}
    for free in _frees(case):
        for rooms in _room_sets(case, free)[:SETS_DRAWN]:
            try:
                found = _drawn(case, rooms, free)
            except OutlineError as error:
                why[error.why] = why.get(error.why, 0) + 1
                continue
            if best is None or found.shell.plastic_mm3 < best.shell.plastic_mm3:
                best = found
    if best is None:
        raise PlanError(
            field="enclosure.style",
            value="fitted",
            why="finds no place for all rooms: "
            + max(why, key=lambda k: why[k], default="a room finds no place"),
            remedy="a larger space, or enclosure: {style: tub}",
        )
    return _fitted(case, best, cell_layout, interconnect)


def _frees(case: _Case) -> Iterator[BaseGeometry]:
    """Where the enclosure may lie, in the pack's plan: one for each pose in the space."""
    space, levels = case.pack.space, case.levels
    if space is None:
        yield box_round(case.held, FREE_MM)
        return
    low = space.low_mm[2]
    high = levels.lid_mm - levels.under_mm
    free = free_region(space, low, low + high)
    if free.is_empty:
        raise PlanError(
            field="space",
            value=f"box of {' x '.join(f'{side:g}' for side in space.box_mm)} mm",
            why=f"has no place for an enclosure {high:.1f} mm high",
            remedy="a higher space, shorter cells, or a smaller enclosure.gas_gap_mm",
        )
    inside = shapely.union_all([case.held, *(room.plan for room in case.fixed)])
    plan = inside.buffer(case.out_mm, quad_segs=4)
    turns = BOX_TURNS if space.is_box else TURNS
    for pose in plan_poses(free.buffer(-GAP_MM), plan, turns, POSES_MOST):
        yield pose.free


def box_round(shape: BaseGeometry, by_mm: float) -> shapely.Polygon:
    """A shape's bounds, grown."""
    x0, y0, x1, y1 = shape.bounds
    return shapely.box(x0 - by_mm, y0 - by_mm, x1 + by_mm, y1 + by_mm)


def _room_sets(case: _Case, free: BaseGeometry) -> list[RoomSet]:
    pack, levels = case.pack, case.levels
    wall, lid = pack.enclosure.wall_mm, levels.lid_mm - levels.rim_mm
    rates = PlasticRates(
        plan_mm=levels.floor_mm - levels.under_mm + lid,
        wall_mm2=wall * levels.inside_mm + LID_LIP_MM * LIP_DEEP_MM,
    )
    return place_rooms(
        case.held.buffer(pack.enclosure.side_gap_mm),
        case.fixed,
        room_needs(pack, levels.inside_mm),
        free.buffer(-(case.out_mm), join_style="mitre"),
        rates,
        lane_mm=case.lane_mm,
    )


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class _Found:
    """Walls with places for brackets on two opposite sides."""

    shell: ShellPlan
    pads: tuple[PadPlace, ...]
    gas_side: Side
    ducts: tuple[Duct, ...]
    shift_mm: tuple[float, float]
    reach: BracketReach


def _drawn(case: _Case, rooms: RoomSet, free: BaseGeometry) -> _Found:
    """Walls and lid round a set of rooms, with way enough for one cell's gas and with places for
    brackets, neither on the other's side. Raises OutlineError where there are none."""
    pack, all_rooms = case.pack, (*case.fixed, *rooms.rooms)
    discs = np.array(case.cell_block.outline.discs)
    need = ENOUGH_RATIO * vent_area_mm2(pack.cell.capacity_ah, pressure_pa=ENCLOSURE_PA)
    fuse = next(room for room in all_rooms if room.kind is RoomKind.FUSE)
    glands_at = open_end(fuse, all_rooms, case.held, case.lane_mm)
    lanes = _lanes(case, all_rooms)
    why: OutlineError | None = None
    # in the wall's hollows, else behind a lip that stands off on one side
    for off in (None, *(side for side in Side if side is not glands_at)):
        try:
            shell = shell_round(
                pack, case.cell_block, all_rooms, free, lanes=lanes, held=case.held, gas_side=off
            )
        except OutlineError as error:
            why = error
            continue
        ducts = ducts_of(shell, discs)
        height = slot_high_mm(pack, shell)
        for side in Side:
            mine = tuple(duct for duct in ducts if duct.side is side)
            if side is glands_at or free_mm2(mine, height) < need:
                why = why or OutlineError(
                    "no side leaves way enough for gas", remedy="a longer side without rooms"
                )
                continue
            found = _with_brackets(case, shell, free, lanes, side, mine)
            if found is not None:
                return found
            why = OutlineError(
                "with its brackets it leaves the space",
                remedy="more room before two opposite sides",
            )
    assert why is not None
    raise why


def _with_brackets(
    case: _Case,
    shell: ShellPlan,
    free: BaseGeometry,
    lanes: list[BaseGeometry],
    gas_at: Side,
    ducts: tuple[Duct, ...],
) -> _Found | None:
    """Pads on two opposite sides other than that of the gas, and the shift with which all of it
    stands in the space with most room; None where there is none."""
    kind, middle = kind_of(case.pack), case.held.centroid
    reach = BracketReach(wall_mm=kind.wall_mm(case.pack), out_mm=kind.reach_mm(case.pack)[0])
    places = [
        place
        for place in pad_places(shell, reach, shapely.union_all(lanes))
        if place.side is not gas_at
    ]
    gas = _before(shell.lid_plan, gas_at, GAS_OUT_MM)
    for pads in pad_pairs(places, (middle.x, middle.y)):
        before = [box(place.lane(reach)) for place in pads]
        shift = slid(free, shapely.union_all([shell.lid_plan, *lanes, *before, gas]))
        if shift is not None:
            return _Found(
                shell=shell, pads=pads, gas_side=gas_at, ducts=ducts, shift_mm=shift, reach=reach
            )
    return None


def _before(shape: BaseGeometry, side: Side, by_mm: float) -> BaseGeometry:
    """A strip before a shape's box on one side."""
    edge = edge_mm(shape.bounds, side)
    x0, y0, x1, y1 = shape.bounds
    low, high = (y0, y1) if axis_along(side) else (x0, x1)
    return box(rect_at(side, edge, edge + by_mm, low, high))


def _lanes(case: _Case, rooms: Sequence[Room]) -> list[BaseGeometry]:
    """What the glands of the fuse's room need free."""
    fuse = next(room for room in rooms if room.kind is RoomKind.FUSE)
    taken = shapely.union_all([case.held, *(r.plan for r in rooms if r is not fuse)])
    lanes = [box(lane) for lane in gland_lanes(fuse.rect, case.lane_mm)]
    return [lane for lane in lanes if not lane.buffer(-0.1).intersects(taken)][:1]


def _opening(landing: Rect, held: BaseGeometry) -> Rect:
    """Where the partition is left out: straight across it, from behind the cells' flank on."""
    bounds = (landing.x0, landing.y0, landing.x1, landing.y1)
    side = max(Side, key=lambda one: edge_mm(bounds, one) - edge_mm(held.bounds, one))
    low, high = span_mm(landing, axis_along(side))
    far = edge_mm(bounds, side) + OPENING_MM
    near = edge_mm(held.bounds, side) - OPENING_DEEP_MM
    return rect_at(side, near, far, low - OPENING_MM, high + OPENING_MM)


def _charge_hole(case: _Case, found: _Found) -> WallHole | None:
    """The charge port's gland, off brackets, main leads and gas; None where no wall is free."""
    rooms = found.shell.rooms
    (charge,) = (room for room in rooms if room.kind is RoomKind.CHARGE)
    others = [room.plan for room in rooms if room is not charge]
    lanes = [*_lanes(case, rooms), *(box(place.lane(found.reach)) for place in found.pads)]
    return charge_hole(
        found.shell, charge, shapely.union_all([case.held, *others, *lanes]), found.gas_side
    )


def _fitted(
    case: _Case, found: _Found, cell_layout: CellLayout, interconnect: Interconnect
) -> FittedSizes:
    """All that stands in the chosen walls."""
    shell = found.shell
    pack, levels, held = case.pack, shell.levels, case.held
    floor, lid = (
        support_pads_of(pack, cell_layout, interconnect, case.cell_block, held, face)
        for face in (Face.LOWER, Face.UPPER)
    )
    rooms = {room.kind: room for room in shell.rooms}
    inside = loop_polygon(shell.inner.loop)
    glands_at = open_end(rooms[RoomKind.FUSE], shell.rooms, held, case.lane_mm)
    assert glands_at is not None  # the rooms were placed so
    fuse, lugs = fuse_seat(levels, rooms[RoomKind.FUSE], glands_at)
    openings = tuple(
        dict.fromkeys(
            _opening(room.rect, held) for room in shell.rooms if room.kind is RoomKind.LANDING
        )
    )
    holes = wall_holes(pack, levels, rooms[RoomKind.FUSE], glands_at, shell.wall_mm)
    charge = _charge_hole(case, found)
    pad_mm = pack.enclosure.gas_gap_mm
    case_spec, inserts = pack.enclosure, screws()[PAD_SCREW]
    return FittedSizes(
        shell=shell,
        insert_deep_mm=insert_hole_deep_mm(case_spec.screw, case_spec.insert_mm),
        lid_hole_radius_mm=screws()[case_spec.screw].clearance_diameter_mm / 2,
        support_pads_floor=floor,
        support_pads_lid=lid,
        support_pad_floor_mm=pad_mm,
        support_pad_lid_mm=pad_mm - PAD_CLEARANCE_MM,
        openings=openings,
        notches=notches_of(shell),
        stops=stops_of(shell, held, case.metal, openings),
        stop_z1_mm=pack.holder.depth_mm - STOP_UNDER_MM,
        gas_side=found.gas_side,
        ducts=found.ducts,
        drains=drains_of(shell, floor),
        board=board_seat(pack, levels, rooms[RoomKind.BOARD], inside, held),
        fuse=fuse,
        tie_lugs=lugs,
        holes=(*holes, *(() if charge is None else (charge,))),
        pads=tuple(
            MountingPad(
                side=place.side,
                face_mm=place.face_mm,
                along_mm=place.along_mm,
                underside_mm=levels.under_mm,
            )
            for place in found.pads
        ),
        pad_width_mm=PAD_WIDE_MM,
        pad_hole_radius_mm=inserts.insert_hole_diameter_mm / 2,
        pad_hole_deep_mm=inserts.insert_deep_mm,
        notes=() if charge else (NO_CHARGE_PORT,),
    )
