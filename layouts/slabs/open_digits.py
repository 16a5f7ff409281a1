"""The figures with every counter open, for faces that lie on the printer's bed.

Within a figure sunk into the first layer a closed counter is a piece of a few tenths of a square
millimetre that only the bed holds: it is torn off by the next line. So 0 and 8 are cut through at
head and foot, and the bowl of 6 and 9 stops before the stem, whose curve ends
earlier; the 4 stands wider open. What a counter holds on is
as wide as ``join_mm``. Ends there are square. The other figures are open as they are.
"""

from __future__ import annotations

import math
from functools import lru_cache

from layouts.slabs.digits import (
    TERMINAL_RAD,
    DigitPen,
    figure_area_mm2,
    figure_loops,
    four_area_mm2,
    four_loop,
)
from layouts.slabs.profile import Arc, Line, Loop, Point, mirrored_x

__all__ = ["join_mm", "open_figure_area_mm2", "open_figure_loops"]

JOIN_MM = 0.8  # two lines of a 0.4 nozzle; judged
SIX_END_RAD = math.radians(80.0)  # the curves of 6 and 9 stop so early: the counter's way out
SAME_MM = 1e-9  # a step below this is float noise


def join_mm(pen: DigitPen) -> float:
    """Least width of what a counter holds on; a wider line, which needs more, has a wider pen."""
    return max(JOIN_MM, pen.stroke_mm)


def _half_gap_mm(pen: DigitPen) -> float:
    """Half width of the gaps at head and foot: of the join, and no less than the counter's."""
    counter, half = pen.c - pen.half, join_mm(pen) / 2
    return counter if counter > half - SAME_MM else half


def _bowl_end_mm(pen: DigitPen) -> float:
    """How far right of the middle a 6's bowl stops; its stem's inner side is the counter's."""
    return max(pen.c - pen.half, join_mm(pen) - (pen.c - pen.half))


@lru_cache(maxsize=256)
def open_figure_loops(ch: str, pen: DigitPen) -> tuple[Loop, ...]:
    """Loops of one figure about its middle, all counter-clockwise: none holds another."""
    if ch == "0":
        right = _zero_right(pen)
        return right, _turned(right)
    if ch == "4":
        return (four_loop(pen, wide=True),)
    if ch == "8":
        upper = _eight_upper(pen)
        return ((*upper, *_turned(upper)),)
    if ch == "6":
        return (_six(pen),)
    if ch == "9":
        return (_turned(_six(pen)),)
    return figure_loops(ch, pen)


def _turned(loop: Loop) -> Loop:
    """Half a turn about the middle; the way round stays."""
    return mirrored_x(
        tuple(
            Line((way.start[0], -way.start[1]), (way.end[0], -way.end[1]))
            if isinstance(way, Line)
            else Arc((way.centre[0], -way.centre[1]), way.radius_mm, -way.start_rad, -way.sweep_rad)
            for way in loop
        )
    )


def _straight(*points: Point) -> list[Line | Arc]:
    """Lines from point to point; steps of no length are left out."""
    way: list[Line | Arc] = []
    last = points[0]
    for point in points[1:]:
        if math.dist(last, point) > SAME_MM:
            way.append(Line(last, point))
            last = point
    return way


def _zero_right(pen: DigitPen) -> Loop:
    """The right half: a stroke between two bows that end square."""
    big, small, rise, gap = pen.c + pen.half, pen.c - pen.half, pen.b - pen.c, _half_gap_mm(pen)
    reach = math.acos(gap / big)
    top = (gap, rise + big * math.sin(reach))
    return (
        Arc((0.0, -rise), big, -reach, reach),
        *_straight((big, -rise), (big, rise)),
        Arc((0.0, rise), big, 0.0, reach),
        *_straight(top, (gap, rise), (small, rise), (small, -rise), (gap, -rise), (gap, -top[1])),
    )


def _eight_upper(pen: DigitPen) -> Loop:
    """The way from the waist on the right, over the upper bowl and into its counter, to the left;
    no loop yet."""
    big, small, c, gap = pen.c + pen.half, pen.c - pen.half, pen.c, _half_gap_mm(pen)
    reach, waist = math.acos(gap / big), math.asin(c / big)
    middle, high = (0.0, c), c + big * math.sin(reach)
    return (
        Arc(middle, big, -waist, waist + reach),
        *_straight((gap, high), (gap, c), (small, c)),
        Arc(middle, small, 0.0, -math.pi),
        *_straight((-small, c), (-gap, c), (-gap, high)),
        Arc(middle, big, math.pi - reach, reach + waist),
    )


def _six(pen: DigitPen) -> Loop:
    """A bowl that stops before the stem, which rises from its left side to a half-open curve."""
    big, small, rise, end = pen.c + pen.half, pen.c - pen.half, pen.b - pen.c, _bowl_end_mm(pen)
    top, low = (0.0, rise), (0.0, -rise)
    reach = math.acos(end / big)
    tip = Arc(top, pen.c, 0.0, 0.0).at(SIX_END_RAD)
    return (
        Arc(top, big, SIX_END_RAD, math.pi - SIX_END_RAD),
        *_straight((-big, rise), (-big, -rise)),
        Arc(low, big, math.pi, math.pi + reach),
        *_straight((end, big * math.sin(reach) - rise), (end, -rise), (small, -rise)),
        Arc(low, small, 0.0, -math.pi),
        *_straight((-small, -rise), (-small, rise)),
        Arc(top, small, math.pi, SIX_END_RAD - math.pi),
        Arc(tip, pen.half, SIX_END_RAD + math.pi, math.pi),
    )


def _below_arc_mm2(radius: float, x: float) -> float:
    """Area between a circle's diameter and its arc from the middle to ``x`` [mm2]."""
    return (x * math.sqrt(radius * radius - x * x) + radius * radius * math.asin(x / radius)) / 2


@lru_cache(maxsize=256)
def open_figure_area_mm2(ch: str, pen: DigitPen) -> float:
    """Area of one figure [mm2]: that with closed counters less what the gaps take of it.

    A gap takes the band between the bowl's diameter and its outer arc, but for the counter's
    upper half, which lies within the band and is open already.
    """
    if ch == "4":
        return four_area_mm2(pen, wide=True)
    closed = figure_area_mm2(ch, pen)
    big, small = pen.c + pen.half, pen.c - pen.half
    counter = math.pi * small * small / 2
    if ch in "08":
        return closed - 2 * (2 * _below_arc_mm2(big, _half_gap_mm(pen)) - counter)
    if ch in "69":
        taken = _below_arc_mm2(big, small) + _below_arc_mm2(big, _bowl_end_mm(pen))
        curve = 2 * pen.half * pen.c * (SIX_END_RAD - TERMINAL_RAD)
        return closed - (taken - counter) - curve
    return closed
