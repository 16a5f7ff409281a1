"""What stands in the rooms and goes through their walls: seats, lugs, glands, notches, drains."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
import shapely.ops
from shapely.geometry.base import BaseGeometry

from layouts.enclosures.board_seat import BoardSeat
from layouts.enclosures.fitted.loops import loop_polygon
from layouts.enclosures.fitted.rooms import PARTITION_MM, BoardPose, Room, RoomKind, board_poses
from layouts.enclosures.fitted.shell import LIP_DEEP_MM, Levels, ShellPlan
from layouts.enclosures.fitted.sides import OUTWARD, axis_along, edge_mm, rect_at, span_mm
from layouts.enclosures.fitted.sizes import FloorDrain, FuseSeat, Notch, TieLug, WallHole
from layouts.enclosures.groove import groove_of
from layouts.enclosures.play import FIT_MM, HOLD_MM, play_mm
from layouts.enclosures.support_pads import SupportPad
from layouts.errors import PlanError
from layouts.pack import Pack, Side
from layouts.parts.glands import gland_for
from layouts.parts.shell import Rect, box

__all__ = [
    "board_seat",
    "drains_of",
    "fuse_seat",
    "notches_of",
    "port_hole",
    "stops_of",
    "wall_holes",
]  # fmt: skip

# All common practice or judgement, no source.
REST_HIGH_MM = 3.0  # the board stands so far over the floor: water runs under it
REST_MM = 6.0  # so much of the board's ends stands on a rest
GUIDE_MM = 2.0  # guides' legs and hooks: five lines of a 0.4 nozzle
GUIDE_PLAY_MM = 0.5  # board to leg, and board to hook
HOOK_OVER_MM = 2.5  # hook over the board's face
GUIDE_SHARE = 0.75  # of the board's height that the guides hold
FUSE_MM = (50.0, 20.0, 25.0)  # a bought holder: along, across, up
FUSE_WALL_MM, FUSE_WALL_HIGH_MM = 2.0, 5.0
FUSE_WALL_IN_MM = 16.0  # from its ends: past the ties
NUT_MM = 12.0  # a gland's nut and the wire's way behind it
TIE_RADIUS_MM = 2.0  # a cable tie of 2.5 to 3.6 passes
LUG_MM = (8.0, 7.0)  # under a fuse holder, along it and up: a cable tie goes through and round it
TIES_IN_MM = 9.0  # from its ends
NOTCH_MM, NOTCH_DEEP_MM = 8.0, 10.0  # for the balance leads, from the partition's top down
NOTCH_NEAR_MM = 3.0
DRAIN_RADIUS_MM = 2.0
STOP_MM = 2.4  # width of a rib
STOP_FAR_MM = 15.0  # no wall is farther off the cells
STOP_STEP_MM = 0.5
STOP_SLOPE_MM = 0.15  # beside a rib the flank may bulge a little
STOP_NEARER_MM = 0.03  # than the fit: what fine polygons may be off by
STOP_OFF_MM = 1.5  # a rib stays so far off a tail
STOP_INTO_MM = 0.6  # a rib reaches so far into the wall
CREST_MM = 3.0  # a rib stops the cells where their flank lies no farther back than this
AT_WALL_MM = 1.0  # a room's side nearer than this to the wall lies on it


def board_seat(
    pack: Pack, levels: Levels, room: Room, inside: shapely.Polygon, cells: BaseGeometry
) -> BoardSeat:
    """The board in its room: on edge against the outer wall in two guides with hooks, hooks behind
    it too where it stands free, or flat on four rests between low guides.

    ``inside``: of the walls; ``cells``: the held cells, from which the board's wires come.
    """
    pose = _pose(pack, levels, room)
    if not pose.on_edge:
        return _flat(pose, levels, room)
    side = _outer_side(room, inside, cells)
    along, thick, up = pose.board_mm
    low, high = span_mm(room.rect, axis_along(side))
    wall = edge_mm(room.rect.bounds, side)
    # between two rooms no wall is behind it: hooks are there too
    free = _off_wall(room, side, inside, cells)[0] > 0.0
    wall -= GUIDE_MM + GUIDE_PLAY_MM if free else 0.0
    behind = wall + (GUIDE_MM + GUIDE_PLAY_MM if free else 0.0)
    start = (low + high - along) / 2
    board = rect_at(side, wall - thick, wall, start, start + along)
    face = wall - thick - GUIDE_PLAY_MM  # inner side of the hooks
    guides, rests = [], []
    for end, out in ((start, -1.0), (start + along, 1.0)):
        leg = sorted((end + out * GUIDE_PLAY_MM, end + out * (GUIDE_PLAY_MM + GUIDE_MM)))
        hook = sorted((end - out * HOOK_OVER_MM, end + out * (GUIDE_PLAY_MM + GUIDE_MM)))
        rest = sorted((end - out * REST_MM, end + out * GUIDE_PLAY_MM))
        guides.append(rect_at(side, face - GUIDE_MM, behind, *leg))
        guides.append(rect_at(side, face - GUIDE_MM, face, *hook))
        if free:
            guides.append(rect_at(side, behind - GUIDE_MM, behind, *hook))
        rests.append(rect_at(side, face, wall, *rest))
    z0 = levels.floor_mm + REST_HIGH_MM
    return BoardSeat(
        board=board, z0_mm=z0, z1_mm=z0 + up, guides=tuple(guides),
        guide_z1_mm=z0 + GUIDE_SHARE * up, rests=tuple(rests),
    )  # fmt: skip


def _pose(pack: Pack, levels: Levels, room: Room) -> BoardPose:
    """The pose whose plan the room has."""
    size = sorted(room.rect.size_mm)
    return min(
        board_poses(pack, levels.inside_mm),
        key=lambda pose: sum(abs(a - b) for a, b in zip(sorted(pose.plan_mm), size, strict=True)),
    )


def _flat(pose: BoardPose, levels: Levels, room: Room) -> BoardSeat:
    """Flat in the room's middle, on a rest in each corner, low guides round each."""
    x, y = room.rect.centre_mm
    wide, high = room.rect.size_mm
    long, across, thick = pose.board_mm
    a, b = (long, across) if wide >= high else (across, long)
    board = Rect(x0=x - a / 2, x1=x + a / 2, y0=y - b / 2, y1=y + b / 2)
    grown = board.grown(GUIDE_PLAY_MM)
    rests, guides = [], []
    for sx, cx in ((-1.0, board.x0), (1.0, board.x1)):
        for sy, cy in ((-1.0, board.y0), (1.0, board.y1)):
            rests.append(_corner(cx, cy, -sx * REST_MM, -sy * REST_MM))
            ex, ey = (grown.x0, grown.x1)[sx > 0], (grown.y0, grown.y1)[sy > 0]
            fx, fy = ex + sx * GUIDE_MM, ey + sy * GUIDE_MM
            guides.append(_corner(ex, fy, sx * GUIDE_MM, -sy * (GUIDE_MM + REST_MM)))
            guides.append(_corner(fx, ey, -sx * (GUIDE_MM + REST_MM), sy * GUIDE_MM))
    z0 = levels.floor_mm + REST_HIGH_MM
    return BoardSeat(
        board=board, z0_mm=z0, z1_mm=z0 + thick, guides=tuple(guides),
        guide_z1_mm=z0 + thick, rests=tuple(rests),
    )  # fmt: skip


