"""The search for a wire's way: lines of few corners, each an arc of the least radius, the shortest
that meets nothing.

A wire leaves its first end along one direction and comes to its last along another; between them
lie two corners on these directions and, where that is not enough, one more anywhere in the room.
All such lines are tried at once: on a field of distances first, the shortest of those left then on
the bodies themselves.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from layouts.wiring.obstacles import Obstacle, Tube, WireRoom, nearest
from layouts.wiring.ways import rounded_mm, sampled_mm

__all__ = ["FIELD_MM", "FoundWay", "Search", "WirePose"]

Points = NDArray[np.float64]

FIELD_MM = 2.0  # between the field's points
OFF_FIELD_MM = FIELD_MM * 3**0.5 / 2  # the field may be off by so much
# from an end to its corner, beyond the straight stretch there
AWAY_MM = (*np.arange(0.5, 48.0, 1.5).tolist(), 54.0, 62.0, 72.0, 84.0, 100.0, 120.0)
FEW_AWAY_MM = (0.5, 8.0, 16.0, 25.0, 36.0, 50.0, 75.0, 110.0)
THROUGH_MM = 11.0  # between the places that a third corner is tried at
MOST_LINES = 120_000  # that are looked at for one pair of ends and one number of corners
MOST_JUDGED = 40  # of the shortest, on the bodies
ON_ARC, ON_STRAIGHT = 6, 12  # points of a line that the field is looked at
MEET_MM = 0.01  # lines nearer to each other than this meet
BEYOND_MM = 6.0  # of the field round the room
STEP_MM = 1.0  # of the points judged on the bodies


@dataclass(frozen=True, kw_only=True, slots=True)
class WirePose:
    """An end of a wire: the place, the direction in which the wire goes on from it (both ends:
    away from what it is joined to), and how far it stays straight."""

    at_mm: tuple[float, float, float]
    way: tuple[float, float, float]
    straight_mm: float


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class FoundWay:
    """The line's corners, and the least gap to what is in its way less ``need_mm``: negative where
    none was free."""

    corners_mm: tuple[tuple[float, float, float], ...]
    first: WirePose
    last: WirePose
    over_mm: float


@dataclass(slots=True)
class Search:
    """The room and what stands in it; wires that are found are added by ``add``."""

    room: WireRoom
    obstacles: list[Obstacle]
    _grid: _GapGrid | None = None

    def add(self, one: Obstacle) -> None:
        """One more body that later wires keep clear of."""
        self.obstacles.append(one)

    def _field(self, own: Sequence[str]) -> _GapField:
        """Gaps to all bodies but its own; each body's are worked out once."""
        if self._grid is None:
            self._grid = _GapGrid(self.room)
        grid = self._grid
        gap = grid.sides.copy()
        for k, one in enumerate(self.obstacles):
            if k >= len(grid.gaps):
                grid.gaps.append(_gaps(one, grid.at_mm).astype(np.float32))
            if one.name not in own:
                np.minimum(gap, grid.gaps[k], out=gap)
        return _GapField(grid, gap)

    def way(
        self,
        firsts: Sequence[WirePose],
        lasts: Sequence[WirePose],
        *,
        radius_mm: float,
        need_mm: float,
        own: Sequence[str],
        reach_mm: float,
    ) -> FoundWay | None:
        """The shortest free line from one of ``firsts`` to one of ``lasts``.

        ``need_mm``: from its middle to any body; ``own``: bodies that it may touch within
        ``reach_mm`` of its ends. Where none is free: the one that comes nearest to
        it; None where no line at all has room for its bends."""
        field = self._field(own)
        judged = _Judged(self.room, self.obstacles, radius_mm, need_mm, own, reach_mm)
        nearly: FoundWay | None = None
        for count in (1, 2, 3):
            best: tuple[float, FoundWay] | None = None
            for first in firsts:
                for last in lasts:
                    lines = self._lines(first, last, count, radius_mm, len(firsts) * len(lasts))
                    if not len(lines.corners):
                        continue
                    gap = field.at(lines.points).min(axis=1)
                    for k in lines.in_order(gap > need_mm - OFF_FIELD_MM)[:MOST_JUDGED]:
                        if best is not None and lines.long_mm[k] >= best[0]:
                            break
                        found = judged.line(lines.corners[k], first, last)
                        if found.over_mm >= 0.0:
                            best = float(lines.long_mm[k]), found
                            break
                    if best is None:
                        k = int(np.argmax(gap))
                        found = judged.line(lines.corners[k], first, last)
                        if nearly is None or found.over_mm > nearly.over_mm:
                            nearly = found
            if best is not None:
                return best[1]
        return nearly

    def _lines(
        self, first: WirePose, last: WirePose, count: int, radius_mm: float, pairs: int
    ) -> _Lines:
        """All lines of so many corners whose arcs have room."""
        if count == 1:
            return _Lines.of(
                _one_corner(first, last), radius_mm, first.straight_mm, last.straight_mm
            )
        away = AWAY_MM if count == 2 else FEW_AWAY_MM
        starts = _along(first, away)
        ends = _along(last, away)
        a, b = (grid.ravel() for grid in np.meshgrid(range(len(starts)), range(len(ends))))
        inner = [starts[a], ends[b]]
        if count == 3:
            through = self._through(max(1, MOST_LINES // (len(a) * max(1, pairs // 4))))
            a, b, c = (
                grid.ravel()
                for grid in np.meshgrid(range(len(starts)), range(len(ends)), range(len(through)))
            )
            inner = [starts[a], through[c], ends[b]]
        rows = len(inner[0])
        corners = np.stack(
            [np.broadcast_to(first.at_mm, (rows, 3)), *inner,
             np.broadcast_to(last.at_mm, (rows, 3))], axis=1,
        )  # fmt: skip
        return _Lines.of(corners, radius_mm, first.straight_mm, last.straight_mm)

    def _through(self, most: int) -> Points:
        """Places for a corner between the ends, no more than ``most``."""
        rect = self.room.rect
        step = THROUGH_MM
        while True:
            axes = [
                np.arange(low + step / 2, high, step)
                for low, high in (
                    (rect.x0, rect.x1), (rect.y0, rect.y1), (self.room.z0_mm, self.room.z1_mm),
                )
            ]  # fmt: skip
            if np.prod([max(1, len(axis)) for axis in axes]) <= max(most, 40):
                return np.stack(np.meshgrid(*axes, indexing="ij"), axis=-1).reshape(-1, 3)
            step *= 1.15


def _one_corner(first: WirePose, last: WirePose) -> Points:
    """(1, 3, 3) the line whose corner is where both ends' directions meet, if they do."""
    p, q = np.array(first.at_mm), np.array(last.at_mm)
    u, v = np.array(first.way), np.array(last.way)
    across = np.cross(u, v)
    square = float(across @ across)
    if square < 1e-9 or abs(float((q - p) @ across)) > MEET_MM * square**0.5:
        return np.zeros((0, 3, 3))
    along = float(np.cross(q - p, v) @ across) / square
    back = float(np.cross(q - p, u) @ across) / square
    if along <= 0.0 or back <= 0.0:
        return np.zeros((0, 3, 3))
    return np.stack([p, p + along * u, q])[None]


def _along(pose: WirePose, away_mm: Sequence[float]) -> Points:
    at, way = np.array(pose.at_mm), np.array(pose.way)
    found: Points = at + (pose.straight_mm + np.array(away_mm))[:, None] * way
    return found


@dataclass(frozen=True, slots=True)
class _Lines:
    """Lines (n, k, 3) by their corners, points (n, m, 3) on them, their lengths (n,)."""

    corners: Points
    points: Points
    long_mm: Points

    @classmethod
    def of(cls, corners: Points, radius_mm: float, first_mm: float, last_mm: float) -> _Lines:
        """Those whose arcs have room beside the straight stretches at both ends."""
        steps = np.diff(corners, axis=1)
        long = np.linalg.norm(steps, axis=2)
        ok = (long > 1e-6).all(axis=1)
        corners, steps, long = corners[ok], steps[ok], long[ok]
        unit = steps / long[..., None]
        turn = np.arccos(np.clip((unit[:, :-1] * unit[:, 1:]).sum(axis=2), -1.0, 1.0))
        with np.errstate(over="ignore"):
            tangent = np.where(turn < 3.1, radius_mm * np.tan(np.minimum(turn, 3.1) / 2), np.inf)
        taken = np.zeros_like(long)
        taken[:, :-1] += tangent
        taken[:, 1:] += tangent
        taken[:, 0] += first_mm
        taken[:, -1] += last_mm
        ok = (taken <= long + 1e-9).all(axis=1)
        corners, unit, long = corners[ok], unit[ok], long[ok]
        turn, tangent = turn[ok], tangent[ok]
        lengths = long.sum(axis=1) - (2 * tangent - radius_mm * turn).sum(axis=1)
        return cls(corners, _on(corners, unit, turn, tangent, radius_mm), lengths)

    def in_order(self, good: NDArray[np.bool_]) -> list[int]:
        """Indices of good ones, the shortest first."""
        at = np.flatnonzero(good)
        return [int(k) for k in at[np.argsort(self.long_mm[at], kind="stable")]]


def _on(corners: Points, unit: Points, turn: Points, tangent: Points, radius_mm: float) -> Points:
    """Points on the arcs and on the straight stretches between them."""
    parts = []
    count = turn.shape[1]
    if not len(corners):
        return np.zeros((0, 1, 3))
    begins = [corners[:, 0]]
    ends = []
    share = np.linspace(0.0, 1.0, ON_ARC)[None, :, None]
    for k in range(count):
        u, v = unit[:, k], unit[:, k + 1]
        side = v - (v * u).sum(axis=1)[:, None] * u
        norm = np.linalg.norm(side, axis=1)[:, None]
        side = np.where(norm > 1e-9, side / np.maximum(norm, 1e-9), 0.0)
        at = corners[:, k + 1]
        begin = at - u * tangent[:, k, None]
        angle = share * turn[:, k, None, None]
        parts.append(
            begin[:, None]
            + radius_mm * (np.sin(angle) * u[:, None] + (1.0 - np.cos(angle)) * side[:, None])
        )
        ends.append(begin)
        begins.append(at + v * tangent[:, k, None])
    ends.append(corners[:, -1])
    share = np.linspace(0.0, 1.0, ON_STRAIGHT)[None, :, None]
    parts += [p[:, None] + share * (q - p)[:, None] for p, q in zip(begins, ends, strict=True)]
    return np.concatenate(parts, axis=1)


@dataclass(frozen=True, slots=True)
class _Judged:
    """Lines held against the bodies themselves."""

    room: WireRoom
    obstacles: Sequence[Obstacle]
    radius_mm: float
    need_mm: float
    own: Sequence[str]
    reach_mm: float

    def line(self, corners: Points, first: WirePose, last: WirePose) -> FoundWay:
        """One of them, with its least gap."""
        line = sampled_mm(rounded_mm(corners, self.radius_mm), STEP_MM)
        gap = nearest(line, self.room, self.obstacles, self.own, self.reach_mm)[0]
        kept = tuple((float(x), float(y), float(z)) for x, y, z in corners)
        return FoundWay(corners_mm=kept, first=first, last=last, over_mm=gap - self.need_mm)


class _GapGrid:
    """Points ``FIELD_MM`` apart over the room and a little beyond, and gaps there."""

    def __init__(self, room: WireRoom) -> None:
        rect = room.rect
        self.low_mm = np.array([rect.x0, rect.y0, room.z0_mm]) - BEYOND_MM
        high = np.array([rect.x1, rect.y1, room.z1_mm]) + BEYOND_MM
        axes = [
            np.arange(a, b + FIELD_MM, FIELD_MM) for a, b in zip(self.low_mm, high, strict=True)
        ]
        self.shape = tuple(len(axis) for axis in axes)
        self.at_mm = np.stack(np.meshgrid(*axes, indexing="ij"), axis=-1).reshape(-1, 3)
        self.sides = room.gaps_mm(self.at_mm).min(axis=1).astype(np.float32)
        self.gaps: list[NDArray[np.float32]] = []


@dataclass(frozen=True, slots=True)
class _GapField:
    """Least gap to anything, on the grid."""

    grid: _GapGrid
    gap: NDArray[np.float32]

    def at(self, points: Points) -> NDArray[np.float32]:
        """At the nearest of its points; far outside the room: as at its edge."""
        index = np.rint((points - self.grid.low_mm) / FIELD_MM).astype(np.int32)
        _, wide, high = self.grid.shape
        x, y, z = (np.clip(index[..., k], 0, self.grid.shape[k] - 1) for k in range(3))
        found: NDArray[np.float32] = self.gap[(x * wide + y) * high + z]
        return found


def _gaps(one: Obstacle, at_mm: Points) -> Points:
    """Gaps of many points; of a wire only those of points near it."""
    if not isinstance(one, Tube):
        return one.gap_mm(at_mm)
    off = cKDTree(one.line_mm).query(at_mm)[0]
    gap: Points = off - one.radius_mm
    return gap
