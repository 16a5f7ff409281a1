"""Which two bare parts have the least margin over the required distance."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from layouts.pack import Face
from layouts.shorts.bare import ANYWHERE, FLOATING, Bare
from layouts.shorts.spacing_table import spacing
from layouts.shorts.values import Kind, Spot

__all__ = ["Pairs", "RequiredSpacing", "least_to_spare", "near_pairs", "required_spacing", "seen"]

TABLE_ENDS_V = 1000.0  # of both tables
# Gaps that dirt bridges, by pollution degree: width X of IEC 60664-1 clause 6.2, from memory
BRIDGED_MM = {2: 1.0, 3: 1.5}
QUARTER = 64  # corners in a quarter of a round part, as drawn
REACHES = (1.0, 2.0, 3.0)  # pitches looked at beyond the greatest need: near parts first


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class RequiredSpacing:
    """Required distance between two potentials, (series + 1,) by the groups between them.

    ``air_mm`` through air, ``surface_mm`` along the plastic; infinite where the table ends.
    ``bridged_mm``: a gap beside loose metal that is narrower counts as none.
    """

    series: int
    full_v: float
    degree: int
    bridged_mm: float
    air_mm: NDArray[np.float64]
    surface_mm: NDArray[np.float64]


def required_spacing(
    *, series: int, full_v: float, closed: bool, floor_mm: float
) -> RequiredSpacing:
    """The needs of a pack of so many full groups."""
    air, surface = np.zeros(series + 1), np.zeros(series + 1)
    degree = spacing(full_v, closed=closed, floor_mm=floor_mm).pollution_degree
    for step in range(1, series + 1):
        if step * full_v > TABLE_ENDS_V:
            air[step:] = surface[step:] = np.inf
            break
        asked = spacing(step * full_v, closed=closed, floor_mm=floor_mm)
        air[step], surface[step] = asked.clearance_mm, asked.creepage_mm
    return RequiredSpacing(
        series=series,
        full_v=full_v,
        degree=degree,
        bridged_mm=BRIDGED_MM[degree],
        air_mm=air,
        surface_mm=surface,
    )


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Pairs:
    """Parts near each other: their numbers, groups between their potentials, gap and need."""

    a: NDArray[np.int64]
    b: NDArray[np.int64]
    step: NDArray[np.int64]
    gap_mm: NDArray[np.float64]
    required_mm: NDArray[np.float64]


def least_to_spare(
    a: Bare, b: Bare, required: RequiredSpacing, *, kind: Kind, face: Face, pitch_mm: float
) -> Spot | None:
    """The pair of a part of ``a`` and one of ``b`` with the least gap over its need.

    ``Kind.SURFACE`` takes the creepage distance along the plastic, every other kind the clearance
    through air: straight, so never longer than the real one. None where no two parts of different
    potential lie within some pitches of each other. ``a`` and ``b`` may be the same."""
    if not len(a.shapes) or not len(b.shapes):
        return None
    asked = required.surface_mm if kind is Kind.SURFACE else required.air_mm
    greatest = float(asked[np.isfinite(asked)].max())
    tree = shapely.STRtree(b.shapes)
    for reach in REACHES:
        within = greatest + reach * pitch_mm
        pairs = near_pairs(a, b, tree, required, asked, within, kind)
        if not len(pairs.a):
            continue
        margin = pairs.gap_mm - pairs.required_mm
        order = np.lexsort((pairs.b, pairs.a, -pairs.step, np.round(margin, 9)))
        k = int(order[0])
        if margin[k] <= within - greatest or reach == REACHES[-1]:
            # whatever lies beyond the reach has a larger margin
            return spot_of(a, b, pairs, k, required, kind=kind, face=face)
    return None


def near_pairs(
    a: Bare,
    b: Bare,
    tree: shapely.STRtree,
    required: RequiredSpacing,
    asked: NDArray[np.float64],
    within_mm: float,
    kind: Kind,
) -> Pairs:
    """All pairs whose gap in the plan is at most so much."""
    far = within_mm + float(a.radius_mm.max() + b.radius_mm.max())
    i, j = tree.query(a.shapes, predicate="dwithin", distance=far)
    step = np.abs(a.potential[i] - b.potential[j])
    for free, other in ((a.potential[i], b.potential[j]), (b.potential[j], a.potential[i])):
        # loose metal may touch the end of the pack that is the farthest away
        step = np.where(free == FLOATING, np.maximum(other, required.series - other), step)
    apart = (step > 0) & ((a.node[i] != b.node[j]) | (a.node[i] == ANYWHERE))
    if a is b:
        apart &= i < j
    i, j, step = i[apart], j[apart], step[apart]
    plan = shapely.distance(a.shapes[i], b.shapes[j]) - a.radius_mm[i] - b.radius_mm[j]
    above = np.maximum(a.low_mm[i] - b.high_mm[j], b.low_mm[j] - a.high_mm[i])
    gap = np.hypot(np.maximum(plan, 0.0), np.maximum(above, 0.0))
    if kind is Kind.SURFACE:
        # a joint between two tiles leads straight through: no sides to climb there
        one_tile = (a.tile[i] == b.tile[j]) & (a.tile[i] != ANYWHERE)
        gap += np.where(one_tile & (plan > 0), a.wall_mm[i] + b.wall_mm[j], 0.0)
    return Pairs(a=i, b=j, step=step, gap_mm=gap, required_mm=asked[step])


def spot_of(
    a: Bare, b: Bare, pairs: Pairs, k: int, required: RequiredSpacing, *, kind: Kind, face: Face
) -> Spot:
    """The spot of one pair."""
    i, j = int(pairs.a[k]), int(pairs.b[k])
    need = float(pairs.required_mm[k])
    shapes, ends = seen(a, i, b, j)
    return Spot(
        kind=kind,
        face=face,
        parts=(a.name(i), b.name(j)),
        volts=float(pairs.step[k]) * required.full_v,
        gap_mm=float(pairs.gap_mm[k]),
        need_mm=need if np.isfinite(need) else None,
        shapes=shapes,
        ends_mm=ends,
    )


def seen(
    a: Bare, i: int, b: Bare, j: int
) -> tuple[tuple[BaseGeometry, BaseGeometry], NDArray[np.float64]]:
    """Shapes of two parts at their worst, and where they are the nearest to each other."""
    first, second = (
        shapely.buffer(part.shapes[at], max(float(part.radius_mm[at]), 0.0), quad_segs=QUARTER)
        for part, at in ((a, i), (b, j))
    )
    return (first, second), shapely.get_coordinates(shapely.shortest_line(first, second))
