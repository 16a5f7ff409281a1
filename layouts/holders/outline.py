"""The cell block's outline: discs round cells and posts, closed by a rolling ball."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.spatial import cKDTree

BALL_MM = 4.8  # a lid boss of radius 4.5 and 0.3 of fit stands in each hollow

TOUCH_MM = 1e-9  # discs nearer to tangency than this don't cross: far above float noise
LEVEL_RAD = 1e-9  # angles closer than this are one: several discs touch the ball at once


@dataclass(frozen=True, kw_only=True, slots=True)
class OutlineArc:
    """One arc, walked counter-clockwise around the cell block.

    Convex arcs (``sweep_rad`` > 0) lie on disc number ``disc``; concave ones
    (``sweep_rad`` < 0, ``disc`` = -1) on the ball.
    """

    centre_mm: tuple[float, float]
    radius_mm: float
    start_rad: float
    sweep_rad: float
    disc: int


@dataclass(frozen=True, kw_only=True, slots=True)
class BossSeat:
    """A place where the ball touches two discs; a lid boss or a post can stand there."""

    x_mm: float
    y_mm: float
    discs: tuple[int, int]


@dataclass(frozen=True, kw_only=True, slots=True)
class Outline:
    """A closed chain of tangent arcs; ``discs``: (x, y, radius) of each disc."""

    arcs: tuple[OutlineArc, ...]
    seats: tuple[BossSeat, ...]
    discs: tuple[tuple[float, float, float], ...]


@dataclass(frozen=True, slots=True)
class _Meeting:
    """Seen from one disc: the ball going round it counter-clockwise meets disc ``other``.

    It touches both from ``enter_rad`` on and is free of ``other`` again at ``leave_rad``.
    """

    other: int
    enter_rad: float
    leave_rad: float


def rolling_outline(discs: ArrayLike, ball_mm: float = BALL_MM) -> Outline:
    """Outer outline of discs, closed by a ball that rolls round them outside.

    ``discs`` (n, 3): x, y, radius [mm]. The ball's centre walks counter-clockwise on the discs
    grown by the ball, from the right-most point on, and at each crossing goes over to the disc
    that it meets first. It leaves convex arcs on discs and concave arcs at the crossings,
    each tangent to the next. Hollows with no way in from outside are filled.

    Raises ValueError where discs are missing, not positive, doubled or one inside another,
    where the ball passes between two parts of the field, or where it touches itself across a
    neck thinner than the ball's own hollows leave.
    """
    field = _checked(discs, ball_mm)
    meetings = _meetings(field, ball_mm)
    start = int(np.argmax(field[:, 0] + field[:, 2]))
    steps = _walk(meetings, start)
    if not steps:
        x, y, radius = field[start]
        whole = OutlineArc(
            centre_mm=(float(x), float(y)),
            radius_mm=float(radius),
            start_rad=0.0,
            sweep_rad=math.tau,
            disc=start,
        )
        return Outline(arcs=(whole,), seats=(), discs=_triples(field))
    turn = next(k for k, (_, begin, end) in enumerate(steps) if _sweep(begin, end) > 0)
    steps = steps[turn:] + steps[:turn]
    arcs: list[OutlineArc] = []
    seats: list[BossSeat] = []
    for (disc, begin, end), (after, _, _) in zip(steps, steps[1:] + steps[:1], strict=True):
        x, y, radius = (float(value) for value in field[disc])
        sweep = _sweep(begin, end)
        if sweep > 0:
            arcs.append(
                OutlineArc(
                    centre_mm=(x, y),
                    radius_mm=radius,
                    start_rad=begin % math.tau,
                    sweep_rad=sweep,
                    disc=disc,
                )
            )
        else:  # the ball touches a third disc at the same place: one hollow, not two
            seat = seats.pop()
            arcs.pop()
            disc = seat.discs[0]
            end = _angle(field[disc], (seat.x_mm, seat.y_mm))
            x, y, radius = (float(value) for value in field[disc])
        far = radius + ball_mm
        place = (x + far * math.cos(end), y + far * math.sin(end))
        seats.append(BossSeat(x_mm=place[0], y_mm=place[1], discs=(disc, after)))
        arcs.append(_hollow(place, ball_mm, field[disc], field[after]))
    outline = Outline(arcs=tuple(arcs), seats=tuple(seats), discs=_triples(field))
    _refuse_crossing(outline, ball_mm)
    return outline


def outline_box_mm(outline: Outline) -> tuple[float, float, float, float]:
    """Box of the outline: x0, y0, x1, y1 [mm]; the far points lie on convex arcs."""
    low = [math.inf, math.inf]
    high = [-math.inf, -math.inf]
    for arc in outline.arcs:
        if arc.sweep_rad < 0:
            continue
        angles = [arc.start_rad, arc.start_rad + arc.sweep_rad]
        first = math.ceil(arc.start_rad / (math.pi / 2))
        last = math.floor(angles[1] / (math.pi / 2))
        angles += [quarter * math.pi / 2 for quarter in range(first, last + 1)]
        for axis, way in enumerate((math.cos, math.sin)):
            along = [arc.centre_mm[axis] + arc.radius_mm * way(angle) for angle in angles]
            low[axis] = min(low[axis], *along)
            high[axis] = max(high[axis], *along)
    return low[0], low[1], high[0], high[1]


def outline_points_mm(outline: Outline, step_rad: float = 0.05) -> NDArray[np.float64]:
    """(k, 2) points on the outline, counter-clockwise, arcs cut into chords of ``step_rad``.

    The first point is not repeated. For pictures and for tests that may be off by a chord.
    """
    points = []
    for arc in outline.arcs:
        count = max(1, math.ceil(abs(arc.sweep_rad) / step_rad))
        angles = arc.start_rad + arc.sweep_rad * np.arange(count) / count
        points.append(
            np.asarray(arc.centre_mm)
            + arc.radius_mm * np.column_stack([np.cos(angles), np.sin(angles)])
        )
    return np.vstack(points)


def exit_mm(
    outline: Outline,
    point: tuple[float, float],
    direction: tuple[float, float],
    *,
    last: bool = True,
) -> float | None:
    """Way from ``point`` along ``direction`` to where it last crosses the outline [mm].

    ``last`` False: to the first crossing instead. ``direction`` need not be of length 1.
    None where the ray never meets the outline.
    """
    length = math.hypot(*direction)
    ux, uy = direction[0] / length, direction[1] / length
    found: list[float] = []
    for arc in outline.arcs:
        cx, cy = arc.centre_mm[0] - point[0], arc.centre_mm[1] - point[1]
        along, across = cx * ux + cy * uy, cx * uy - cy * ux
        rest = arc.radius_mm**2 - across**2
        if rest < 0:
            continue
        for way in (along - math.sqrt(rest), along + math.sqrt(rest)):
            if way > 0 and _on_arc(arc, math.atan2(way * uy - cy, way * ux - cx)):
                found.append(way)
    if not found:
        return None
    return max(found) if last else min(found)


def mirrored_outline(outline: Outline) -> Outline:
    """The outline with x mirrored, again counter-clockwise; discs keep their numbers."""
    arcs = tuple(
        OutlineArc(
            centre_mm=(-arc.centre_mm[0], arc.centre_mm[1]),
            radius_mm=arc.radius_mm,
            start_rad=(math.pi - arc.start_rad - arc.sweep_rad) % math.tau,
            sweep_rad=arc.sweep_rad,
            disc=arc.disc,
        )
        for arc in reversed(outline.arcs)
    )
    seats = tuple(
        BossSeat(x_mm=-seat.x_mm, y_mm=seat.y_mm, discs=seat.discs[::-1])
        for seat in reversed(outline.seats)
    )
    return Outline(arcs=arcs, seats=seats, discs=tuple((-x, y, r) for x, y, r in outline.discs))


def _checked(discs: ArrayLike, ball_mm: float) -> NDArray[np.float64]:
    field = np.asarray(discs, dtype=np.float64)
    if field.ndim != 2 or field.shape[1] != 3 or len(field) == 0:
        raise ValueError(f"discs: shape {field.shape}, needs (n, 3) with n >= 1")
    if not np.isfinite(field).all() or (field[:, 2] <= 0).any() or not ball_mm > 0:
        raise ValueError("discs, ball_mm: every number must be finite, every radius above 0")
    return field


def _meetings(field: NDArray[np.float64], ball_mm: float) -> dict[int, list[_Meeting]]:
    """For each disc, the discs that stop the ball from going round it."""
    grown = field[:, 2] + ball_mm
    tree = cKDTree(field[:, :2])
    pairs = tree.query_pairs(2 * float(grown.max()), output_type="ndarray")
    i, j = pairs[:, 0], pairs[:, 1]
    between = field[j, :2] - field[i, :2]
    apart = np.hypot(between[:, 0], between[:, 1])
    if (apart <= np.abs(field[i, 2] - field[j, 2]) + TOUCH_MM).any():
        raise ValueError("discs: one lies inside another or is there twice")
    near = apart < grown[i] + grown[j] - TOUCH_MM
    i, j, between, apart = i[near], j[near], between[near], apart[near]
    _refuse_parts(len(field), i, j)
    towards = np.arctan2(between[:, 1], between[:, 0])
    meetings: dict[int, list[_Meeting]] = {}
    for a, b, way in ((i, j, towards), (j, i, towards + math.pi)):
        cosine = (grown[a] ** 2 + apart**2 - grown[b] ** 2) / (2 * grown[a] * apart)
        half = np.arccos(np.clip(cosine, -1.0, 1.0))
        for disc, other, enter, leave in zip(
            a.tolist(), b.tolist(), (way - half).tolist(), (way + half).tolist(), strict=True
        ):
            meetings.setdefault(disc, []).append(
                _Meeting(other=other, enter_rad=enter, leave_rad=leave)
            )
    return meetings


def _refuse_parts(count: int, i: NDArray[np.int64], j: NDArray[np.int64]) -> None:
    """Refuse a field that the ball can pass through."""
    root = list(range(count))

    def find(disc: int) -> int:
        while root[disc] != disc:
            root[disc] = root[root[disc]]
            disc = root[disc]
        return disc

    for a, b in zip(i.tolist(), j.tolist(), strict=True):
        root[find(a)] = find(b)
    parts = len({find(disc) for disc in range(count)})
    if parts > 1:
        raise ValueError(f"discs: the ball passes between {parts} parts of the block")


def _walk(meetings: dict[int, list[_Meeting]], start: int) -> list[tuple[int, float, float]]:
    """Discs in the ball's order: (disc, angle where it comes on, angle where it goes off)."""
    if start not in meetings:
        return []
    steps: list[tuple[int, float, float]] = []
    first: tuple[int, int] | None = None
    disc, angle = start, 0.0
    limit = 2 * sum(len(known) for known in meetings.values()) + 2
    for _ in range(limit):
        met = min(meetings[disc], key=lambda one: (_turn(one.enter_rad - angle), one.other))
        if (disc, met.other) == first:
            steps[0] = (disc, angle, steps[0][2])
            return steps
        first = first or (disc, met.other)
        steps.append((disc, angle, met.enter_rad))
        back = next(one for one in meetings[met.other] if one.other == disc)
        disc, angle = met.other, back.leave_rad
    raise RuntimeError("the ball's walk round the discs does not close")


