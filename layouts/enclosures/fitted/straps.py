"""Straps across seams: where they lie, how thick they are, their screws, nuts and pockets."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from layouts.enclosures.fitted.splice_load import ROW_MM
from layouts.enclosures.fitted.splices import BedSeam, Strap, StrapScrew, strip_of
from layouts.formats import low_heads, screws
from layouts.parts.fasteners import USUAL_LENGTHS_MM
from layouts.parts.shell import Rect

__all__ = [
    "HALF_WIDE_MM", "RECESS_PLAY_MM", "STRAP_SCREW", "StrapKit", "StrapSite", "least_thick_mm",
    "strap_kit", "straps_at",
]  # fmt: skip

# All judgement, no source
STRAP_SCREW = "M3"
HALF_WIDE_MM = 16.0  # of a strap, to each side of its seam
PITCH_MM = 40.0  # between two screws of a row
UNDER_HEAD_MM = 1.0  # of strap under a screw's head, at least
RECESS_PLAY_MM = 0.3  # of a head in its recess, on the radius
TIP_MOST_MM = 2.6  # screw or nut over floor or lid: the gap for gas and its sheet stay over it
HELD_MM = 0.6  # a pocket so deep keeps its nut from turning
UNDER_NUT_MM = 1.8  # of floor or lid under a nut in its pocket
NUT_FREE_MM = 4.2  # from a nut's axis to what stands on floor or lid: half its corners, and a line
END_MM = 5.0  # from a strap's end to its outermost screws
EDGE_MM = 0.8  # of a strap, inside the outline
BESIDE_MM = 1.0  # between a strap and what it must not cover
LEAST_LONG_MM = 25.0  # a shorter strap holds nothing
APART_MM = 12.0  # two screws nearer than this are one too many
STEP_MM = 0.5  # of the places tried for a nut
FLOAT_MM = 1e-6


@dataclass(frozen=True, kw_only=True, slots=True)
class StrapKit:
    """Thickness of a strap, plastic under its screws' heads, their length, depth of the nuts'
    pockets in floor or lid."""

    thick_mm: float
    under_head_mm: float
    screw_long_mm: float
    nut_deep_mm: float


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class StrapSite:
    """``lies``: what a strap may cover in the plan; ``nuts``: where a nut's axis may be."""

    lies: BaseGeometry
    nuts: BaseGeometry

    @classmethod
    def of(
        cls, outline: BaseGeometry, off_strap: BaseGeometry, inside: BaseGeometry,
        off_nuts: BaseGeometry,
    ) -> StrapSite:  # fmt: skip
        """Within ``outline`` and off ``off_strap``; nuts ``inside`` and off ``off_nuts``."""
        lies = outline.buffer(-EDGE_MM).difference(off_strap.buffer(BESIDE_MM))
        nuts = inside.buffer(-NUT_FREE_MM).difference(off_nuts.buffer(NUT_FREE_MM))
        for shape in (lies, nuts):
            shapely.prepare(shape)
        return cls(lies=lies, nuts=nuts)


def least_thick_mm(layer_mm: float) -> float:
    """The thinnest strap: its heads lie in it, whole layers."""
    head = low_heads()[STRAP_SCREW].head_high_mm
    return math.ceil((UNDER_HEAD_MM + head) / layer_mm - FLOAT_MM) * layer_mm


def strap_kit(plate_mm: float, need_mm: float, most_mm: float, layer_mm: float) -> StrapKit | None:
    """The thinnest strap of whole layers that is as thick as needed and whose screws suit a floor
    or lid ``plate_mm`` thick; None where none is up to ``most_mm``."""
    head, nut = low_heads()[STRAP_SCREW].head_high_mm, screws()[STRAP_SCREW].nut_high_mm
    layers = math.ceil(max(need_mm, least_thick_mm(layer_mm)) / layer_mm - FLOAT_MM)
    while layers * layer_mm <= most_mm + FLOAT_MM:
        thick = round(layers * layer_mm, 6)
        found = []
        under = math.ceil(UNDER_HEAD_MM / layer_mm - FLOAT_MM)
        while under * layer_mm <= thick - head + FLOAT_MM:
            for long in USUAL_LENGTHS_MM:
                out = long - under * layer_mm - plate_mm
                deep = max(0.0, nut - out)
                if out <= TIP_MOST_MM and deep <= plate_mm - UNDER_NUT_MM and out > 0.0:
                    found.append((deep < HELD_MM, deep, under, long))
            under += 1
        if found:
            _, deep, under, long = min(found)
            return StrapKit(
                thick_mm=thick, under_head_mm=round(under * layer_mm, 6),
                screw_long_mm=float(long), nut_deep_mm=round(deep, 6),
            )  # fmt: skip
        layers += 1
    return None


