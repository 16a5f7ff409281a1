"""Meshes with known edges for the drawings' tests."""

from __future__ import annotations

import math

import numpy as np

from generators.drawings.hidden_lines import Polyline, Triangles
from generators.meshes.mesh import mesh
from layouts.slabs.profile import circle, rectangle
from layouts.slabs.slabs import Slab, build


def box(low: tuple[float, float, float], high: tuple[float, float, float]) -> Triangles:
    """An upright box."""
    body = build(
        {"a": [rectangle(low[0], low[1], high[0], high[1])]},
        [Slab(low[2], high[2], lambda inside: inside["a"])],
    )
    made = mesh(body)
    return made.vertices_mm, made.faces


def cylinder(radius_mm: float, high_mm: float, chord_mm: float = 0.02) -> Triangles:
    """A cylinder on z = 0 about the z axis."""
    body = build(
        {"a": [circle((0.0, 0.0), radius_mm)]},
        [Slab(0.0, high_mm, lambda inside: inside["a"])],
    )
    made = mesh(body, chord_mm)
    return made.vertices_mm, made.faces


def drilled_plate(half_mm: float, radius_mm: float, high_mm: float) -> Triangles:
    """A square plate with one round hole through its middle."""
    body = build(
        {
            "a": [rectangle(-half_mm, -half_mm, half_mm, half_mm)],
            "hole": [circle((0.0, 0.0), radius_mm)],
        },
        [Slab(0.0, high_mm, lambda inside: inside["a"] & ~inside["hole"])],
    )
    made = mesh(body, 0.02)
    return made.vertices_mm, made.faces


def length_mm(lines: list[Polyline]) -> float:
    """Length of all lines together."""
    return math.fsum(float(np.hypot(*np.diff(line, axis=0).T).sum()) for line in lines)


def points_along(lines: list[Polyline], step_mm: float = 0.05) -> np.ndarray:
    """(n, 2) points on the lines, at most ``step_mm`` apart."""
    out = []
    for line in lines:
        for a, b in zip(line, line[1:], strict=False):
            count = max(2, math.ceil(float(np.hypot(*(b - a))) / step_mm) + 1)
            out.append(a + np.linspace(0.0, 1.0, count)[:, None] * (b - a))
    return np.vstack(out)


def directions(lines: list[Polyline]) -> dict[int, float]:
    """Length of the lines by direction in whole degrees, 0 to 179."""
    found: dict[int, float] = {}
    for line in lines:
        for a, b in zip(line, line[1:], strict=False):
            step = b - a
            angle = round(math.degrees(math.atan2(step[1], step[0]))) % 180
            found[angle] = found.get(angle, 0.0) + float(np.hypot(*step))
    return found
