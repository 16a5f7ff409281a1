"""Signs and figures of our own from lines and arcs: a round pen, half circles, open counters.

Each is drawn about its own middle, upright, read from the front. A figure is a pen of width
``stroke_mm`` led along a path; where the path meets itself (6, 8, 9) the loops are written out.
``figure_area_mm2`` gives the same area from lengths and angles alone, by other formulas.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

from layouts.slabs.areas import segment_area_mm2
from layouts.slabs.profile import Arc, Line, Loop, Point, circle, mirrored_x, reversed_loop

__all__ = [
    "FIGURES",
    "PENS",
    "DigitPen",
    "figure_area_mm2",
    "figure_loops",
    "figure_size_mm",
    "four_area_mm2",
    "four_loop",
]

FIGURES = "+-0123456789"
TERMINAL_RAD = math.radians(58.0)  # open curves of 3, 5, 6 and 9 stop so far from the level
TWO_START_RAD = math.radians(165.0)
FLAG_RAD = math.radians(42.0)  # slope of the 1's flag
SIGN = 1.35  # half length of the signs' strokes, in bowls: a little larger than the figures
SHORT = 1e-12  # turns below this are none


@dataclass(frozen=True, slots=True)
class DigitPen:
    """Height of the figures and width of their strokes [mm]."""

    height_mm: float
    stroke_mm: float

    @property
    def half(self) -> float:
        """Half the stroke [mm]."""
        return self.stroke_mm / 2

    @property
    def b(self) -> float:
        """Half the height of the pen's path [mm]."""
        return (self.height_mm - self.stroke_mm) / 2

    @property
    def c(self) -> float:
        """Radius of the bowls' path: two of them fill the height [mm]."""
        return self.b / 2


# 0.8: two lines of a 0.4 nozzle; 0.7, one line and a half of 0.45, where space is short
PENS = (DigitPen(4.0, 0.8), DigitPen(3.4, 0.7), DigitPen(3.0, 0.7))


# ---- paths: straight ways with corners, and arcs that go on smoothly ----------------------------
def _paths(ch: str, pen: DigitPen) -> list[list[Line | Arc]]:
    """The pen's ways in the figures that don't close on themselves. Ways may cross once."""
    b, c = pen.b, pen.c
    if ch == "-":
        return [[Line((-SIGN * c, 0.0), (SIGN * c, 0.0))]]
    if ch == "1":
        flag = 1.1 * c
        top = (flag * math.cos(FLAG_RAD) / 2, b)
        foot = (top[0] - flag * math.cos(FLAG_RAD), b - flag * math.sin(FLAG_RAD))
        return [[Line(foot, top), Line(top, (top[0], -b))]]
    if ch == "2":
        centre = (0.0, b - c)
        touch = _tangent_angle(centre, c, (-c, -b))
        leave = Arc(centre, c, 0.0, 0.0).at(touch)
        return [
            [
                Arc(centre, c, TWO_START_RAD, -((TWO_START_RAD - touch) % math.tau)),
                Line(leave, (-c, -b)),
                Line((-c, -b), (1.05 * c, -b)),
            ]
        ]
    if ch == "5":
        x = -0.85 * c
        return [
            [
                Line((0.9 * c, b), (x, b)),
                Line((x, b), (x, 0.0)),
                Line((x, 0.0), (0.0, 0.0)),
                Arc((0.0, -c), c, math.pi / 2, -(1.5 * math.pi - TERMINAL_RAD)),
            ]
        ]
    if ch == "7":
        return [[Line((-c, b), (c, b)), Line((c, b), (-0.35 * c, -b))]]
    raise KeyError(ch)


def _tangent_angle(centre: Point, radius: float, point: Point) -> float:
    """Angle on the circle at which a clockwise walk leaves it straight for the point [rad]."""
    dx, dy = point[0] - centre[0], point[1] - centre[1]
    return math.atan2(dy, dx) + math.acos(radius / math.hypot(dx, dy))


def _ends(way: Line | Arc) -> tuple[Point, Point, float, float]:
    """Start, end, and the directions of travel there [rad]."""
    if isinstance(way, Line):
        angle = math.atan2(way.end[1] - way.start[1], way.end[0] - way.start[0])
        return way.start, way.end, angle, angle
    turn = math.copysign(math.pi / 2, way.sweep_rad)
    last = way.start_rad + way.sweep_rad
    return way.at(way.start_rad), way.at(last), way.start_rad + turn, last + turn


