"""A part's plan at a height, drawn from its features with polygons alone."""

from __future__ import annotations

from collections.abc import Sequence

import shapely
from shapely.geometry.base import BaseGeometry

from layouts.enclosures.fitted.loops import loop_polygon
from layouts.parts.feature import Effect, Feature

CHORD_MM = 0.01


def heights_mm(features: Sequence[Feature]) -> list[float]:
    """Middles of all slabs, rising."""
    ends = sorted({z for f in features if f.loops for z in (f.z0_mm, f.z1_mm)})
    return [(low + high) / 2 for low, high in zip(ends, ends[1:], strict=False)]


def plan_at(features: Sequence[Feature], z_mm: float) -> BaseGeometry:
    """What is solid at a height, bores not taken off."""
    return plans_at(features, [z_mm])[0]


def plans_at(features: Sequence[Feature], heights: Sequence[float]) -> list[BaseGeometry]:
    """The same at several heights."""
    region: dict[str, BaseGeometry] = {}
    for f in features:
        if f.name not in region:
            shapes = [loop_polygon(loop, CHORD_MM) for loop in f.loops]
            region[f.name] = shapely.union_all(shapes)
    found = []
    for z_mm in heights:
        solid: BaseGeometry = shapely.Polygon()
        for f in features:
            if f.z0_mm < z_mm < f.z1_mm:
                shape = region[f.name]
                if f.within:
                    shape = shape.intersection(region[f.within])
                add = f.effect is Effect.ADD
                solid = solid.union(shape) if add else solid.difference(shape)
        found.append(solid)
    return found


def overhang_mm(features: Sequence[Feature]) -> float:
    """How far any slab reaches past the one below it [mm], found to 0.05; 9 for more."""
    plans = plans_at(features, heights_mm(features))
    worst = 0.0
    for below, above in zip(plans, plans[1:], strict=False):
        out = above.difference(below)
        if out.is_empty:
            continue
        near = below.intersection(out.buffer(10.0, quad_segs=4))
        while worst < 9.0 and out.difference(near.buffer(worst + CHORD_MM)).area > 1e-3:
            worst += 0.05
    return worst
