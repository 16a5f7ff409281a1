"""Sections of a body: rings of points of each stretch of equal height, those of its mesh."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from generators.meshes.mesh import PlanPoints
from layouts.slabs.body import Body
from layouts.slabs.faces import Plan

__all__ = ["Stretch", "Taper", "sections_of", "tapers_of"]

FloatArray = NDArray[np.float64]


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Stretch:
    """``rings`` (n, 2) [mm] from ``z0_mm`` to ``z1_mm``, material at their left; where a cone is,
    its circle below."""

    z0_mm: float
    z1_mm: float
    rings: tuple[FloatArray, ...]


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Taper:
    """A cone between two rings of as many points, both run like the section's ring below;
    ``side`` as of ``ConeWall``."""

    z0_mm: float
    z1_mm: float
    lower: FloatArray
    upper: FloatArray
    side: int


def sections_of(body: Body, chord_mm: float) -> tuple[Stretch, ...]:
    """The sections of a body from below; no chord stands off its arc by more than ``chord_mm``."""
    points = PlanPoints(body, chord_mm, area_true=True)
    plan = Plan(body.vertices, body.ends, body.circles, body.turns)
    rows = [(wall.piece, wall.z0_mm, wall.z1_mm, wall.side) for wall in body.walls]
    rows += [(k, one.z0_mm, one.z1_mm, one.side) for one in body.cones for k in one.lower]
    piece, low, high, side = (np.array(column) for column in zip(*rows, strict=True))
    levels = sorted({*low.tolist(), *high.tolist()})
    found = []
    for z0, z1 in zip(levels, levels[1:], strict=False):
        there = (low <= z0) & (high >= z1)
        loops = plan.chain(piece[there], side[there])
        found.append(Stretch(z0_mm=z0, z1_mm=z1, rings=tuple(_points(points, o) for o in loops)))
    return tuple(found)


def tapers_of(body: Body, chord_mm: float) -> tuple[Taper, ...]:
    """The cones of a body."""
    points = PlanPoints(body, chord_mm, area_true=True)
    found = []
    for cone in body.cones:
        items = tuple((piece, 1) for piece in cone.lower)
        lower, upper = _points(points, items), _points(points, ((cone.upper, 1),))
        found.append(
            Taper(z0_mm=cone.z0_mm, z1_mm=cone.z1_mm, lower=lower, upper=upper, side=cone.side)
        )
    return tuple(found)


def _points(points: PlanPoints, loop: tuple[tuple[int, int], ...]) -> FloatArray:
    items = np.array(loop, np.int64)
    ring: FloatArray = points.xy[points.along(items[:, 0], items[:, 1])[0]]
    return ring