def _turn(before: float, after: float) -> float:
    """Signed turn between two directions, in (-pi, pi] [rad]."""
    return math.pi - (math.pi - (after - before)) % math.tau


def _aside(point: Point, direction: float, off: float) -> Point:
    """The point ``off`` to the right of a way with that direction."""
    return (point[0] + off * math.sin(direction), point[1] - off * math.cos(direction))


def _right_side(path: list[Line | Arc], r: float) -> list[Line | Arc]:
    """The border of the stroke on the right of the path, in the path's order."""
    out: list[Line | Arc] = []
    start: Point | None = None
    for k, way in enumerate(path):
        p, q, d0, d1 = _ends(way)
        begin = _aside(p, d0, r) if start is None else start
        end = _aside(q, d1, r)
        start = None
        after: Arc | None = None
        if k + 1 < len(path):
            d2 = _ends(path[k + 1])[2]
            turn = _turn(d1, d2)
            if turn < -SHORT:  # a turn to the right: the borders meet in the inner corner
                back = r * math.tan(-turn / 2)
                end = (end[0] - back * math.cos(d1), end[1] - back * math.sin(d1))
                start = end
            elif turn > SHORT:
                after = Arc(q, r, d1 - math.pi / 2, turn)
        if isinstance(way, Line):
            out.append(Line(begin, end))
        else:
            radius = way.radius_mm + math.copysign(r, way.sweep_rad)
            out.append(Arc(way.centre, radius, way.start_rad, way.sweep_rad))
        if after is not None:
            out.append(after)
    return out


def _stroke(path: list[Line | Arc], r: float) -> Loop:
    """Outline of a round pen of radius ``r`` along an open path, counter-clockwise."""
    back = [_reverse(way) for way in reversed(path)]
    _, q, _, d1 = _ends(path[-1])
    p, _, d0, _ = _ends(path[0])
    return (
        *_right_side(path, r),
        Arc(q, r, d1 - math.pi / 2, math.pi),
        *_right_side(back, r),
        Arc(p, r, d0 + math.pi / 2, math.pi),
    )


def _reverse(way: Line | Arc) -> Line | Arc:
    if isinstance(way, Line):
        return Line(way.end, way.start)
    return Arc(way.centre, way.radius_mm, way.start_rad + way.sweep_rad, -way.sweep_rad)


# ---- the figures --------------------------------------------------------------------------------
@lru_cache(maxsize=256)
def figure_loops(ch: str, pen: DigitPen) -> tuple[Loop, ...]:
    """Loops of one figure about its middle: outer counter-clockwise, counters clockwise."""
    r, b, c = pen.half, pen.b, pen.c
    if ch == "+":
        return (_plus(SIGN * c, r),)
    if ch == "0":
        outer, inner = (_stadium(c + k, b - c) for k in (r, -r))
        return outer, reversed_loop(inner)
    if ch == "3":
        return (_three(pen),)
    if ch == "4":
        return (four_loop(pen),)
    if ch == "6":
        return _six(pen)
    if ch == "8":
        x = math.sqrt((c + r) ** 2 - c * c)  # the two bowls' outer circles cross on the waist
        low, high = math.atan2(c, x), math.atan2(-c, x)
        outer = (
            Arc((0.0, c), c + r, high, math.pi - 2 * high),
            Arc((0.0, -c), c + r, math.pi - low, math.pi + 2 * low),
        )
        holes = (reversed_loop(circle((0.0, y), c - r)) for y in (c, -c))
        return outer, *holes
    if ch == "9":
        return tuple(mirrored_x(_mirrored_y(loop)) for loop in _six(pen))
    return tuple(_stroke(path, r) for path in _paths(ch, pen))


def _mirrored_y(loop: Loop) -> Loop:
    """y turned into -y; the loop then runs the other way round."""
    return tuple(
        Line((way.start[0], -way.start[1]), (way.end[0], -way.end[1]))
        if isinstance(way, Line)
        else Arc((way.centre[0], -way.centre[1]), way.radius_mm, -way.start_rad, -way.sweep_rad)
        for way in loop
    )


