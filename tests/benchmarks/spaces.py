"""The free plan of a rough mesh of 80,000 triangles, against joining its triangles one by one.

Run by hand: ``python -m tests.benchmarks.spaces``; with ``--check`` the exit status is 1 where
it is less than twice as fast. Measured: a smooth ball and a rough one, cut to a slab. The other
way: the union of all triangles of the smooth one as polygons.
"""

from __future__ import annotations

import statistics
import sys
import time

import numpy as np
import shapely
import trimesh

from layouts.spaces.regions import free_region
from layouts.spaces.space import Solid, Space

ROUNDS = 3
LEAST_RATIO = 2.0


def ball(rough_mm: float) -> Solid:
    """A ball of 100 mm in 81,920 triangles, its corners moved by some noise."""
    mesh = trimesh.creation.icosphere(6, radius=100)
    noise = np.random.default_rng(1).normal(0, rough_mm, mesh.vertices.shape)
    return Solid(name="ball", vertices_mm=mesh.vertices + noise, faces=np.array(mesh.faces))


def region_s(solid: Solid) -> float:
    """Time [s] of one free region."""
    begin = time.perf_counter()
    free_region(Space(room=solid), -50, 80)
    return time.perf_counter() - begin


def union_s(solid: Solid) -> float:
    """Time [s] to join all triangles as they lie in the plan."""
    begin = time.perf_counter()
    shapely.union_all(shapely.polygons(solid.vertices_mm[solid.faces][..., :2]))
    return time.perf_counter() - begin


def main() -> int:
    """Measure and print."""
    smooth, rough = ball(0.0), ball(0.3)
    ours = statistics.median(region_s(smooth) for _ in range(ROUNDS))
    worst = statistics.median(region_s(rough) for _ in range(ROUNDS))
    theirs = union_s(smooth)
    print(f"{theirs:6.2f} s  {len(smooth.faces):,} triangles joined one by one")
    print(f"{ours:6.2f} s  free region of the smooth ball, {theirs / ours:.1f} x faster")
    print(f"{worst:6.2f} s  free region of the rough ball, {theirs / worst:.1f} x")
    return int("--check" in sys.argv and theirs / ours < LEAST_RATIO)


if __name__ == "__main__":
    raise SystemExit(main())
