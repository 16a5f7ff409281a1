"""The ball's walk turned into a loop: sides shrunk back by the ball, a hollow at each corner."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from layouts.enclosures.fitted.figures import TOUCH_MM, Figures, GrownSides, Stretches
from layouts.slabs.profile import Arc, Line, Loop, Point, Segment

__all__ = ["Hollow", "JoinedLoop", "closed_loop"]

# A sweep or a line no longer than this is rounding.
NO_SWEEP_RAD = 1e-9
NO_LENGTH_MM = 1e-9


@dataclass(frozen=True, kw_only=True, slots=True)
class Hollow:
    """The ball at one corner of its walk: it touches both figures, ``mouth_mm`` apart."""

    centre_mm: Point
    figures: tuple[int, int]
    mouth_mm: float


@dataclass(frozen=True, kw_only=True, slots=True)
class JoinedLoop:
    """Segments, what each lies on, hollows in the same order, and the sum of all sweeps."""

    loop: Loop
    figures: tuple[tuple[int, ...], ...]
    hollows: tuple[Hollow, ...]
    turn_rad: float


@dataclass(frozen=True, slots=True)
class _Run:
    """One side as far as the ball walks on it without leaving its line or circle.

    ``figures``: whose side it is, one after the other where they are flush.
    ``way``: along the walk, rad or mm. Positions [mm] and radius are the ball centre's;
    ``unit``: a line's direction; ``begin``: an arc's first angle [rad].
    """

    figures: tuple[int, ...]
    start: Point
    unit: Point
    radius_mm: float
    own_mm: float
    begin: float
    way: float
    first: Point
    last: Point

    def same_as(self, other: _Run) -> bool:
        """Whether both lie on one circle, or on one line in one direction."""
        if self.radius_mm and other.radius_mm:
            return (
                math.dist(self.start, other.start) < NO_LENGTH_MM
                and abs(self.radius_mm - other.radius_mm) < NO_LENGTH_MM
            )
        return (
            not self.radius_mm
            and not other.radius_mm
            and _dot(self.unit, other.unit) > 0
            and abs(_dot(_less(other.start, self.start), self.normal)) < NO_LENGTH_MM
        )

    @property
    def normal(self) -> Point:
        """A line's outward normal."""
        return self.unit[1], -self.unit[0]

    def foot(self, place: Point, ball_mm: float) -> Point:
        """Where the ball at a place on the walk touches the figure [mm]."""
        if self.radius_mm:
            share = self.own_mm / self.radius_mm
            x, y = self.start
            return x + share * (place[0] - x), y + share * (place[1] - y)
        x, y = self.normal
        return place[0] - ball_mm * x, place[1] - ball_mm * y


def closed_loop(
    figures: Figures, sides: GrownSides, stretches: Stretches, order: list[int], ball_mm: float
) -> JoinedLoop:
    """The loop along stretches of grown sides, walked counter-clockwise in the order given.

    Each side gives its figure's own; where the walk turns from one to the next the ball stands
    still at their crossing, solved from the two sides alone, and gives a hollow.
    """
    runs = _runs(figures, sides, stretches, order)
    if len(runs) == 1:
        whole = Arc(runs[0].start, runs[0].own_mm, 0.0, math.tau)
        turn = math.fsum(float(stretches.end[k] - stretches.begin[k]) for k in order)
        return JoinedLoop(loop=(whole,), figures=(runs[0].figures,), hollows=(), turn_rad=turn)
    joints = [_joint(a, c) for a, c in zip(runs, runs[1:] + runs[:1], strict=True)]
    loop: list[Segment] = []
    on: list[tuple[int, ...]] = []
    hollows: list[Hollow] = []
    for k, run in enumerate(runs):
        begin, end = joints[k - 1][1], joints[k][0]
        segment = _shrunk(run, begin, end, ball_mm)
        if segment is not None:
            loop.append(segment)
            on.append(run.figures)
        after = runs[(k + 1) % len(runs)]
        place = joints[k][2]
        if place is None:
            continue
        feet = run.foot(place, ball_mm), after.foot(place, ball_mm)
        hollow = _hollow(place, feet, ball_mm)
        if hollow is not None:
            loop.append(hollow)
            on.append(())
            hollows.append(
                Hollow(
                    centre_mm=place,
                    figures=(run.figures[-1], after.figures[0]),
                    mouth_mm=math.dist(*feet),
                )
            )
    return JoinedLoop(
        loop=tuple(loop),
        figures=tuple(on),
        hollows=tuple(hollows),
        turn_rad=math.fsum(segment.sweep_rad for segment in loop if isinstance(segment, Arc)),
    )


def _runs(
    figures: Figures, sides: GrownSides, stretches: Stretches, order: list[int]
) -> list[_Run]:
    """The stretches in their order, those that go on along one line or circle made one."""
    k = np.array(order)
    side, begin, way = stretches.side[k], stretches.begin[k], (stretches.end - stretches.begin)[k]
    first, last = sides.at(side, begin), sides.at(side, stretches.end[k])
    radius, figure = sides.radius[side], sides.figure[side]
    table = zip(
        ((k,) for k in figure.tolist()),
        map(tuple, sides.start[side].tolist()),
        map(tuple, sides.along[side].tolist()),
        radius.tolist(),
        figures.radius[figure].tolist(),
        (sides.start_rad[side] + begin).tolist(),
        way.tolist(),
        map(tuple, first.tolist()),
        map(tuple, last.tolist()),
        strict=True,
    )
    single = [_Run(*row) for row in table]
    turns = [n for n in range(len(single)) if not single[n - 1].same_as(single[n])]
    if len(turns) < 2:
        return single[:1]
    single = single[turns[0] :] + single[: turns[0]]
    runs = single[:1]
    for run in single[1:]:
        if runs[-1].same_as(run):
            runs[-1] = _extended(runs[-1], run)
        else:
            runs.append(run)
    return runs


