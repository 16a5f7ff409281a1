"""Walls, or gaps, of all layers of one part: thickness along the rims, and strips below a limit."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from layouts.printable.tested_layers import (
    LayerRun,
    measured_runs,
    opened_above,
    with_gap_layers,
    with_wall_layers,
)
from layouts.printable.thickness import (
    NarrowStrip,
    RimThickness,
    SeenEdges,
    narrow_strips,
    rim_thickness,
)
from layouts.printing.sections import LayerStack

__all__ = ["Narrow", "ThicknessMap", "measured_gaps", "measured_walls"]

NEAR_MM = 0.05  # points so near to a strip belong to it
SAME_PLACE_MM = 1.0  # strips of several layers so near to each other in plan are one place
WALL_TOP_MM = 6.0  # thicker walls are not told apart
WEDGE = 0.25  # narrow to broad: below, it runs out to nothing
TIP_MM = 4.0  # of a wedge of 12 degrees and more, which is lost; judged
GAP_TOP_MM = 1.0  # nor are wider gaps


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class ThicknessMap:
    """Points (n, 2) [mm] at rims of all layers, the thickness there (n,) [mm], the layer's number
    (n,). Corners are left out."""

    points_mm: NDArray[np.float64]
    thickness_mm: NDArray[np.float64]
    layers: NDArray[np.int64]

    @property
    def least_mm(self) -> float | None:
        """The least thickness; None: there is nothing that thin to measure."""
        return float(self.thickness_mm.min()) if len(self.thickness_mm) else None


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Narrow:
    """A strip narrower than a limit; ``section``: what it was measured on, at a layer."""

    section: BaseGeometry
    layer: int
    strip: NarrowStrip


def measured_walls(stack: LayerStack, limit_mm: float) -> tuple[ThicknessMap, tuple[Narrow, ...]]:
    """Thickness of all walls up to 6 mm; those below a limit, each place once."""
    return _measured(stack, limit_mm, with_wall_layers, of_air=False, top_mm=WALL_TOP_MM)


def measured_gaps(stack: LayerStack, limit_mm: float) -> tuple[ThicknessMap, tuple[Narrow, ...]]:
    """Width of all gaps up to 1 mm; those below a limit, each place once."""
    return _measured(stack, limit_mm, with_gap_layers, of_air=True, top_mm=GAP_TOP_MM)


def _measured(
    stack: LayerStack,
    limit_mm: float,
    with_layers: Callable[[LayerStack, LayerRun], BaseGeometry],
    *,
    of_air: bool,
    top_mm: float,
) -> tuple[ThicknessMap, tuple[Narrow, ...]]:
    """Edges that come again are measured once. What is thinner than anything before is measured
    again with the layers that make an edge of it."""
    seen, least = SeenEdges(), top_mm
    rims: list[tuple[RimThickness, int]] = []
    found: list[Narrow] = []
    for run in measured_runs(stack):
        section = stack.sections[run.section]
        there = rim_thickness(section, of_air=of_air, seen=seen, top_mm=top_mm)
        if (there.thickness_mm < max(limit_mm, least)).any():
            together = with_layers(stack, run)
            if together is not section:
                section = together
                seen.forget_last()  # what is an edge here may be a wall higher up
                there = rim_thickness(section, of_air=of_air, top_mm=top_mm)
            strips: list[NarrowStrip] = []
            if (there.thickness_mm < limit_mm).any():
                strips = [
                    one
                    for one in narrow_strips(section, limit_mm, of_air=of_air)
                    if _counts(one, of_air=of_air)
                    and not (of_air and opened_above(stack, run, one.region, limit_mm))
                ]
            there = _without_short(there, strips, limit_mm)
            least = min([least, *there.thickness_mm.tolist()])
            found += [Narrow(section=section, layer=run.middle, strip=one) for one in strips]
        rims.append((there, run.middle))
    return _joined(rims), _each_place_once(found)


def _counts(strip: NarrowStrip, *, of_air: bool) -> bool:
    """Lines fill the end of a notch, and leave out the tip of a wedge, which no one misses where
    it is short."""
    if strip.narrow_to_broad >= WEDGE:
        return True
    return not of_air and strip.long_mm > TIP_MM


def _without_short(
    rims: RimThickness, strips: Iterable[NarrowStrip], limit_mm: float
) -> RimThickness:
    """What is below the limit but too short for a strip is neither a wall nor a gap."""
    near = shapely.buffer(shapely.union_all([one.region for one in strips]), NEAR_MM)
    shapely.prepare(near)
    kept = (rims.thickness_mm >= limit_mm) | shapely.contains_xy(near, *rims.points_mm.T)
    return rims.of(kept)


def _joined(rims: list[tuple[RimThickness, int]]) -> ThicknessMap:
    return ThicknessMap(
        points_mm=np.concatenate([np.empty((0, 2)), *(one.points_mm for one, _ in rims)]),
        thickness_mm=np.concatenate([np.empty(0), *(one.thickness_mm for one, _ in rims)]),
        layers=np.repeat(
            np.array([layer for _, layer in rims], np.int64),
            [len(one.thickness_mm) for one, _ in rims],
        ),
    )


def _each_place_once(found: list[Narrow]) -> tuple[Narrow, ...]:
    """Of strips over each other the narrowest."""
    kept: list[Narrow] = []
    for one in sorted(found, key=lambda each: each.strip.width_mm):
        region = one.strip.region
        if all(shapely.distance(region, other.strip.region) > SAME_PLACE_MM for other in kept):
            kept.append(one)
    return tuple(kept)
