"""A wire's way: straight stretches joined by arcs, as it lies in the enclosure."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from layouts.parts.outlet import BEND_RATIO

__all__ = ["WireEnd", "WireWay", "least_radius_mm", "middle_radius_mm", "rounded_mm", "sampled_mm"]

ARC_STEP_RAD = math.radians(3.0)
STRAIGHT_RAD = 1e-6  # a smaller turn is none


def middle_radius_mm(outside_mm: float) -> float:
    """Least radius of a bend to the middle of the wire: ``BEND_RATIO`` outside diameters to its
    inner side."""
    return (BEND_RATIO + 0.5) * outside_mm


@dataclass(frozen=True, kw_only=True, slots=True)
class WireEnd:
    """One end of a wire: where it is joined, how, and by which hand tool.

    ``joint``: crimped, soldered or plugged in, in words. ``told``: the place, in words."""

    told: str
    joint: str


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class WireWay:
    """One wire as it lies inside the enclosure.

    ``number``: in the wiring plan (M1 main lead, C1 charge lead, B0 balance lead). ``corners_mm``
    (n, 3): of the line before its corners are rounded, from the first end to the last, each with
    ``radius_mm`` to the wire's middle. ``outside_mm``: over its insulation. ``spare_mm``: of the
    length to cut, beside the way, told by ``spare``.
    ``own``: bodies that it is joined to and may touch. ``loom``: lies with others of its loom,
    which it may touch.
    """

    number: str
    purpose: str
    area_mm2: float
    gauge: str
    outside_mm: float
    ends: tuple[WireEnd, WireEnd]
    corners_mm: tuple[tuple[float, float, float], ...]
    radius_mm: float
    spare_mm: float
    spare: str
    own: tuple[str, ...]
    loom: bool = False

    @property
    def line_mm(self) -> NDArray[np.float64]:
        """(m, 3) points along its middle, arcs in steps of 3 degrees."""
        return rounded_mm(np.array(self.corners_mm, dtype=np.float64), self.radius_mm)

    @property
    def way_mm(self) -> float:
        """Length of that line."""
        return float(np.linalg.norm(np.diff(self.line_mm, axis=0), axis=1).sum())

    @property
    def cut_mm(self) -> float:
        """Length to cut: the way and what is spare, rounded up to 5 mm."""
        return 5.0 * math.ceil((self.way_mm + self.spare_mm) / 5.0 - 1e-9)


def rounded_mm(corners_mm: NDArray[np.float64], radius_mm: float) -> NDArray[np.float64]:
    """(m, 3) points of a line (n, 3) whose corners are arcs of one radius.

    Where a stretch is too short for the arcs at its ends these are tighter, and begin at its
    middle: ``least_radius_mm`` tells by how much.
    """
    points = [corners_mm[0]]
    last = len(corners_mm) - 1
    for k in range(1, last):
        before, at, after = corners_mm[k - 1 : k + 2]
        come, go = at - before, after - at
        long_in, long_out = float(np.linalg.norm(come)), float(np.linalg.norm(go))
        u, v = come / long_in, go / long_out
        turn = math.acos(float(np.clip(u @ v, -1.0, 1.0)))
        if turn < STRAIGHT_RAD:
            continue
        half = math.tan(turn / 2)
        room = min(long_in if k == 1 else long_in / 2, long_out if k == last - 1 else long_out / 2)
        radius = min(radius_mm, _tangent_room(corners_mm, k, radius_mm, room) / half)
        side = v - (v @ u) * u
        side /= np.linalg.norm(side)
        begin = at - u * (radius * half)
        steps = max(2, math.ceil(turn / ARC_STEP_RAD))
        angle = np.linspace(0.0, turn, steps + 1)[:, None]
        points.extend(begin + radius * (np.sin(angle) * u + (1.0 - np.cos(angle)) * side))
    points.append(corners_mm[-1])
    line = np.array(points)
    apart = np.linalg.norm(np.diff(line, axis=0), axis=1) > 1e-9
    kept: NDArray[np.float64] = line[np.concatenate([[True], apart])]
    return kept


def _tangent_room(
    corners_mm: NDArray[np.float64], k: int, radius_mm: float, halves_mm: float
) -> float:
    """How far from corner k its arc may begin: all that the arcs at its neighbours leave, and half
    of a stretch at least."""
    wanted = [_tangent_mm(corners_mm, j, radius_mm) for j in (k - 1, k, k + 1)]
    before = float(np.linalg.norm(corners_mm[k] - corners_mm[k - 1])) - wanted[0]
    after = float(np.linalg.norm(corners_mm[k + 1] - corners_mm[k])) - wanted[2]
    return max(halves_mm, min(before, after)) if min(before, after) >= wanted[1] else halves_mm


def _tangent_mm(corners_mm: NDArray[np.float64], k: int, radius_mm: float) -> float:
    """From a corner to the begin of its arc; none at the ends."""
    if k <= 0 or k >= len(corners_mm) - 1:
        return 0.0
    come, go = corners_mm[k] - corners_mm[k - 1], corners_mm[k + 1] - corners_mm[k]
    cos = float(come @ go) / (float(np.linalg.norm(come)) * float(np.linalg.norm(go)))
    turn = math.acos(min(1.0, max(-1.0, cos)))
    return radius_mm * math.tan(turn / 2)


def least_radius_mm(line_mm: NDArray[np.float64]) -> float:
    """Least radius of a line of points (n, 3): of the circles through three neighbours whose turn
    is seen; infinite for a straight one.

    R = abc / (4 area), the circumscribed circle of a triangle (plane geometry)."""
    a, b, c = line_mm[:-2], line_mm[1:-1], line_mm[2:]
    ab, bc, ca = (np.linalg.norm(q - p, axis=1) for p, q in ((a, b), (b, c), (c, a)))
    doubled = np.linalg.norm(np.cross(b - a, c - a), axis=1)
    bent = doubled > 1e-6 * ab * bc
    if not bent.any():
        return math.inf
    # between an arc and a straight stretch the points are not evenly apart: the circle through
    # them is wider than the arc, never tighter
    return float((ab[bent] * bc[bent] * ca[bent] / (2.0 * doubled[bent])).min())


def sampled_mm(line_mm: NDArray[np.float64], step_mm: float) -> NDArray[np.float64]:
    """Points (m, 3) along a line, no farther apart than ``step_mm``."""
    gone = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(line_mm, axis=0), axis=1))])
    at = np.linspace(0.0, gone[-1], max(1, math.ceil(gone[-1] / step_mm)) + 1)
    return np.column_stack([np.interp(at, gone, line_mm[:, k]) for k in range(3)])
