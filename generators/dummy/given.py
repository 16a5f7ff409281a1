"""Slabs that lie within a given shape, whose walls need not stand upright."""

from __future__ import annotations

import manifold3d
import numpy as np
import shapely
from numpy.typing import NDArray

from generators.dummy.sections import LEVEL_MM, PlanLayer, plan_at

__all__ = ["slabs_within"]

STEP_MM = 1.0  # greatest height of a slab: what it leaves out of a slanting wall is no wider
NEAR_MM = 0.2  # corners nearer in height than this count as one: half of what a shell is thick
FLAT = 0.9999  # a triangle is level where its normal points so far up or down


def slabs_within(solid: manifold3d.Manifold) -> list[PlanLayer]:
    """Slabs from below to the top, each with the plan that is solid all through it.

    They end at every level face, so that none runs across one. Within a slab the plan is looked
    at where the mesh has corners, between which it can only widen or narrow.
    """
    made = solid.to_mesh64()
    points = np.asarray(made.vert_properties)[:, :3]
    corners = points[np.asarray(made.tri_verts, np.int64)]
    normal = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    level = np.abs(normal[:, 2]) > FLAT * np.linalg.norm(normal, axis=1)
    low, high = float(points[:, 2].min()), float(points[:, 2].max())
    steps = np.linspace(low, high, max(2, int(np.ceil((high - low) / STEP_MM)) + 1))
    ends = _apart(np.concatenate([corners[level][:, 0, 2], steps]), 3 * LEVEL_MM)
    between = _apart(points[:, 2], NEAR_MM)
    return [
        PlanLayer(
            z0_mm=float(z0),
            z1_mm=float(z1),
            plan=shapely.intersection_all(
                [
                    plan_at(solid, float(z))
                    for z in (
                        z0 + LEVEL_MM,
                        *between[(between > z0 + LEVEL_MM) & (between < z1 - LEVEL_MM)],
                        z1 - LEVEL_MM,
                    )
                ]
            ),
        )
        for z0, z1 in zip(ends[:-1], ends[1:], strict=True)
    ]


def _apart(heights: NDArray[np.float64], least_mm: float) -> NDArray[np.float64]:
    """Heights, rising, those left out that lie nearer than ``least_mm`` above the one before."""
    kept: list[float] = []
    for height in np.unique(heights).tolist():
        if not kept or height - kept[-1] > least_mm:
            kept.append(height)
    return np.array(kept)
