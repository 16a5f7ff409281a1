"""Lid-screw bosses as discs: upright under the rim, below it leaning into the wall.

A boss that stands out of the wall would need support beneath it. Instead its disc moves towards the
wall, step by step at 45 degrees, until nothing of it stands out any more. Outside the wall, in a
hollow or as a rib, it is cut off at the wall's inner face; in a dry room's corner at the outer one.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import shapely
from shapely.geometry.base import BaseGeometry

from layouts.enclosures.fitted.lid_screws import LidScrew
from layouts.enclosures.fitted.loops import loop_polygon
from layouts.enclosures.fitted.shell import ShellPlan
from layouts.enclosures.printed import FIELD
from layouts.errors import PlanError
from layouts.slabs.profile import Loop, circle

__all__ = ["LEAN_STEP_MM", "LeaningBoss", "leaning_bosses", "leaning_discs"]

LEAN_STEP_MM = 0.4  # two layers; the disc moves by as much, a line of a 0.4 nozzle, at most
SCAN_MM = 0.3  # a boss's way into the wall is looked for in steps of this
GONE_MM2 = 0.01  # of a disc outside the wall: less is no line of plastic
EXACT_MM = 1e-4
FAR_MM = 30.0  # no wall farther from a boss holds it


@dataclass(frozen=True, kw_only=True, slots=True)
class LeaningBoss:
    """A boss and its way into the wall.

    ``inside``: it stands in the cavity, else outside the wall. ``way``: unit, towards the wall.
    ``gone_mm``: how far its disc moves until nothing of it stands out of the wall."""

    screw: LidScrew
    inside: bool
    way: tuple[float, float]
    gone_mm: float

    @property
    def steps(self) -> int:
        """Discs below the upright part, at least: the last but one is the last that is there."""
        return math.ceil(self.gone_mm / LEAN_STEP_MM)

    def disc(self, step: int) -> Loop:
        """Its disc at a step below the upright part, which is step 0."""
        by = self.gone_mm * step / self.steps if step else 0.0
        (x, y), (u, v) = self.screw.at_mm, self.way
        return circle((x + by * u, y + by * v), self.screw.radius_mm)


def leaning_bosses(shell: ShellPlan) -> tuple[LeaningBoss, ...]:
    """All of a shell's bosses. Raises PlanError where one finds no wall to lean into."""
    inner, outer = loop_polygon(shell.inner.loop), loop_polygon(shell.outer)
    shapely.prepare(inner)
    return tuple(_leaning(screw, inner, outer) for screw in shell.screws)


def _leaning(screw: LidScrew, inner: shapely.Polygon, outer: shapely.Polygon) -> LeaningBoss:
    x, y = screw.at_mm
    inside = bool(inner.contains(shapely.Point(x, y)))
    u, v = screw.foot_mm[0] - x, screw.foot_mm[1] - y
    length = math.hypot(u, v)
    way = (u / length, v / length)
    near = shapely.Point(x, y).buffer(FAR_MM + screw.radius_mm)
    inner, outer = inner.intersection(near), outer.intersection(near)

    def stands_out(by_mm: float) -> bool:
        disc = shapely.Point(x + by_mm * way[0], y + by_mm * way[1]).buffer(
            screw.radius_mm, quad_segs=32
        )
        out: BaseGeometry = disc.intersection(inner) if inside else disc.difference(outer)
        return bool(out.area > GONE_MM2)

    high = 0.0
    while stands_out(high):
        high += SCAN_MM
        if high > FAR_MM:
            raise PlanError(
                field=FIELD,
                why=f"leaves the lid screw's boss at ({x:.1f}, {y:.1f}) no wall to lean into",
                remedy="let another side of the space be wider, or change the wall a little",
            )
    low = max(0.0, high - SCAN_MM)
    while high - low > EXACT_MM:
        middle = (low + high) / 2
        low, high = (middle, high) if stands_out(middle) else (low, middle)
    return LeaningBoss(screw=screw, inside=inside, way=way, gone_mm=high)


def leaning_discs(bosses: Sequence[LeaningBoss]) -> list[list[Loop]]:
    """For each step, from the upright part (step 0) down, the discs that are there."""
    most = max((boss.steps for boss in bosses), default=0)
    found = [[boss.disc(0) for boss in bosses]]
    found += [[boss.disc(k) for boss in bosses if k < boss.steps] for k in range(1, most)]
    return [discs for discs in found if discs]
