"""Rooms beside the held cells: what needs one, how large, and those whose place follows the cells.

Plans and heights are the clear inside. All sizes are common practice, no source.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from enum import Enum

import shapely
from shapely.geometry.base import BaseGeometry

from layouts.enclosures.fitted.sides import OUTWARD, ROUND, axis_along, edge_mm, rect_at, span_mm
from layouts.pack import Pack, Side
from layouts.parts.glands import GlandSize, gland_for
from layouts.parts.outlet import BEND_RATIO
from layouts.parts.shell import Rect, box
from layouts.plates.ways_out import WayOut

__all__ = [
    "CORNER_MM",
    "PARTITION_MM",
    "BoardPose",
    "Room",
    "RoomKind",
    "RoomNeed",
    "board_poses",
    "room_needs",
    "rooms_at_cells",
    "rooms_least_mm2",
]

PARTITION_MM = 1.26  # three lines of a 0.4 nozzle, between cells and dry rooms
PLAY_MM = 0.05  # between the partition and a room: figures that touch along a line are avoided
END_MM = 2.0  # between a bar's end and the wall before it
CHANNEL_MM = 5.0  # beside folded tails, for them and the balance leads
BESIDE_TAIL_MM = 3.0
WAY_PLAY_MM = 2.0  # a wire in its way
BOARD_PLAY_MM = 7.0  # along a board, for its guides: its ends stay off the rounded corners
BOARD_THICK_PLAY_MM = 3.0  # across a board on edge: 1 to slide it in, 2 for the guides' hooks
BOARD_WIRES_MM = 10.0  # wires before the board's face
FLAT_OVER_MM = 13.0  # wires and cushion over a board that lies flat
EDGE_OVER_MM = 1.0  # over a board on edge
FUSE_SEAT_MM = (62.0, 25.4)  # a bought holder for a blade or bolted fuse with its wires' ends
CHARGE_MM = (30.0, 26.0)  # a panel socket and its solder tags
FINE_MM, CRUMB_MM2 = 0.05, 0.2  # chords of fine polygons, and what they leave of each other
FLAT_MM = 0.5  # of flat wall past a gland
CORNER_MM = 3.0  # inner corners of rooms: radius
GLAND_CORNER_MM = 1.0  # the same where glands lie on the flat wall between two of them


class RoomKind(Enum):
    """What a room is for."""

    TAILS = "balance leads at the cells"
    BARS = "metal along the cells"
    LANDING = "main lead at the cells"
    WAY = "way of the main leads"
    BOARD = "protection board"
    FUSE = "main fuse and cable glands"
    CHARGE = "charge port"


# the cells' gas may get into these
OPEN_TO_GAS = (RoomKind.TAILS, RoomKind.BARS, RoomKind.LANDING)


@dataclass(frozen=True, kw_only=True, slots=True)
class Room:
    """A room in the plan, pack coordinates; ``name`` tells it from others of its kind."""

    kind: RoomKind
    name: str
    rect: Rect

    @property
    def is_dry(self) -> bool:
        """Whether a partition keeps the cells' gas out of it."""
        return self.kind not in OPEN_TO_GAS

    @property
    def corner_radius_mm(self) -> float:
        """Of its inner corners."""
        radius = GLAND_CORNER_MM if self.kind is RoomKind.FUSE else CORNER_MM
        return min(radius, *(side / 2 for side in self.rect.size_mm))

    @property
    def plan(self) -> shapely.Polygon:
        """Its plan as a shape."""
        return box(self.rect)


