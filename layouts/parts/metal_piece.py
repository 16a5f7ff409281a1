"""Pieces of sheet metal as they are cut: outline, holes and bend lines of the flat pattern.

A shop cuts what is on the drawing and bends it along the marked lines; nothing of it is printed.
All loops are lines and true arcs in millimetres, seen on the face that bends towards the viewer.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from layouts.slabs.profile import (
    Arc,
    Line,
    Loop,
    Point,
    loop_area_mm2,
    segment_end,
    segment_start,
)

METAL = "metal"  # folder of a result that its files go into

__all__ = ["METAL", "Bend", "MetalPiece", "flat_length_mm", "offset_loop"]


@dataclass(frozen=True, kw_only=True, slots=True)
class Bend:
    """A bend along the line from ``start`` to ``end`` of the flat pattern, towards the viewer.

    ``k_factor``: from the inside face to the line that keeps its length, over the thickness."""

    start: Point
    end: Point
    angle_deg: float
    inside_radius_mm: float
    k_factor: float

    def allowance_mm(self, thickness_mm: float) -> float:
        """Length of sheet that goes into the bend: a (r + K t), a the angle in radians [mm]."""
        neutral = self.inside_radius_mm + self.k_factor * thickness_mm
        return math.radians(self.angle_deg) * neutral


@dataclass(frozen=True, kw_only=True, slots=True)
class MetalPiece:
    """Equal pieces of one metal.

    ``outline``: counter-clockwise, ``holes`` likewise. ``kerf_mm``: outline and holes are written
    so much wider and narrower that a cut of this width leaves the size that is meant; 0: true size.
    ``legs_mm``: outside lengths of a bent piece, from its first edge; none of a flat one.
    ``hole_words``: size of each hole and what it is for; ``field``: section of the
    pack file that its sizes come from."""

    name: str
    title: str
    count: int
    metal: str
    thickness_mm: float
    density_g_cm3: float
    outline: Loop
    holes: tuple[Loop, ...]
    hole_words: tuple[str, ...]
    field: str
    corner_mm: float
    bends: tuple[Bend, ...] = ()
    legs_mm: tuple[float, ...] = ()
    kerf_mm: float = 0.0

    @property
    def area_mm2(self) -> float:
        """Of the sheet, holes taken off."""
        return loop_area_mm2(self.outline) - math.fsum(loop_area_mm2(one) for one in self.holes)

    @property
    def size_mm(self) -> tuple[float, float]:
        """Length and width of the flat pattern."""
        ends = [end for one in self.outline for end in (segment_start(one), segment_end(one))]
        x, y = zip(*ends, strict=True)
        return max(x) - min(x), max(y) - min(y)

    @property
    def mass_g(self) -> float:
        """Of one piece, by the flat pattern."""
        return self.area_mm2 * self.thickness_mm / 1000.0 * self.density_g_cm3

    @property
    def cut(self) -> tuple[Loop, ...]:
        """Outline, then holes, as the machine's beam or tool follows them."""
        half = self.kerf_mm / 2.0
        return (
            offset_loop(self.outline, half),
            *(offset_loop(hole, -half) for hole in self.holes),
        )


def flat_length_mm(
    legs_mm: tuple[float, ...],
    *,
    thickness_mm: float,
    inside_radius_mm: float,
    k_factor: float,
    angle_deg: float = 90.0,
) -> float:
    """Length of a strip before it is bent, from the outside lengths of its legs [mm].

    Sum of the legs - n (2 (r + t) tan(a/2) - a (r + K t)), n bends of angle a between the legs, r
    the inside radius: what the neutral line measures."""
    angle = math.radians(angle_deg)
    setback = 2.0 * (inside_radius_mm + thickness_mm) * math.tan(angle / 2.0)
    allowance = angle * (inside_radius_mm + k_factor * thickness_mm)
    return math.fsum(legs_mm) - (len(legs_mm) - 1) * (setback - allowance)


def offset_loop(loop: Loop, out_mm: float) -> Loop:
    """A counter-clockwise loop without sharp corners, so much larger on all sides; below 0 smaller.

    Raises ValueError where an arc would vanish."""
    if out_mm == 0.0:
        return loop
    made: list[Line | Arc] = []
    for one in loop:
        if isinstance(one, Arc):
            radius = one.radius_mm + math.copysign(out_mm, out_mm * one.sweep_rad)
            if radius <= 0.0:
                raise ValueError(f"an arc of {one.radius_mm:g} mm vanishes in a kerf")
            made.append(Arc(one.centre, radius, one.start_rad, one.sweep_rad))
            continue
        (x0, y0), (x1, y1) = one.start, one.end
        long = math.hypot(x1 - x0, y1 - y0)
        dx, dy = (y1 - y0) / long * out_mm, (x0 - x1) / long * out_mm
        made.append(Line((x0 + dx, y0 + dy), (x1 + dx, y1 + dy)))
    return tuple(made)