def straps_at(
    seam: BedSeam, site: StrapSite, kit: StrapKit, taken: Sequence[Strap] = ()
) -> tuple[Strap, ...]:
    """Straps along all of a seam that something may cover, with their screws; none where nothing
    holds. ``taken``: straps of other seams."""
    u, axis = seam.at_mm, seam.axis
    low, high = u - HALF_WIDE_MM, u + HALF_WIDE_MM
    lies = site.lies.difference(
        shapely.union_all([shapely.box(*one.plan.grown(BESIDE_MM).bounds) for one in taken])
    )
    x0, y0, x1, y1 = lies.bounds
    ends = (y0, y1) if axis == 0 else (x0, x1)
    strip = strip_of(axis, low, high).intersection(
        shapely.box(x0 - 1.0, y0 - 1.0, x1 + 1.0, y1 + 1.0)
    )
    found = []
    for a, b in _free(strip.difference(lies), 1 - axis, ends):
        if b - a < LEAST_LONG_MM:
            continue
        rows = {
            behind: _row(site, seam, u + (ROW_MM if behind else -ROW_MM), a + END_MM, b - END_MM)
            for behind in (False, True)
        }
        if not all(rows.values()):
            continue
        across = (low, high)
        plan = (
            Rect(x0=across[0], x1=across[1], y0=a, y1=b)
            if axis == 0
            else Rect(x0=a, x1=b, y0=across[0], y1=across[1])
        )
        screws_ = tuple(
            StrapScrew(x_mm=x, y_mm=y, behind=behind)
            for behind, row in rows.items()
            for x, y in row
        )
        found.append(
            Strap(
                seam=seam, plan=plan, thick_mm=kit.thick_mm, under_head_mm=kit.under_head_mm,
                screw_long_mm=kit.screw_long_mm, nut_deep_mm=kit.nut_deep_mm, screws=screws_,
            )
        )  # fmt: skip
    return tuple(found)


def _free(blocked: BaseGeometry, axis: int, ends: tuple[float, float]) -> list[tuple[float, float]]:
    """Stretches along an axis that nothing of a shape lies over."""
    spans = sorted(
        (part.bounds[axis], part.bounds[axis + 2])
        for part in shapely.get_parts(blocked)
        if part.area > FLOAT_MM
    )
    free, at = [], ends[0]
    for low, high in spans:
        if low > at:
            free.append((at, low))
        at = max(at, high)
    if ends[1] > at:
        free.append((at, ends[1]))
    return free


def _row(
    site: StrapSite, seam: BedSeam, u: float, low: float, high: float
) -> list[tuple[float, float]]:
    """Screws of a row, evenly at most a pitch apart where nuts find room; fewer than two: none."""
    along = np.arange(low, high + FLOAT_MM, STEP_MM)
    xy = np.column_stack([np.full(len(along), u), along] if seam.axis == 0 else
                         [along, np.full(len(along), u)])  # fmt: skip
    free = shapely.contains(site.nuts, shapely.points(xy))
    along, xy = along[free], xy[free]
    if len(along) < 2 or along[-1] - along[0] < APART_MM:
        return []
    best: list[int] = []
    fewest = math.ceil((along[-1] - along[0]) / PITCH_MM - FLOAT_MM) + 1
    for count in range(max(2, fewest), fewest + 5):
        wanted = np.linspace(along[0], along[-1], count)
        taken = [int(np.argmin(np.abs(along - v))) for v in wanted]
        kept = [taken[0]]
        for k in taken[1:]:
            if along[k] - along[kept[-1]] >= APART_MM:
                kept.append(k)
        if not best or _widest(along[kept]) < _widest(along[best]) - STEP_MM:
            best = kept
        if _widest(along[best]) <= PITCH_MM + STEP_MM:
            break
    return [(x, y) for x, y in xy[best].tolist()]


def _widest(along: np.ndarray) -> float:
    return float(np.diff(along).max()) if len(along) > 1 else math.inf
