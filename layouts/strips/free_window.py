"""How much of a weld window strips leave free: the first stretch of the gas vent path."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

__all__ = ["LEAST_FREE_MM2", "free_window_mm2"]

LEAST_FREE_MM2 = 30.0  # about the openings in one can's own cap; common practice, no source
RAYS = 180  # two degrees apart: within 1 mm2 of the exact area for windows up to 24 mm


def free_window_mm2(
    angle_deg: NDArray[np.float64],
    half_mm: NDArray[np.float64],
    *,
    window_mm: float,
    past_mm: float,
) -> NDArray[np.float64]:
    """Free area of each cell's window under its strips [mm2].

    ``angle_deg``, ``half_mm`` (n, k): direction and half width of every strip that leaves a
    cell's centre, half width 0 for none; a strip goes on ``past_mm`` behind the centre where
    it ends there. Summed over rays from the centre: along each, strips cover all up to some
    distance, as all of them begin at the centre.
    """
    radius = window_mm / 2
    rays = np.arange(RAYS) * (360.0 / RAYS)
    apart = np.radians(rays[:, None, None] - angle_deg[None])  # (rays, n, k)
    across, along = np.abs(np.sin(apart)), np.cos(apart)
    with np.errstate(divide="ignore"):
        reach = np.where(across > 1e-12, half_mm / np.maximum(across, 1e-12), np.inf)
        behind = np.minimum(reach, past_mm / np.maximum(-along, 1e-12))
    covered = np.where(along > 0, reach, behind)
    covered = np.where(half_mm[None] > 0, covered, 0.0).max(axis=2)
    covered = np.minimum(covered, radius)
    return np.asarray(((radius**2 - covered**2) / 2).sum(axis=0) * (2 * np.pi / RAYS))
