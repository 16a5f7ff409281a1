"""Exact area covered by discs and straight-edged shapes together, overlaps counted once.

Green's theorem over those pieces of edges and circles that lie outside all other shapes
(plane geometry). Parts' volume formulas stand on it; it shares nothing with the way that
bodies are made. The shapes' straight edges are united by shapely first, which is exact to
rounding for straight edges; arcs never become chords.
"""

from __future__ import annotations

import math
from collections.abc import Iterable

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from layouts.slabs.areas import edges_of

__all__ = ["covered_area_mm2", "rounded_parts"]

Disc = tuple[float, float, float]  # x, y, radius
SAME_MM = 1e-9  # discs nearer than this are one
END_SLACK = 1e-9  # an edge that ends on a circle is cut there all the same


def rounded_parts(
    x0: float, y0: float, x1: float, y1: float, corner_mm: float
) -> tuple[shapely.Polygon, tuple[Disc, ...]]:
    """A rectangle with rounded corners as an octagon and four discs."""
    r = corner_mm
    octagon = shapely.Polygon(
        [(x0 + r, y0), (x1 - r, y0), (x1, y0 + r), (x1, y1 - r),
         (x1 - r, y1), (x0 + r, y1), (x0, y1 - r), (x0, y0 + r)]
    )  # fmt: skip
    return octagon, tuple((x, y, r) for x in (x0 + r, x1 - r) for y in (y0 + r, y1 - r))


def covered_area_mm2(shapes: Iterable[BaseGeometry], discs: Iterable[Disc] = ()) -> float:
    """Area covered by straight-edged shapes and discs [mm2]; 0 for none."""
    straight = shapely.union_all([shapely.Polygon(), *shapes])
    kept: list[Disc] = []
    for x, y, r in discs:
        swallowed = any(math.hypot(x - a, y - b) <= c - r + SAME_MM for a, b, c in kept)
        if not swallowed:
            kept = [d for d in kept if math.hypot(x - d[0], y - d[1]) > r - d[2]]
            kept.append((x, y, r))
    rounds = np.array(kept, dtype=np.float64).reshape(-1, 3)
    edges = edges_of(straight)
    return 0.5 * (_edges_twice(edges, rounds) + _circles_twice(edges, rounds, straight))


def _edges_twice(edges: NDArray[np.float64], rounds: NDArray[np.float64]) -> float:
    """Twice the Green sum of the edges' parts outside all discs."""
    total = 0.0
    for x0, y0, x1, y1 in edges.tolist():
        length = math.hypot(x1 - x0, y1 - y0)
        ux, uy = (x1 - x0) / length, (y1 - y0) / length
        inside: list[tuple[float, float]] = []
        for cx, cy, r in rounds.tolist():
            along = (cx - x0) * ux + (cy - y0) * uy
            rest = r * r - ((cx - x0) * uy - (cy - y0) * ux) ** 2
            if rest > 0:
                half = math.sqrt(rest)
                a, b = max(0.0, along - half), min(length, along + half)
                if b > a:
                    inside.append((a, b))
        free = length
        at = 0.0
        for a, b in sorted(inside):
            free -= max(0.0, b - max(a, at))
            at = max(at, b)
        # the integrand x dy - y dx is the same all along a straight edge
        total += (x0 * y1 - x1 * y0) * free / length
    return total


def _circles_twice(
    edges: NDArray[np.float64], rounds: NDArray[np.float64], straight: BaseGeometry
) -> float:
    """Twice the Green sum of the circles' arcs outside the shape and all other discs."""
    total = 0.0
    shapely.prepare(straight)
    for k, (cx, cy, r) in enumerate(rounds.tolist()):
        cuts = [0.0, math.tau]
        for x0, y0, x1, y1 in edges.tolist():
            length = math.hypot(x1 - x0, y1 - y0)
            ux, uy = (x1 - x0) / length, (y1 - y0) / length
            along = (cx - x0) * ux + (cy - y0) * uy
            rest = r * r - ((cx - x0) * uy - (cy - y0) * ux) ** 2
            if rest < 0:
                continue
            for t in (along - math.sqrt(rest), along + math.sqrt(rest)):
                if -END_SLACK <= t <= length + END_SLACK:
                    cuts.append(math.atan2(y0 + t * uy - cy, x0 + t * ux - cx) % math.tau)
        others = np.delete(rounds, k, axis=0)
        for ox, oy, s in others.tolist():
            apart = math.hypot(ox - cx, oy - cy)
            if abs(r - s) < apart < r + s:
                way = math.atan2(oy - cy, ox - cx)
                half = math.acos((r * r + apart * apart - s * s) / (2 * r * apart))
                cuts += [(way - half) % math.tau, (way + half) % math.tau]
        bounds = np.unique(np.array(cuts))
        start, end = bounds[:-1], bounds[1:]
        middle = (start + end) / 2
        mx, my = cx + r * np.cos(middle), cy + r * np.sin(middle)
        free = ~shapely.contains_xy(straight, mx, my)
        for ox, oy, s in others.tolist():
            free &= np.hypot(mx - ox, my - oy) >= s
        a, b = start[free], end[free]
        total += float(
            (
                r * r * (b - a)
                + r * cx * (np.sin(b) - np.sin(a))
                - r * cy * (np.cos(b) - np.cos(a))
            ).sum()
        )
    return total