def _corner(x: float, y: float, dx: float, dy: float) -> Rect:
    """The rectangle from a corner by dx and dy."""
    return Rect(x0=min(x, x + dx), x1=max(x, x + dx), y0=min(y, y + dy), y1=max(y, y + dy))


def _outer_side(room: Room, inside: shapely.Polygon, cells: BaseGeometry) -> Side:
    """The long side of a room that lies on the outer wall, the farther from the cells of two."""
    wide, high = room.rect.size_mm
    sides = (Side.PLUS_Y, Side.MINUS_Y) if wide >= high else (Side.PLUS_X, Side.MINUS_X)
    return min(sides, key=lambda side: _off_wall(room, side, inside, cells))


def _middle(room: Room, side: Side) -> shapely.Point:
    """The middle of a room's side."""
    rect = room.rect
    edge = edge_mm(rect.bounds, side)
    low, high = span_mm(rect, axis_along(side))
    x, y = rect_at(side, edge, edge, (low + high) / 2, (low + high) / 2).centre_mm
    return shapely.Point(x, y)


def _off_wall(
    room: Room, side: Side, inside: shapely.Polygon, cells: BaseGeometry
) -> tuple[float, float]:
    """Off the wall (0: on it), then nearness to the cells."""
    middle = _middle(room, side)
    off = float(inside.exterior.distance(middle))
    return (0.0 if off < AT_WALL_MM else off), -float(cells.distance(middle))


