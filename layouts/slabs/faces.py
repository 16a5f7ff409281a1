"""Pieces of a level chained into loops, and loops grouped into faces."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray

from layouts.slabs.curves import curve_points_mm, piece_boxes_mm
from layouts.slabs.errors import SolidError
from layouts.slabs.inside import LoopSet
from layouts.slabs.planar import SAMPLE_SHARE

__all__ = ["PieceLoop", "Plan"]

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]
PieceLoop = tuple[tuple[int, int], ...]

# Directions that differ by less touch; which of two is first then follows from their curvature.
SAME_DIRECTION_RAD = 1e-6


class Plan:
    """Vertices and pieces of a plan with what chaining and grouping need of them."""

    def __init__(
        self, vertices: FloatArray, ends: IntArray, circles: FloatArray, turns: FloatArray
    ) -> None:
        """Take columns as in ``Body``."""
        self.vertices, self.ends, self.circles, self.turns = vertices, ends, circles, turns
        self.low, self.high = piece_boxes_mm(vertices, ends, circles, turns)
        first, last = vertices[ends[:, 0]], vertices[ends[:, 1]]
        step = last - first
        straight = first[:, 0] * last[:, 1] - last[:, 0] * first[:, 1]
        round_ = circles[:, 2] ** 2 * turns[:, 1] + (
            circles[:, 0] * step[:, 1] - circles[:, 1] * step[:, 0]
        )
        # Green's theorem: what a piece, run as stored, adds to the area on its left [mm2]
        self.green_mm2: FloatArray = np.where(circles[:, 2] > 0, round_, straight) / 2

    def loop_area_mm2(self, loop: PieceLoop) -> float:
        """Signed area of a loop of (piece, sign); exact for arcs."""
        return math.fsum(float(self.green_mm2[piece]) * sign for piece, sign in loop)

    def chain(self, pieces: IntArray, signs: IntArray) -> list[PieceLoop]:
        """Closed loops from pieces run in the given directions, the area on their left.

        At a vertex with several ways out the loop keeps to the area's own corner; a loop that
        comes back to a vertex is split there, so that every loop is simple.
        """
        begin = np.where(signs > 0, self.ends[pieces, 0], self.ends[pieces, 1]).tolist()
        close = np.where(signs > 0, self.ends[pieces, 1], self.ends[pieces, 0]).tolist()
        items = list(zip(pieces.tolist(), signs.tolist(), strict=True))
        way_out: dict[int, int] = {}
        several: dict[int, list[int]] = {}
        for k, v in enumerate(begin):
            if v in way_out:
                several.setdefault(v, [way_out[v]]).append(k)
            else:
                way_out[v] = k
        used = [False] * len(items)
        loops: list[PieceLoop] = []
        for first in range(len(items)):
            if used[first]:
                continue
            trail: list[int] = []
            position: dict[int, int] = {}
            k = first
            while True:
                v = begin[k]
                if v in position:  # back at a vertex of this trail: what lies between is a loop
                    cut = position[v]
                    for member in trail[cut:]:
                        position.pop(begin[member], None)
                    loops.append(tuple(items[member] for member in trail[cut:]))
                    del trail[cut:]
                if used[k]:
                    break
                used[k] = True
                position[v] = len(trail)
                trail.append(k)
                v = close[k]
                if v in several:
                    k = self._own_corner(items[k], [(m, items[m]) for m in several[v]])
                elif v in way_out:
                    k = way_out[v]
                else:
                    x, y = self.vertices[v]
                    raise SolidError(
                        f"an edge ends loose at ({x:.4f}, {y:.4f})",
                        remedy="keep shapes clear of each other by more than 1e-5 mm",
                    )
            if trail:
                x, y = self.vertices[begin[trail[0]]]
                raise SolidError(
                    f"edges near ({x:.4f}, {y:.4f}) don't close",
                    remedy="keep shapes clear of each other by more than 1e-5 mm",
                )
        return loops

    def _leaving(self, piece: int, sign: int) -> tuple[float, float]:
        """Direction [rad] and curvature [1/mm, left positive] of a piece where it starts."""
        radius = float(self.circles[piece, 2])
        if radius == 0:
            a, b = self.ends[piece] if sign > 0 else self.ends[piece][::-1]
            dx, dy = self.vertices[b] - self.vertices[a]
            return math.atan2(dy, dx), 0.0
        angle = self.turns[piece, 0] + (0.0 if sign > 0 else self.turns[piece, 1])
        return float(angle) + sign * math.pi / 2, sign / radius

    def _own_corner(
        self, came: tuple[int, int], ways: Sequence[tuple[int, tuple[int, int]]]
    ) -> int:
        """Of several ways out the first clockwise from the way back: same area at the left."""
        back, back_curve = self._leaving(came[0], -came[1])
        best: tuple[float, float, int] | None = None
        for k, way in ways:
            out, curve = self._leaving(*way)
            turn = (back - out) % math.tau
            if min(turn, math.tau - turn) < SAME_DIRECTION_RAD:
                turn = 0.0 if curve < back_curve else math.tau
            rank = (round(turn / SAME_DIRECTION_RAD), -curve, k)
            if best is None or rank < best:
                best = rank
        assert best is not None
        return int(best[2])

    def grouped(self, loops: Sequence[PieceLoop]) -> list[tuple[PieceLoop, ...]]:
        """Faces: each outer loop with its holes; a hole goes to the smallest loop round it."""
        areas = [self.loop_area_mm2(loop) for loop in loops]
        outer = [k for k, area in enumerate(areas) if area > 0]
        holes = [k for k, area in enumerate(areas) if area <= 0]
        if not holes:
            return [(loops[k],) for k in outer]
        if len(outer) == 1:
            return [(loops[outer[0]], *(loops[k] for k in holes))]
        home = self._homes(
            [loops[k] for k in outer], [areas[k] for k in outer], [loops[k] for k in holes]
        )
        members: list[list[PieceLoop]] = [[loops[k]] for k in outer]
        for k, h in zip(holes, home, strict=True):
            if h < 0:
                x, y = self.vertices[self.ends[loops[k][0][0], 0]]
                raise SolidError(
                    f"a hole at ({x:.3f}, {y:.3f}) lies in no face",
                    remedy="keep sunk figures and cones within the material",
                )
            members[h].append(loops[k])
        return [tuple(group) for group in members]

    def _homes(
        self, outer: Sequence[PieceLoop], areas: Sequence[float], holes: Sequence[PieceLoop]
    ) -> list[int]:
        """Number of the smallest outer loop round each hole; -1 where there is none."""
        count = np.array([len(loop) for loop in outer])
        begin = np.cumsum(count) - count
        pieces = np.array([piece for loop in outer for piece, _ in loop])
        signs = np.array([sign for loop in outer for _, sign in loop])
        low = np.minimum.reduceat(self.low[pieces], begin)
        high = np.maximum.reduceat(self.high[pieces], begin)
        inner = np.array([loop[0][0] for loop in holes])
        points = curve_points_mm(
            self.vertices,
            self.ends[inner],
            self.circles[inner],
            self.turns[inner],
            SAMPLE_SHARE,
        )
        boxes = shapely.box(low[:, 0], low[:, 1], high[:, 0], high[:, 1])
        hole, loop = shapely.STRtree(boxes).query(shapely.points(points))
        inside = self.loop_set(pieces, signs, np.repeat(np.arange(len(outer)), count)).contains(
            points[hole], loop
        )
        hole, loop = hole[inside], loop[inside]
        # the largest first, so that the smallest is written last and stays
        order = np.argsort(-np.array(areas)[loop], kind="stable")
        home = np.full(len(holes), -1)
        home[hole[order]] = loop[order]
        return [int(h) for h in home]

    def loop_set(self, pieces: IntArray, signs: IntArray, loop: IntArray) -> LoopSet:
        """Crossing numbers for loops given as pieces and signs, sorted by loop number."""
        forward = signs > 0
        ends = np.where(forward[:, None], self.ends[pieces], self.ends[pieces][:, ::-1])
        turns = self.turns[pieces]
        turns = np.column_stack(
            [np.where(forward, turns[:, 0], turns[:, 0] + turns[:, 1]), signs * turns[:, 1]]
        )
        return LoopSet(
            self.vertices[ends[:, 0]],
            self.vertices[ends[:, 1]],
            self.circles[pieces],
            turns,
            loop,
            int(loop[-1]) + 1 if len(loop) else 0,
        )