def _plus(a: float, r: float) -> Loop:
    """Two round-ended strokes of half length ``a`` crossing."""
    loop: list[Line | Arc] = []
    for k in range(4):
        s, t = round(math.sin(k * math.pi / 2)), round(math.cos(k * math.pi / 2))

        def at(x: float, y: float, s: int = s, t: int = t) -> Point:
            return (x * t - y * s, x * s + y * t)

        loop += [
            Line(at(r, -r), at(a, -r)),
            Arc(at(a, 0.0), r, k * math.pi / 2 - math.pi / 2, math.pi),
            Line(at(a, r), at(r, r)),
        ]
    return tuple(loop)


def _stadium(radius: float, half: float) -> Loop:
    """Two half circles and two straight sides, upright."""
    return (
        Arc((0.0, half), radius, 0.0, math.pi),
        Line((-radius, half), (-radius, -half)),
        Arc((0.0, -half), radius, math.pi, math.pi),
        Line((radius, -half), (radius, half)),
    )


def _three(pen: DigitPen) -> Loop:
    """Two bowls, open to the left, meeting in a round-ended arm."""
    r, c = pen.half, pen.c
    x = math.sqrt((c + r) ** 2 - c * c)
    notch = math.atan2(c, x)  # as seen from the lower bowl's centre
    stop = math.pi - TERMINAL_RAD
    top, low = (0.0, c), (0.0, -c)
    tip, foot = (Arc(m, c, 0.0, 0.0).at(k * stop) for m, k in ((top, 1), (low, -1)))
    return (
        Arc(top, c + r, -notch, notch + stop),
        Arc(tip, r, stop, math.pi),
        Arc(top, c - r, stop, -(stop + math.pi / 2)),
        Arc((0.0, 0.0), r, math.pi / 2, math.pi),
        Arc(low, c - r, math.pi / 2, -(stop + math.pi / 2)),
        Arc(foot, r, math.pi - stop, math.pi),
        Arc(low, c + r, -stop, stop + notch),
    )


def _four_points(pen: DigitPen, *, wide: bool) -> tuple[Point, Point, float, float, float]:
    """Top of the slant, its foot at the bar, the bar's right end, the stem's x and its top."""
    b, c = pen.b, pen.c
    if wide:
        return (-0.85 * c, b), (-1.38 * c, -0.36 * b), 1.38 * c, 0.95 * c, 0.12 * b
    return (-0.6 * c, b), (-1.38 * c, -0.36 * b), 1.38 * c, 0.75 * c, 0.28 * b


def four_loop(pen: DigitPen, *, wide: bool = False) -> Loop:
    """A 4, open at the top: a slant, a bar, and a stem that crosses the bar.

    ``wide``: the slant is steeper and the stem stands farther off it and lower.
    """
    r, b = pen.half, pen.b
    top, foot, right, x, high = _four_points(pen, wide=wide)
    y = foot[1]
    path: list[Line | Arc] = [Line(top, foot), Line(foot, (right, y))]
    # as drawn: slant and corner, the bar's under side, its end, its upper side, the slant's
    # upper border and round top; the stem cuts both sides of the bar
    slant, corner, _, end, _, above, start = _stroke(path, r)
    return (
        slant,
        corner,
        Line(_ends(corner)[1], (x - r, y - r)),
        Line((x - r, y - r), (x - r, -b)),
        Arc((x, -b), r, math.pi, math.pi),
        Line((x + r, -b), (x + r, y - r)),
        Line((x + r, y - r), (right, y - r)),
        end,
        Line((right, y + r), (x + r, y + r)),
        Line((x + r, y + r), (x + r, high)),
        Arc((x, high), r, 0.0, math.pi),
        Line((x - r, high), (x - r, y + r)),
        Line((x - r, y + r), _ends(above)[0]),
        above,
        start,
    )


def _six(pen: DigitPen) -> tuple[Loop, Loop]:
    """A whole bowl, and a stroke rising from its left side to a half-open curve."""
    r, b, c = pen.half, pen.b, pen.c
    top, low = (0.0, b - c), (0.0, c - b)
    tip = Arc(top, c, 0.0, 0.0).at(TERMINAL_RAD)
    d = c - r
    crossing = math.acos(d / (c + r))  # the bowl's outer circle meets the stroke's inner side
    meet = (-d, low[1] + (c + r) * math.sin(crossing))
    outer = (
        Arc(top, c + r, TERMINAL_RAD, math.pi - TERMINAL_RAD),
        Line((-c - r, top[1]), (-c - r, low[1])),
        Arc(low, c + r, math.pi, math.tau - crossing),
        Line(meet, (-d, top[1])),
        Arc(top, d, math.pi, TERMINAL_RAD - math.pi),
        Arc(tip, r, TERMINAL_RAD + math.pi, math.pi),
    )
    return outer, reversed_loop(circle(low, d))