def _extended(run: _Run, by: _Run) -> _Run:
    """Both as one; a gap or an overlap of rounding between them doesn't count."""
    new = () if by.figures[0] == run.figures[-1] else by.figures
    return _Run(
        run.figures + new,
        run.start,
        run.unit,
        run.radius_mm,
        run.own_mm,
        run.begin,
        run.way + by.way,
        run.first,
        by.last,
    )


def _joint(a: _Run, c: _Run) -> tuple[Point, Point, Point | None]:
    """Where the walk leaves a and comes on c [mm], and the crossing unless it goes on straight."""
    if not a.radius_mm and not c.radius_mm:
        if _dot(a.unit, c.unit) > 0.5:  # parallel, within what counts as touching
            return a.last, _onto_line(c, a.last), None
        return _cross_lines(a, c)
    if a.radius_mm and c.radius_mm:
        return _cross_circles(a, c)
    if a.radius_mm:
        on_a, on_c, place = _cross_line_circle(c, a, a.last)
        return on_c, on_a, place
    return _cross_line_circle(a, c, a.last)


def _cross_lines(a: _Run, c: _Run) -> tuple[Point, Point, Point]:
    way = _dot(_less(c.start, a.start), c.normal) / _dot(a.unit, c.normal)
    place = (a.start[0] + way * a.unit[0], a.start[1] + way * a.unit[1])
    return place, place, place


def _cross_line_circle(line: _Run, arc: _Run, near: Point) -> tuple[Point, Point, Point | None]:
    """On the line, on the arc, and the crossing nearest to a place."""
    offset = _less(line.start, arc.start)
    away = _dot(offset, line.normal)
    nx, ny = line.normal
    x, y = arc.start
    if abs(away - arc.radius_mm) <= TOUCH_MM:
        top = (x + arc.radius_mm * nx, y + arc.radius_mm * ny)
        return _onto_line(line, top), top, None
    half = math.sqrt(max(0.0, (arc.radius_mm - away) * (arc.radius_mm + away)))
    ux, uy = line.unit
    places = [(x + away * nx + way * ux, y + away * ny + way * uy) for way in (half, -half)]
    place = min(places, key=lambda one: math.dist(one, near))
    return place, place, place


def _cross_circles(a: _Run, c: _Run) -> tuple[Point, Point, Point | None]:
    r, s = a.radius_mm, c.radius_mm
    dx, dy = _less(c.start, a.start)
    apart = math.hypot(dx, dy)
    if apart <= TOUCH_MM:
        return a.last, _onto_circle(c, math.atan2(*_less(a.last, a.start)[::-1])), None
    if apart - abs(r - s) <= TOUCH_MM:
        out = math.atan2(dy, dx) + (math.pi if r < s else 0.0)
        return _onto_circle(a, out), _onto_circle(c, out), None
    along = (apart * apart + (r - s) * (r + s)) / (2 * apart)
    half = math.sqrt(max(0.0, (r - along) * (r + along)))
    ex, ey = dx / apart, dy / apart
    x, y = a.start
    places = [(x + along * ex - way * ey, y + along * ey + way * ex) for way in (half, -half)]
    place = min(places, key=lambda one: math.dist(one, a.last))
    return place, place, place


def _shrunk(run: _Run, begin: Point, end: Point, ball_mm: float) -> Segment | None:
    """The figure's own side between two places of the ball on it; None where it has no length."""
    if not run.radius_mm:
        start, stop = run.foot(begin, ball_mm), run.foot(end, ball_mm)
        return Line(start, stop) if _dot(_less(stop, start), run.unit) > NO_LENGTH_MM else None
    first = math.atan2(begin[1] - run.start[1], begin[0] - run.start[0])
    last = math.atan2(end[1] - run.start[1], end[0] - run.start[0])
    # the joints were solved anew: they lie off the walk's ends by rounding, either way
    sweep = run.way + math.remainder(last - first - run.way, math.tau)
    if sweep * run.own_mm <= NO_LENGTH_MM:
        return None
    return Arc(run.start, run.own_mm, first, sweep)


def _hollow(place: Point, feet: tuple[Point, Point], ball_mm: float) -> Arc | None:
    """The ball's arc, clockwise from one foot to the other."""
    start, end = (math.atan2(y - place[1], x - place[0]) for x, y in feet)
    sweep = (start - end) % math.tau
    if sweep < NO_SWEEP_RAD or math.tau - sweep < NO_SWEEP_RAD:
        return None
    return Arc(place, ball_mm, start, -sweep)


def _onto_line(line: _Run, point: Point) -> Point:
    way = _dot(_less(point, line.start), line.unit)
    return line.start[0] + way * line.unit[0], line.start[1] + way * line.unit[1]


def _onto_circle(arc: _Run, angle_rad: float) -> Point:
    return (
        arc.start[0] + arc.radius_mm * math.cos(angle_rad),
        arc.start[1] + arc.radius_mm * math.sin(angle_rad),
    )


def _less(p: Point, q: Point) -> Point:
    return p[0] - q[0], p[1] - q[1]


def _dot(p: Point, q: Point) -> float:
    return p[0] * q[0] + p[1] * q[1]