def fuse_seat(levels: Levels, room: Room, glands_at: Side) -> tuple[FuseSeat, tuple[TieLug, ...]]:
    """The fuse's seat at the end away from the glands, in line with the lower one, and the blocks
    that it is tied down to."""
    rect = room.rect
    end = edge_mm(rect.bounds, glands_at)
    low, high = span_mm(rect, axis_along(glands_at))
    middle = (low + high) / 2
    long, across, _ = FUSE_MM
    near, far = end - NUT_MM - long, end - NUT_MM
    plan = rect_at(glands_at, near, far, middle - across / 2, middle + across / 2)
    walls = tuple(
        rect_at(
            glands_at,
            near + FUSE_WALL_IN_MM,
            far - FUSE_WALL_IN_MM,
            *sorted((at, at + sign * FUSE_WALL_MM)),
        )
        for sign, at in ((-1.0, middle - across / 2), (1.0, middle + across / 2))
    )
    z0 = levels.floor_mm
    seat = FuseSeat(plan=plan, walls=walls, wall_z1_mm=z0 + LUG_MM[1] + FUSE_WALL_HIGH_MM)
    lugs = tuple(
        TieLug(
            block=rect_at(
                glands_at, at - LUG_MM[0] / 2, at + LUG_MM[0] / 2,
                middle - across / 2, middle + across / 2,
            ),
            axis=axis_along(glands_at), hole_z_mm=z0 + LUG_MM[1] / 2,
            hole_radius_mm=TIE_RADIUS_MM, z1_mm=z0 + LUG_MM[1],
        )
        for at in (near + TIES_IN_MM, far - TIES_IN_MM)
    )  # fmt: skip
    return seat, lugs


def wall_holes(
    pack: Pack, levels: Levels, room: Room, glands_at: Side, wall_mm: float
) -> tuple[WallHole, ...]:
    """Two glands one over the other in the end wall of the fuse's room: pack plus below, in line
    with the fuse, pack minus above it.

    Raises PlanError where two are too high for the wall under the lid's lip."""
    gland = gland_for(pack.leads.outside_mm)
    rect = room.rect
    face = edge_mm(rect.bounds, glands_at) + wall_mm
    low, high = span_mm(rect, axis_along(glands_at))
    first = levels.floor_mm + gland.keep_radius_mm + 0.5
    second = first + 2 * gland.keep_radius_mm
    groove = groove_of(pack.enclosure)
    deep = LIP_DEEP_MM if groove is None else groove.thick_mm + groove.flange_mm - wall_mm
    over = second + gland.keep_radius_mm - (levels.rim_mm - deep)
    if over > 0:
        raise PlanError(
            field="leads.outside_mm",
            value=f"{pack.leads.outside_mm:g}",
            why=f"needs two {gland.size} glands one over the other, {over:.1f} mm higher than the "
            f"wall under the lid's {'lip' if groove is None else 'flange'}",
            remedy="use a thinner wire, or enclosure: {style: tub}",
        )
    return tuple(
        WallHole(
            gland=gland, purpose=purpose, side=glands_at, face_mm=face, along_mm=(low + high) / 2,
            z_mm=z, wire_mm=pack.leads.outside_mm,
        )
        for purpose, z in (("pack plus", first), ("pack minus", second))
    )  # fmt: skip


def port_hole(shell: ShellPlan, room: Room, side: Side | None) -> WallHole | None:
    """A small gland for charge and sense leads in a wall of the charge port's room, at half height;
    None where no wall has place for one."""
    if side is None:
        return None
    gland = gland_for(0.0)
    bounds = room.rect.bounds
    return WallHole(
        gland=gland, purpose="charge and sense leads", side=side,
        face_mm=edge_mm(bounds, side) + shell.wall_mm,
        along_mm=room.rect.centre_mm[axis_along(side)],
        z_mm=(shell.levels.floor_mm + shell.levels.rim_mm) / 2, wire_mm=gland.wire_mm,
    )  # fmt: skip