@lru_cache(maxsize=256)
def figure_size_mm(ch: str, pen: DigitPen) -> tuple[float, float]:
    """Width and height of the box, even about the figure's middle, that holds it [mm]."""
    r, b, c = pen.half, pen.b, pen.c
    wide = {"+": SIGN, "-": SIGN, "1": 0.55 * math.cos(FLAG_RAD), "2": 1.05, "4": 1.38}
    half = wide.get(ch, 1.0) * c
    high = {"+": SIGN * c, "-": 0.0}.get(ch, b)
    return 2 * (half + r), 2 * (high + r)


# ---- areas from lengths and angles only ---------------------------------------------------------
@lru_cache(maxsize=256)
def figure_area_mm2(ch: str, pen: DigitPen) -> float:
    """Area of one figure [mm2] from lengths and angles.

    A round pen of radius r covers 2 r along a path of length l, and pi r squared for its two ends;
    a corner that turns by w adds r squared (w/2 - tan(w/2)): a round outside, less the inner
    overlap. Strokes that cross share (2 r) squared; bowls share lenses and segments of circles.
    """
    r, b, c = pen.half, pen.b, pen.c
    ends = math.pi * r * r

    def corner(turn: float) -> float:
        return r * r * (turn / 2 - math.tan(turn / 2))

    lens = 2 * segment_area_mm2(c + r, c)  # shared by two bowls one above the other
    if ch == "-":
        return 2 * r * 2 * SIGN * c + ends
    if ch == "+":
        return 2 * (2 * r * 2 * SIGN * c + ends) - (2 * r) ** 2
    if ch == "0":
        return 2 * r * (math.tau * c + 4 * (b - c))
    if ch == "1":
        return 2 * r * (1.1 * c + 2 * b) + ends + corner(math.pi / 2 + FLAG_RAD)
    if ch == "2":
        down = math.hypot(c, 2 * b - c)  # from the bowl's centre to the corner at the foot
        straight = math.sqrt(down * down - c * c)
        touch = math.acos(c / down) - math.pi / 2 - math.atan2(c, 2 * b - c)
        return (
            2 * r * (c * (TWO_START_RAD - touch) + straight + 2.05 * c)
            + ends
            + corner(math.pi / 2 - touch)
        )
    if ch == "3":
        return 2 * (2 * r * c * (1.5 * math.pi - TERMINAL_RAD)) + 1.5 * ends - lens / 2
    if ch == "4":
        return four_area_mm2(pen)
    if ch == "5":
        lengths = 1.75 * c + b + 0.85 * c + c * (1.5 * math.pi - TERMINAL_RAD)
        return 2 * r * lengths + ends + 2 * corner(math.pi / 2)
    if ch in "69":
        rise = 2 * (b - c)
        shared = segment_area_mm2(c + r, c - r) / 2  # the bowl's part within the rising stroke
        tail = 2 * r * (c * (math.pi - TERMINAL_RAD) + rise) + ends / 2
        return 2 * r * math.tau * c + tail - shared
    if ch == "7":
        turn = math.pi - math.atan2(2 * b, 1.35 * c)
        return 2 * r * (2 * c + math.hypot(2 * b, 1.35 * c)) + ends + corner(turn)
    if ch == "8":
        return 2 * (2 * r * math.tau * c) - lens
    raise KeyError(ch)


def four_area_mm2(pen: DigitPen, *, wide: bool = False) -> float:
    """The same of ``four_loop``: slant with corner and bar, less what the stem shares with it."""
    r = pen.half
    top, foot, right, _, high = _four_points(pen, wide=wide)
    turn = math.pi - math.atan2(top[1] - foot[1], top[0] - foot[0])
    lengths = math.dist(top, foot) + (right - foot[0]) + (high + pen.b)
    corner = r * r * (turn / 2 - math.tan(turn / 2))
    return 2 * r * lengths + 2 * math.pi * r * r - (2 * r) ** 2 + corner
