"""Outline of cells and rooms closed by a rolling ball: lines and true arcs, tangent throughout."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components
from scipy.spatial import cKDTree

from layouts.enclosures.fitted.errors import OutlineError
from layouts.enclosures.fitted.figures import (
    SHORTEST_MM,
    TOUCH_MM,
    Figures,
    GrownSides,
    RoundedRect,
    Stretches,
    bounding_stretches,
    figures_of,
    grown_sides,
    near_pairs,
)
from layouts.enclosures.fitted.joints import closed_loop
from layouts.enclosures.fitted.loops import refuse_crossing, refuse_short, refuse_small_radius
from layouts.slabs.profile import Loop, Point

__all__ = ["BallSeat", "RoundedRect", "ShellOutline", "closed_outline"]

IntArray = NDArray[np.int64]

# Stretches end this near to where the next begins, even beside a side too short to be kept.
MEET_MM = 1e-3
# A loop turns once: what its arcs' sweeps may miss of it by rounding.
TURN_SLACK_RAD = 1e-6
TO_CLOSE_UP = "make them flush, or move one by 0.1 mm"


@dataclass(frozen=True, kw_only=True, slots=True)
class BallSeat:
    """The ball's place in one hollow.

    ``figures``: the two that it touches, in the outline's order; numbers as in ``ShellOutline``.
    ``mouth_mm``: distance of the two touching points, the hollow's width.
    """

    centre_mm: Point
    figures: tuple[int, int]
    mouth_mm: float


@dataclass(frozen=True, kw_only=True, slots=True)
class ShellOutline:
    """A counter-clockwise loop, tangent at every joint, round discs and rooms.

    ``figures``: for each segment of ``loop`` the figures that it lies on, several where they are
    flush with each other, none for a hollow. Discs have their own numbers, rooms theirs + the
    number of discs. ``seats``: one for each hollow, in the loop's order.
    """

    loop: Loop
    figures: tuple[tuple[int, ...], ...]
    seats: tuple[BallSeat, ...]


def closed_outline(
    discs: ArrayLike,
    rooms: Sequence[RoundedRect],
    ball_mm: float,
    *,
    least_radius_mm: float = 0.0,
) -> ShellOutline:
    """Outer outline of discs and rooms, closed by a ball that rolls round them outside.

    ``discs`` (n, 3): x, y, radius [mm]; n may be 0. Figures may touch, overlap and cover each
    other. The ball's centre walks on the figures grown by the ball; where it goes over from one
    to the next, a hollow of its own radius joins both, tangent to each. Hollows with no way in
    from outside are filled, and slots between parallel sides as wide as the ball exactly. The
    loop begins at or after its right-most point. Outside of it a parallel nearer than
    ``ball_mm`` never meets itself.

    Raises
    ------
    OutlineError : the ball passes between two parts; the outline meets itself at a thin neck; an
        arc's radius is below ``least_radius_mm``; two sides are neither flush (``TOUCH_MM``) nor
        far enough apart to be told from each other (``SHORTEST_MM``).
    ValueError : no figure, a radius not above 0, corners above half a side, no ball.
    """
    if not (math.isfinite(ball_mm) and ball_mm > 0):
        raise ValueError(f"ball_mm is {ball_mm:g}, must be above 0")
    figures = figures_of(discs, rooms)
    i, j = near_pairs(figures, ball_mm)
    _refuse_parts(figures, ball_mm, i, j)
    sides = grown_sides(figures, ball_mm)
    stretches = bounding_stretches(figures, sides, ball_mm, i, j)
    order = _outer(figures, sides, stretches)
    joined = closed_loop(figures, sides, stretches, order, ball_mm)
    if abs(joined.turn_rad - math.tau) > TURN_SLACK_RAD:
        raise OutlineError(
            f"two sides are neither flush nor apart: the outline turns by "
            f"{math.degrees(joined.turn_rad):.3f} degrees in place of 360",
            remedy=TO_CLOSE_UP,
        )
    refuse_short(joined.loop, SHORTEST_MM)
    refuse_small_radius(joined.loop, least_radius_mm)
    refuse_crossing(joined.loop)
    return ShellOutline(
        loop=joined.loop,
        figures=joined.figures,
        seats=tuple(
            BallSeat(centre_mm=hollow.centre_mm, figures=hollow.figures, mouth_mm=hollow.mouth_mm)
            for hollow in joined.hollows
        ),
    )


def _refuse_parts(figures: Figures, ball_mm: float, i: IntArray, j: IntArray) -> None:
    """OutlineError where the ball can pass between figures."""
    count = len(figures.radius)
    apart = figures.apart_mm(i, j)
    held = apart < 2 * ball_mm - TOUCH_MM
    graph = coo_array((np.ones(int(held.sum())), (i[held], j[held])), shape=(count, count))
    parts, part = connected_components(graph, directed=False)
    if parts == 1:
        return
    inside, outside = np.flatnonzero(part == part[0]), np.flatnonzero(part != part[0])
    a, b = np.repeat(inside, len(outside)), np.tile(outside, len(inside))
    gaps = figures.apart_mm(a, b)
    k = int(np.argmin(gaps))
    (x0, y0), (x1, y1) = figures.centre[a[k]], figures.centre[b[k]]
    raise OutlineError(
        f"the contents fall into {parts} parts: between what stands at ({x0:.1f}, {y0:.1f}) and "
        f"at ({x1:.1f}, {y1:.1f}) a gap of {gaps[k]:.1f} mm lets a ball of radius {ball_mm:g} pass",
        remedy=f"bring them nearer than {2 * ball_mm:g} mm to each other",
    )


def _outer(figures: Figures, sides: GrownSides, stretches: Stretches) -> list[int]:
    """Stretches of the outer boundary in their order, from the right-most on; holes left out."""
    side, begin, end = stretches.side, stretches.begin, stretches.end
    if not len(side):
        raise OutlineError("all sides are neither flush nor apart", remedy=TO_CLOSE_UP)
    first, last = sides.at(side, begin), sides.at(side, end)
    passed = (-sides.start_rad[side] - begin) % math.tau <= end - begin
    passed &= sides.radius[side] > 0
    furthest = np.where(
        passed,
        sides.start[side, 0] + sides.radius[side],
        np.maximum(first[:, 0], last[:, 0]),
    )
    at = int(np.argmax(furthest))
    after = _following(sides, stretches, first, last)
    order, seen = [at], {at}
    while (at := after[order[-1]]) != order[0]:
        if at < 0 or at in seen:
            x, y = last[order[-1]]
            raise OutlineError(
                f"two sides near ({x:.1f}, {y:.1f}) are neither flush nor apart",
                remedy=TO_CLOSE_UP,
            )
        order.append(at)
        seen.add(at)
    return order


def _following(
    sides: GrownSides,
    stretches: Stretches,
    first: NDArray[np.float64],
    last: NDArray[np.float64],
) -> list[int]:
    """For each stretch the one that begins where it ends, its own figure's before others'; or -1.

    ``first``, ``last`` (s, 2): the ends [mm].
    """
    count = min(3, len(first))
    gap, near = cKDTree(first).query(last, k=[*range(1, count + 1)])
    figure = sides.figure[stretches.side]
    own = (figure[near] == figure[:, None]) & (gap < TOUCH_MM)
    best = np.where(own.any(axis=1), np.argmax(own, axis=1), 0)
    k = np.arange(len(first))
    chosen: list[int] = np.where(gap[k, best] < MEET_MM, near[k, best], -1).tolist()
    return chosen