def span_length_mm(rect: Rect, side: Side) -> float:
    """Length of a rectangle along a side."""
    low, high = span_mm(rect, axis_along(side))
    return high - low


def notches_of(shell: ShellPlan) -> tuple[Notch, ...]:
    """One through the partition between the tails' channel and the board's room."""
    board = next(room for room in shell.rooms if room.kind is RoomKind.BOARD)
    channels = [room for room in shell.rooms if room.kind is RoomKind.TAILS]
    partition = loop_polygon(shell.partition).difference(loop_polygon(shell.cells))
    at = partition
    if channels:
        at = min(
            (partition.intersection(c.plan.buffer(NOTCH_NEAR_MM)) for c in channels),
            key=board.plan.distance,
        )
    near, _ = shapely.ops.nearest_points(at, board.plan.centroid)
    half = NOTCH_MM / 2 + PARTITION_MM
    rect = Rect(x0=near.x - half, x1=near.x + half, y0=near.y - half, y1=near.y + half)
    return (Notch(rect=rect, z0_mm=shell.levels.rim_mm - NOTCH_DEEP_MM),)


def drains_of(shell: ShellPlan, pads: Sequence[SupportPad]) -> tuple[FloorDrain, ...]:
    """One in each dry room, and one in each channel and landing: nowhere can water stand."""
    taken = shapely.union_all([shapely.Point(p.x_mm, p.y_mm).buffer(p.radius_mm) for p in pads])
    drains = []
    for room in shell.rooms:
        x, y = room.rect.centre_mm
        if (
            room.kind in (RoomKind.WAY,)
            or shapely.Point(x, y).distance(taken) < DRAIN_RADIUS_MM + 1.0
        ):
            continue
        drains.append(FloorDrain(x_mm=x, y_mm=y, radius_mm=DRAIN_RADIUS_MM))
    return tuple(drains)


def stops_of(
    shell: ShellPlan, held: BaseGeometry, metal: BaseGeometry, openings: Sequence[Rect]
) -> tuple[Rect, ...]:
    """Ribs from the wall to the held cells on sides where these could slide too far: two a side, as
    far apart as can be, so that what they hold does not turn.

    ``metal``: in the plan, that no rib comes near; ``openings``: where no partition stands."""
    cells = loop_polygon(shell.cells)
    left_out = shapely.union_all([box(rect) for rect in openings])
    around = cells.buffer(STOP_FAR_MM).difference(shapely.union(cells, left_out))
    kept_off = metal.buffer(STOP_OFF_MM)
    found: list[Rect] = []
    for side, way in OUTWARD.items():
        if play_mm(held, around, (round(way[0]), round(way[1]))) <= HOLD_MM:
            continue
        x0, y0, x1, y1 = held.bounds
        low, high = (y0, y1) if axis_along(side) else (x0, x1)
        ribs = [
            rib
            for at in np.arange(low + STOP_MM, high - STOP_MM, STOP_STEP_MM).tolist()
            if (rib := _rib(at, side, held, cells, kept_off)) is not None
        ]
        found += dict.fromkeys((*ribs[:1], *ribs[-1:]))
    return tuple(found)


def _rib(
    at_mm: float, side: Side, held: BaseGeometry, cells: BaseGeometry, kept_off: BaseGeometry
) -> Rect | None:
    """From the held cells to the wall before them, ``at_mm`` along a side; None where metal is in
    its way or the cells' flank lies too far back."""
    half = STOP_MM / 2
    low, high = at_mm - half, at_mm + half
    edge = edge_mm(held.bounds, side)
    lane = box(rect_at(side, edge - CREST_MM, edge + STOP_FAR_MM, low, high))
    flank, inside = held.intersection(lane), cells.intersection(lane)
    if flank.is_empty or inside.is_empty:
        return None
    front = edge_mm(flank.bounds, side) + FIT_MM + STOP_SLOPE_MM
    wall = edge_mm(inside.bounds, side) + STOP_INTO_MM
    rib = rect_at(side, front, wall, low, high)
    near = box(rib).distance(held) < FIT_MM - STOP_NEARER_MM  # beside a slope
    return None if near or box(rib).intersects(kept_off) else rib