@dataclass(frozen=True, kw_only=True, slots=True)
class RoomNeed:
    """What needs a room. ``plans_mm``: clear plans (long, wide), any will do."""

    kind: RoomKind
    plans_mm: tuple[tuple[float, float], ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class BoardPose:
    """How the protection board may stand: its plan and height, and the room it then needs."""

    on_edge: bool
    board_mm: tuple[float, float, float]  # along, across, up
    plan_mm: tuple[float, float]


def board_poses(pack: Pack, inside_mm: float) -> tuple[BoardPose, ...]:
    """On edge on either side where the cavity is high enough, and flat; the narrowest first."""
    long, wide, thick = pack.bms.board_mm
    across = thick + BOARD_THICK_PLAY_MM + BOARD_WIRES_MM
    poses = [
        BoardPose(
            on_edge=True, board_mm=(along, thick, up), plan_mm=(along + BOARD_PLAY_MM, across)
        )
        for along, up in dict.fromkeys(((long, wide), (wide, long)))
        if up + EDGE_OVER_MM <= inside_mm
    ]
    if thick + FLAT_OVER_MM <= inside_mm:
        poses.append(
            BoardPose(
                on_edge=False,
                board_mm=(long, wide, thick),
                plan_mm=(long + BOARD_PLAY_MM, wide + BOARD_PLAY_MM),
            )
        )
    return tuple(sorted(poses, key=lambda pose: pose.plan_mm[0] * pose.plan_mm[1]))


def room_needs(pack: Pack, inside_mm: float) -> tuple[RoomNeed, ...]:
    """Rooms that the planner places, the largest first; ``inside_mm``: height of the cavity.

    The board's has no plan where no pose goes in."""
    gland: GlandSize = gland_for(pack.leads.outside_mm)
    across = max(
        FUSE_SEAT_MM[1],
        BEND_RATIO * pack.leads.outside_mm,
        2 * (gland.keep_radius_mm + GLAND_CORNER_MM + FLAT_MM),
    )
    return (
        RoomNeed(
            kind=RoomKind.BOARD,
            plans_mm=tuple(pose.plan_mm for pose in board_poses(pack, inside_mm)),
        ),
        RoomNeed(kind=RoomKind.FUSE, plans_mm=((FUSE_SEAT_MM[0], across),)),
        RoomNeed(kind=RoomKind.CHARGE, plans_mm=(CHARGE_MM,)),
    )


def rooms_least_mm2(pack: Pack) -> float:
    """Plan area that the rooms do not go below, however high the cavity is."""
    long, wide = sorted(pack.bms.board_mm)[:2]
    fixed = (FUSE_SEAT_MM, CHARGE_MM)
    return long * wide + sum(a * b for a, b in fixed)


def rooms_at_cells(pack: Pack, ways: tuple[WayOut, ...], held: BaseGeometry) -> tuple[Room, ...]:
    """Channels of the tails, landings of the main leads, and the way between these.

    The way lies behind the partition, along the side on which both leads land; where they land at
    opposite ends, along the flank of the tails and round both of its corners."""
    landings = _landings(pack, ways, held)
    channels = _tail_channels(ways, held, landings[0][0])
    channels += _beside_bars(pack, ways, held)
    wet = shapely.union_all([held, *(room.plan for room in channels)])
    rooms = [*channels, *(room for _, room in landings)]
    for k, rect in enumerate(_main_way(pack, landings, channels, wet)):
        name = "way of the main leads" + (f" {k}" if k else "")
        rooms.append(Room(kind=RoomKind.WAY, name=name, rect=rect))
    return tuple(rooms)


def _main_way(
    pack: Pack, landings: list[tuple[Side, Room]], channels: list[Room], wet: BaseGeometry
) -> list[Rect]:
    """Stretches of the way between both landings; none where they land round one corner.

    ``wet``: the held cells and all channels, which the way lies outside of."""
    deep = pack.leads.outside_mm + WAY_PLAY_MM

    def near_mm(side: Side) -> float:
        return edge_mm(wet.bounds, side) + pack.enclosure.side_gap_mm + PARTITION_MM + PLAY_MM

    def beside(side: Side, low_mm: float, high_mm: float) -> Rect:
        return rect_at(side, near_mm(side), near_mm(side) + deep, low_mm, high_mm)

    sides = [side for side, _ in landings]
    if len(sides) != 2 or (
        sides[0] is not sides[1] and axis_along(sides[0]) != axis_along(sides[1])
    ):
        return []
    along = axis_along(sides[0])
    if sides[0] is sides[1]:
        ends = [v for _, room in landings for v in span_mm(room.rect, along)]
        return [beside(sides[0], min(ends), max(ends))]
    flank = _tails_flank(channels, sides)
    corner = OUTWARD[flank][along] * (near_mm(flank) + deep)
    found = []
    for side, room in landings:
        low, high = span_mm(room.rect, along)
        found.append(beside(side, min(low, corner), max(high, corner)))
    ends = [v for rect in found for v in span_mm(rect, 1 - along)]
    return [beside(flank, min(ends), max(ends)), *found]


def _tails_flank(channels: list[Room], ends: list[Side]) -> Side:
    """The side beside both ends along which most tails hang."""
    flanks = [side for side in (Side.PLUS_Y, Side.MINUS_Y, Side.PLUS_X) if side not in ends]
    long_mm = dict.fromkeys(flanks[:2], 0.0)
    for room in channels:
        for side in long_mm:
            if room.kind is RoomKind.TAILS and room.name.endswith(side.value):
                low, high = span_mm(room.rect, axis_along(side))
                long_mm[side] += high - low
    return max(long_mm, key=lambda side: long_mm[side])


def _tail_channels(ways: tuple[WayOut, ...], held: BaseGeometry, towards: Side) -> list[Room]:
    """Along each side of the held cells from which tails hang, and on round the corners to the side
    ``towards``, where the leads go on to the board."""
    hanging: dict[Side, tuple[float, float]] = {}
    for way in ways:
        if way.purpose.startswith("balance lead"):
            side, out = _leaving(way, held)
            low, high = span_mm(out, axis_along(side))
            was = hanging.get(side, (low, high))
            hanging[side] = (min(was[0], low), max(was[1], high))
    spans = {
        side: (low - BESIDE_TAIL_MM, high + BESIDE_TAIL_MM) for side, (low, high) in hanging.items()
    }
    for side in hanging:
        _lead_round(spans, held, side, towards)
    rooms = []
    for side, (low, high) in spans.items():
        edge = edge_mm(held.bounds, side)
        rect = rect_at(side, edge - CHANNEL_MM, edge + CHANNEL_MM, low, high)
        rooms.append(Room(kind=RoomKind.TAILS, name=f"tails {side.value}", rect=rect))
    return rooms


def _lead_round(
    spans: dict[Side, tuple[float, float]], held: BaseGeometry, side: Side, towards: Side
) -> None:
    """Widen and add spans, so that leads from a side get round the corners to another."""
    at, goal = ROUND.index(side), ROUND.index(towards)
    ways = [
        [ROUND[(at + step * k) % 4] for k in range((step * (goal - at)) % 4 + 1)]
        for step in (1, -1)
    ]
    way = min(ways, key=lambda way: sum(one not in spans for one in way))
    for here, after in itertools.pairwise(way):
        for one, other in ((here, after), (after, here)):
            # a corner lies on both sides' spans, past the edge of the side that meets there
            sign = 1.0 if other in (Side.PLUS_X, Side.PLUS_Y) else -1.0
            corner = sign * (edge_mm(held.bounds, other) + CHANNEL_MM)
            inside = sign * (edge_mm(held.bounds, other) - CHANNEL_MM)
            low, high = spans.get(one, (min(corner, inside), max(corner, inside)))
            spans[one] = (min(low, corner), max(high, corner))


def _beside_bars(pack: Pack, ways: tuple[WayOut, ...], held: BaseGeometry) -> list[Room]:
    """Where a bar or a plate's edge crosses hollows of the cells' flank: the wall stays off it."""
    x0, y0, x1, y1 = held.bounds
    gap = pack.enclosure.side_gap_mm
    frame = shapely.box(x0, y0, x1, y1)
    found = []
    for way in ways:
        over = shapely.difference(way.space, held).intersection(frame.buffer(FINE_MM))
        for k, part in enumerate(shapely.get_parts(over)):
            if part.area < CRUMB_MM2:
                continue
            a0, b0, a1, b1 = part.bounds
            rect = Rect(x0=a0 - gap, x1=a1 + gap, y0=b0 - gap, y1=b1 + gap)
            found.append(Room(kind=RoomKind.BARS, name=f"{way.purpose} {k}", rect=rect))
    return found


def _landings(pack: Pack, ways: tuple[WayOut, ...], held: BaseGeometry) -> list[tuple[Side, Room]]:
    """One for each main lead, from the cells to past its metal's end."""
    found = []
    beside = pack.enclosure.side_gap_mm  # flush with the walls beside the bars
    for way in ways:
        if way.purpose in ("pack minus", "pack plus"):
            side, out = _leaving(way, held)
            low, high = span_mm(out, axis_along(side))
            edge = edge_mm(held.bounds, side)
            end = edge_mm(out.bounds, side) + END_MM
            rect = rect_at(side, edge - CHANNEL_MM, end, low - beside, high + beside)
            found.append((side, Room(kind=RoomKind.LANDING, name=way.purpose, rect=rect)))
    return found


def _leaving(way: WayOut, held: BaseGeometry) -> tuple[Side, Rect]:
    """The side of the held cells that metal leaves to, and the box of what lies outside them."""
    x0, y0, x1, y1 = shapely.difference(way.space, held).bounds
    out = Rect(x0=x0, y0=y0, x1=x1, y1=y1)
    side = max(Side, key=lambda one: edge_mm((x0, y0, x1, y1), one) - edge_mm(held.bounds, one))
    return side, out
