"""Plain bodies to stay out of, as closed meshes."""

from __future__ import annotations

from collections.abc import Sequence
from math import cos, pi

import numpy as np

from layouts.errors import PlanError
from layouts.spaces.space import Solid

__all__ = ["SIDES", "box_solid", "cylinder_solid"]

SIDES = 96  # of the prism that stands for a cylinder: 0.05 % wider than it at most
FLAT_MM = 1e-6  # less is no body

# corners 0 to 3 round the floor, 4 to 7 round the top, both counter-clockwise seen from above
_BOX_FACES = (
    (0, 2, 1), (0, 3, 2), (4, 5, 6), (4, 6, 7), (0, 1, 5), (0, 5, 4),
    (1, 2, 6), (1, 6, 5), (2, 3, 7), (2, 7, 6), (3, 0, 4), (3, 4, 7),
)  # fmt: skip


def box_solid(
    name: str, corner_mm: Sequence[float], opposite_mm: Sequence[float], *, field: str
) -> Solid:
    """An upright box between two opposite corners, in any order.

    Raises PlanError where it has no volume.
    """
    corners = np.array([corner_mm, opposite_mm], dtype=np.float64)
    low, high = corners.min(axis=0), corners.max(axis=0)
    thin = np.flatnonzero(high - low <= FLAT_MM)
    if len(thin):
        raise PlanError(
            field=field,
            why=f"has no volume: both corners lie at the same {'xyz'[thin[0]]}",
            value=f"{low[thin[0]]:g}",
            remedy="give two opposite corners, or delete the entry",
        )
    (x, y, z), (a, b, c) = low, high
    plan = [(x, y), (a, y), (a, b), (x, b)]
    return Solid(
        name=name,
        vertices_mm=np.array([(*place, level) for level in (z, c) for place in plan]),
        faces=np.array(_BOX_FACES, dtype=np.int64),
    )


def cylinder_solid(
    name: str,
    from_mm: Sequence[float],
    to_mm: Sequence[float],
    radius_mm: float,
    *,
    field: str,
) -> Solid:
    """A cylinder as the prism of ``SIDES`` sides round it: never smaller than given.

    Raises PlanError where it has no length.
    """
    start, end = (np.asarray(place, dtype=np.float64) for place in (from_mm, to_mm))
    axis = end - start
    length = float(np.linalg.norm(axis))
    if length <= FLAT_MM:
        raise PlanError(
            field=field,
            why="has no volume: from_mm and to_mm are the same place",
            remedy="give the centres of its two ends, or delete the entry",
        )
    axis /= length
    u = np.cross(np.eye(3)[int(np.abs(axis).argmin())], axis)
    u /= np.linalg.norm(u)
    angle = 2 * pi * np.arange(SIDES) / SIDES
    round_mm = radius_mm / cos(pi / SIDES)
    rim = round_mm * (np.outer(np.cos(angle), u) + np.outer(np.sin(angle), np.cross(axis, u)))
    here = np.arange(SIDES)
    there = np.roll(here, -1)
    fan = np.column_stack([np.zeros(SIDES - 2, dtype=np.int64), here[1:-1], here[2:]])
    return Solid(
        name=name,
        vertices_mm=np.concatenate([start + rim, end + rim]),
        faces=np.concatenate(
            [
                fan[:, ::-1],
                fan + SIDES,
                np.column_stack([here, there, there + SIDES]),
                np.column_stack([here, there + SIDES, here + SIDES]),
            ]
        ).astype(np.int64),
    )
