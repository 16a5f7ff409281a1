"""Which hollows of the outline take a boss for the lid's screws."""

from __future__ import annotations

import itertools
import math

import numpy as np
import shapely
from numpy.typing import NDArray

from layouts.holders.outline import BALL_MM, BossSeat, Outline, outline_box_mm, outline_points_mm
from layouts.holders.spans import stepping_stones
from layouts.pack import Pack
from layouts.parts.board_room import bms_room_mm

__all__ = ["LID_STEP_MM", "choose_boss_seats", "room_corners_mm"]

LID_STEP_MM = 70.0  # between two lid screws; common practice, no source
BOSS_RADIUS_MM = 4.5  # radius: the ball less 0.3 of fit
BOSSES_APART_MM = 14.0  # two bosses and 5 mm between them
WEB_HALF_MM = 2.3  # half of the way out that a boss's web to the wall needs, fit included
STRIP_CLEAR_MM = 1.5  # between a boss or its web and a strip's channel; common practice
DEEP_MM = 20.0  # a web longer than this bends; common practice, no source
BULGE_PRICE = 0.1  # one mm of boss rib outside the wall weighs a tenth of a screw
CORNER_CHOICE = 12  # seats looked at near each corner
SIDES = {"-x": (-1.0, 0.0), "+y": (0.0, 1.0), "-y": (0.0, -1.0)}


def room_corners_mm(pack: Pack, outline: Outline) -> NDArray[np.float64]:
    """(2, 2) about where the lid's screws in the compartment stand: +y, -y corner."""
    _, y0, x1, y1 = outline_box_mm(outline)
    x = x1 + pack.enclosure.side_gap_mm + bms_room_mm(pack) - BOSS_RADIUS_MM
    inside = pack.enclosure.side_gap_mm - BOSS_RADIUS_MM
    return np.array([[x, y1 + inside], [x, y0 - inside]])


def choose_boss_seats(
    pack: Pack, outline: Outline, channels: NDArray[np.object_]
) -> tuple[BossSeat, ...]:
    """Seats for bosses on the +y, -x and -y sides, from the +y end of +x counter-clockwise.

    A seat near each of the two -x corners; between them, and from them to the compartment's corners
    on the +x side, as few more as keep the screws ``LID_STEP_MM`` apart, evenly. Where the hollows
    don't allow that, the steps are longer and the lid needs screws outside of the cell block.
    ``channels`` (m,): those of both faces, lead exits too; no boss stands in their way."""
    ways = _ways_out(pack, outline, channels)
    if not ways:
        return ()
    box = outline_box_mm(outline)
    ends = _corner_seats(outline, ways, box)
    upper, lower = (np.array([outline.seats[k].x_mm, outline.seats[k].y_mm]) for k in ends)
    rooms = room_corners_mm(pack, outline)
    chosen: list[int] = []
    for side, axis, start, end in (
        ("+y", 0, rooms[0], upper),
        ("-x", 1, upper, lower),
        ("-y", 0, lower, rooms[1]),
    ):
        if side != "+y":
            chosen.append(ends[0] if side == "-x" else ends[1])
        way = 1.0 if end[axis] > start[axis] else -1.0
        between = [
            (way * place, k, ways[k][side])
            for k, place in (
                (k, (outline.seats[k].x_mm, outline.seats[k].y_mm)[axis])
                for k in ways
                if side in ways[k]
            )
            if way * start[axis] < way * place < way * end[axis]
        ]
        between.sort()
        places = np.array(
            [(outline.seats[k].x_mm, outline.seats[k].y_mm) for _, k, _ in between]
        ).reshape(-1, 2)
        stones = stepping_stones(
            start,
            end,
            places,
            [price for _, _, price in between],
            limit_mm=LID_STEP_MM,
            apart_mm=BOSSES_APART_MM,
        )
        chosen += [between[k][1] for k in stones]
    if ends[0] == ends[1]:
        chosen.remove(ends[1])
    return tuple(outline.seats[k] for k in chosen)


def _ways_out(
    pack: Pack, outline: Outline, channels: NDArray[np.object_]
) -> dict[int, dict[str, float]]:
    """Seats with a free way out to a wall: seat number -> side -> price of its boss rib."""
    x0, y0, _, y1 = outline_box_mm(outline)
    cell_block = shapely.Polygon(outline_points_mm(outline, 0.02))
    shapely.prepare(cell_block)
    strips = shapely.STRtree(channels)
    wall = pack.enclosure.side_gap_mm + pack.enclosure.wall_mm
    sides = {"-x": -x0, "+y": y1, "-y": -y0}
    found: dict[int, dict[str, float]] = {}
    for k, seat in enumerate(outline.seats):
        for side, (ux, uy) in SIDES.items():
            deep = sides[side] - (seat.x_mm * ux + seat.y_mm * uy)
            if deep > DEEP_MM:
                continue
            far = max(deep, 0.0) + BALL_MM
            wx, wy = abs(uy) * WEB_HALF_MM, abs(ux) * WEB_HALF_MM
            way = shapely.box(
                seat.x_mm + min(0.0, far * ux) - wx,
                seat.y_mm + min(0.0, far * uy) - wy,
                seat.x_mm + max(0.0, far * ux) + wx,
                seat.y_mm + max(0.0, far * uy) + wy,
            )
            boss = shapely.Point(seat.x_mm, seat.y_mm).buffer(BOSS_RADIUS_MM)
            near = strips.query([way, boss], predicate="dwithin", distance=STRIP_CLEAR_MM)
            if not cell_block.intersects(way) and not near.size:
                bulge = max(0.0, BOSS_RADIUS_MM - deep - wall)
                found.setdefault(k, {})[side] = BULGE_PRICE * bulge
    return found


def _corner_seats(
    outline: Outline,
    ways: dict[int, dict[str, float]],
    box: tuple[float, float, float, float],
) -> tuple[int, int]:
    """The seats nearest to the (-x, +y) and (-x, -y) corners, bosses clear of each other.

    The same seat twice where there is one only.
    """
    x0, y0, _, y1 = box
    choice: list[list[tuple[float, int]]] = []
    for corner, sides in (((x0, y1), {"-x", "+y"}), ((x0, y0), {"-x", "-y"})):
        near = sorted(
            (round(math.dist((outline.seats[k].x_mm, outline.seats[k].y_mm), corner), 6), k)
            for k, out in ways.items()
            if sides & set(out)
        )
        choice.append(near[:CORNER_CHOICE])
    best: tuple[float, float, int, int] | None = None
    for (far_a, a), (far_b, b) in itertools.product(*choice):
        one, two = outline.seats[a], outline.seats[b]
        apart = math.dist((one.x_mm, one.y_mm), (two.x_mm, two.y_mm))
        if apart < BOSSES_APART_MM:
            continue
        key = (round(far_a + far_b, 3), -round(apart, 3), a, b)
        if best is None or key < best:
            best = key
    if best is not None:
        return best[2], best[3]
    some = min(ways)
    return some, some