def _turn(angle_rad: float) -> float:
    """Counter-clockwise turn, 0 to 2 pi; a hair below a whole turn is none."""
    turn = angle_rad % math.tau
    return 0.0 if math.tau - turn < LEVEL_RAD else turn


def _sweep(begin_rad: float, end_rad: float) -> float:
    """Way on a disc; one no longer than float noise is 0."""
    sweep = _turn(end_rad - begin_rad)
    return sweep if sweep > LEVEL_RAD else 0.0


def _angle(disc: NDArray[np.float64], place: tuple[float, float]) -> float:
    return math.atan2(place[1] - float(disc[1]), place[0] - float(disc[0]))


def _hollow(
    place: tuple[float, float],
    ball_mm: float,
    before: NDArray[np.float64],
    after: NDArray[np.float64],
) -> OutlineArc:
    """The ball's arc at ``place``, clockwise from the disc before to the disc after."""
    start = (_angle(before, place) + math.pi) % math.tau
    end = (_angle(after, place) + math.pi) % math.tau
    return OutlineArc(
        centre_mm=place,
        radius_mm=ball_mm,
        start_rad=start,
        sweep_rad=-((start - end) % math.tau),
        disc=-1,
    )


def _triples(field: NDArray[np.float64]) -> tuple[tuple[float, float, float], ...]:
    return tuple((float(x), float(y), float(radius)) for x, y, radius in field)


