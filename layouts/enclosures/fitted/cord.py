"""The line along the upper holder's rim that silicone cord lies on, and lengths of it."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from layouts.enclosures.fitted.clamp_springs import CORD_MM
from layouts.holders.outline import Outline
from layouts.slabs.profile import Arc, Line, Loop, Point

__all__ = ["PLINTH_MM", "ClampCord", "RimPath", "rim_path"]

INSET_MM = 2.0  # from the holders' outline to the cord's middle line; judgement, no source
PLINTH_MM = 4.0  # wide: the cord and a line of a 0.4 nozzle on both sides; judgement, no source
STEP_MM = 0.25  # between the places that are looked at


@dataclass(frozen=True, kw_only=True, slots=True)
class ClampCord:
    """A length of cord: arcs that follow each other, counter-clockwise round the held cells.

    ``screw_mm``: axis of the lid screw that presses it down."""

    arcs: tuple[Arc, ...]
    screw_mm: Point

    @property
    def long_mm(self) -> float:
        """Its length."""
        return math.fsum(arc.radius_mm * abs(arc.sweep_rad) for arc in self.arcs)

    @property
    def line(self) -> shapely.LineString:
        """Its middle line in chords of a quarter millimetre."""
        points: list[Point] = []
        for arc in self.arcs:
            count = max(1, math.ceil(arc.radius_mm * abs(arc.sweep_rad) / STEP_MM))
            turns = np.linspace(0.0, arc.sweep_rad, count + 1)
            points += [arc.at(arc.start_rad + float(turn)) for turn in turns]
        return shapely.LineString(points)

    @property
    def middle_mm(self) -> Point:
        """The middle of its length."""
        at = self.line.interpolate(0.5, normalized=True)
        return float(at.x), float(at.y)

    @property
    def ends_mm(self) -> tuple[Point, Point]:
        """Both ends of its middle line."""
        return _start(self.arcs[0]), _end(self.arcs[-1])

    @property
    def cover(self) -> list[tuple[float, float, float]]:
        """Discs as wide as its plinth that cover it: x, y, radius."""
        line = self.line
        places = line.segmentize(PLINTH_MM / 4)
        return [(x, y, PLINTH_MM / 2) for x, y in shapely.get_coordinates(places).tolist()]

    def band(self, wide_mm: float) -> Loop:
        """A band of that width along it, with square ends, counter-clockwise."""
        half = wide_mm / 2
        right = [_beside(arc, half) for arc in self.arcs]
        left = [_reversed(_beside(arc, -half)) for arc in reversed(self.arcs)]
        first, last = (_end(right[-1]), _start(left[0])), (_end(left[-1]), _start(right[0]))
        return (*right, Line(*first), *left, Line(*last))


def _beside(arc: Arc, by_mm: float) -> Arc:
    """An arc moved to its right."""
    radius = arc.radius_mm + (by_mm if arc.sweep_rad > 0 else -by_mm)
    return Arc(arc.centre, radius, arc.start_rad, arc.sweep_rad)


def _reversed(arc: Arc) -> Arc:
    return Arc(arc.centre, arc.radius_mm, arc.start_rad + arc.sweep_rad, -arc.sweep_rad)


def _start(arc: Arc) -> Point:
    return arc.at(arc.start_rad)


def _end(arc: Arc) -> Point:
    return arc.at(arc.start_rad + arc.sweep_rad)


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class RimPath:
    """The whole line: arcs, and places along it.

    ``at_mm`` (n, 2); ``out`` (n, 2): unit, away from the held cells; ``along_mm`` (n,): from the
    line's beginning, ``round_mm``: its whole length."""

    arcs: tuple[Arc, ...]
    at_mm: NDArray[np.float64]
    out: NDArray[np.float64]
    along_mm: NDArray[np.float64]
    round_mm: float

    def between(self, low_mm: float, high_mm: float) -> tuple[Arc, ...]:
        """The arcs from one place to a later one, that may lie past the line's end."""
        found, at = [], 0.0
        for arc in (*self.arcs, *self.arcs):
            long = arc.radius_mm * abs(arc.sweep_rad)
            start, end = max(low_mm, at), min(high_mm, at + long)
            if end - start > 1e-9:
                share, begin = (end - start) / long, (start - at) / long
                found.append(
                    Arc(
                        arc.centre,
                        arc.radius_mm,
                        arc.start_rad + begin * arc.sweep_rad,
                        share * arc.sweep_rad,
                    )
                )
            at += long
        return tuple(found)


def rim_path(outline: Outline) -> RimPath:
    """The line inside an outline. Raises ValueError where a disc is smaller than the inset."""
    arcs = []
    for one in outline.arcs:
        radius = one.radius_mm - math.copysign(INSET_MM, one.sweep_rad)
        if radius <= CORD_MM / 2:
            raise ValueError(f"a disc of radius {one.radius_mm:g} mm has no rim for cord")
        arcs.append(Arc(one.centre_mm, radius, one.start_rad, one.sweep_rad))
    at, out, along, before = [], [], [], 0.0
    for arc in arcs:
        long = arc.radius_mm * abs(arc.sweep_rad)
        for k in range(max(1, math.ceil(long / STEP_MM))):
            by = min(k * STEP_MM, long)
            turn = arc.start_rad + math.copysign(by / arc.radius_mm, arc.sweep_rad)
            sign = math.copysign(1.0, arc.sweep_rad)
            at.append(arc.at(turn))
            out.append((sign * math.cos(turn), sign * math.sin(turn)))
            along.append(before + by)
        before += long
    return RimPath(
        arcs=tuple(arcs), at_mm=np.array(at), out=np.array(out), along_mm=np.array(along),
        round_mm=before,
    )  # fmt: skip