def _on_arc(arc: OutlineArc, angle_rad: float) -> bool:
    turned = angle_rad - arc.start_rad if arc.sweep_rad > 0 else arc.start_rad - angle_rad
    return _turn(turned + LEVEL_RAD) <= abs(arc.sweep_rad) + 2 * LEVEL_RAD


def _refuse_crossing(outline: Outline, ball_mm: float) -> None:
    """Refuse an outline whose hollows cut into each other across a thin neck."""
    hollows = [arc for arc in outline.arcs if arc.disc < 0]
    centres = np.array([arc.centre_mm for arc in hollows])
    for i, j in cKDTree(centres).query_pairs(2 * ball_mm - TOUCH_MM):
        between = centres[j] - centres[i]
        apart = float(np.hypot(*between))
        if apart < TOUCH_MM:
            continue
        half = math.sqrt(ball_mm**2 - apart**2 / 4)
        middle = (centres[i] + centres[j]) / 2
        across = np.array([-between[1], between[0]]) / apart * half
        for point in (middle + across, middle - across):
            if all(
                _on_arc(arc, math.atan2(point[1] - arc.centre_mm[1], point[0] - arc.centre_mm[0]))
                for arc in (hollows[i], hollows[j])
            ):
                raise ValueError(
                    f"discs: the neck at ({point[0]:.1f}, {point[1]:.1f}) is thinner than the "
                    "ball's hollows leave; move the discs closer or make them larger"
                )
