"""Openings and pads of the enclosure: slots behind drip skirts, drains, clamping pads."""

from __future__ import annotations

import math

import numpy as np
import shapely

from layouts.brackets.kind import MountingPad
from layouts.enclosures.box.bosses import EMBED_MM
from layouts.enclosures.box.room import BayLayout
from layouts.enclosures.box.seams import LID_JOINT
from layouts.enclosures.box.shapes import boss_shape
from layouts.enclosures.box.sizes import Boss, Drain, DripSkirt, SeamDesign, Slot
from layouts.enclosures.laps import SEAM_GAP_MM, WALL_LAP_MM, two_lines_mm
from layouts.enclosures.support_pads import SupportPad
from layouts.pack import Side
from layouts.parts.shell import Rect, box, disc

# All of these are common practice, no source
SLOT_MM = 14.0  # widest
LEAST_SLOT_MM = 5.0
TOOTH_MM = 4.0  # wall left between slots
BESIDE_LAP_MM = 1.5  # wall left between a slot and a lap
SKIRT_MM = 2.0
BULGE_MM = 0.1  # a boss that stands farther out of the wall ends the drip skirt beside it
DRAIN_RADIUS_MM = 2.5  # radius
SKIRT_GAP_MM = 3.0


def bulge_mm(boss: Boss, side: int, cavity: Rect, wall_mm: float) -> float:
    """How far a boss stands out of the wall's outer face at that side."""
    face = cavity.x1 + wall_mm if side > 0 else cavity.x0 - wall_mm
    return side * (boss.x_mm - face) + boss.radius_mm


def slots_of(
    side: int,
    cavity: Rect,
    wall_mm: float,
    bosses: tuple[Boss, ...],
    pads: tuple[MountingPad, ...],
    tub_seams: SeamDesign,
    lid_seams: SeamDesign,
    *,
    nozzle_mm: float,
) -> list[Slot]:
    """Slots in what bosses, blocks of pads and seams leave of a wall's top edge."""
    inner = cavity.x1 if side > 0 else cavity.x0
    beside = max(BESIDE_LAP_MM, two_lines_mm(nozzle_mm) + SEAM_GAP_MM / 2)
    lap, skirt_end = WALL_LAP_MM + beside, SKIRT_MM + 2.5
    taken = [(cavity.y0, cavity.y0 + 1.0), (cavity.y1 - 1.0, cavity.y1)]
    taken += [(y - lap, y + lap) for y in tub_seams.y_mm]
    taken += [
        (
            y + LID_JOINT[0] - max(lid_seams.ahead_mm + SKIRT_MM, skirt_end),
            y + LID_JOINT[1] + skirt_end,
        )
        for y in lid_seams.y_mm
    ]
    taken += _before_blocks(pads, side, SKIRT_MM + 2.3)  # the drip skirt ends beside them
    for boss in bosses:
        half = 0.0
        if abs(boss.x_mm - inner) < boss.radius_mm + 0.5:
            half = boss.radius_mm + 1.5
            if bulge_mm(boss, side, cavity, wall_mm) > BULGE_MM:
                half = boss.radius_mm + SKIRT_MM + 2.3  # the drip skirt ends beside it
        elif boss.web is not None and (boss.web.x1 > inner if side > 0 else boss.web.x0 < inner):
            half = (boss.web.y1 - boss.web.y0) / 2 + 1.5
        if half:
            taken.append((boss.y_mm - half, boss.y_mm + half))
    slots = []
    at = cavity.y0
    for low, high in sorted(taken):
        free = low - at
        count = math.ceil((free + TOOTH_MM) / (SLOT_MM + TOOTH_MM)) if free > 0 else 0
        width = (free + TOOTH_MM) / count - TOOTH_MM if count else 0.0
        if width >= LEAST_SLOT_MM:
            slots += [
                Slot(side=side, y0_mm=y, y1_mm=y + width)
                for y in (at + k * (width + TOOTH_MM) for k in range(count))
            ]
        at = max(at, high)
    return slots


def skirts_of(
    side: int,
    outer: Rect,
    wall_mm: float,
    bosses: tuple[Boss, ...],
    pads: tuple[MountingPad, ...],
    slots: tuple[Slot, ...],
    lid_seams: SeamDesign,
) -> list[DripSkirt]:
    """Drip skirts before all slots of a side, interrupted by boss ribs, blocks of pads and joining
    flanges."""
    cavity = outer.grown(-wall_mm)
    stops = [(-math.inf, outer.y0 + wall_mm + EMBED_MM), (outer.y1 - wall_mm - EMBED_MM, math.inf)]
    stops += _before_blocks(pads, side, 0.8)
    for boss in bosses:
        if bulge_mm(boss, side, cavity, wall_mm) > BULGE_MM:
            half = boss.radius_mm + 0.8
            stops.append((boss.y_mm - half, boss.y_mm + half))
    # the joining flanges' screws are put in there
    before = LID_JOINT[0] - max(lid_seams.ahead_mm, 1.0)
    stops += [(y + before, y + LID_JOINT[1] + 1.0) for y in lid_seams.y_mm]
    skirts = []
    at = -math.inf
    for low, high in sorted(stops):
        here = [s for s in slots if s.side == side and at < s.y0_mm and s.y1_mm < low]
        if here:
            first, last = min(s.y0_mm for s in here), max(s.y1_mm for s in here)
            skirts.append(
                DripSkirt(side=side, y0_mm=max(at, first - 6.0), y1_mm=min(low, last + 6.0))
            )
        at = max(at, high)
    return skirts


def _before_blocks(
    pads: tuple[MountingPad, ...], side: int, beside_mm: float
) -> list[tuple[float, float]]:
    """Stretches of a side's wall that blocks of pads take, and so much beside them."""
    here = Side.PLUS_X if side > 0 else Side.MINUS_X
    return [
        (pad.along_mm - pad.block_mm / 2 - beside_mm, pad.along_mm + pad.block_mm / 2 + beside_mm)
        for pad in pads
        if pad.side is here and pad.block_mm
    ]


def drains_of(
    cavity: Rect, layout: BayLayout, support_pads: tuple[SupportPad, ...]
) -> tuple[Drain, ...]:
    """One near each corner of cell block and compartment, clear of bosses, pads and rests."""
    taken = shapely.union_all(
        [
            *(boss_shape(b) for b in layout.bosses),
            *(disc(p.x_mm, p.y_mm, p.radius_mm) for p in support_pads),
            *(box(r) for r in (*layout.bay.rests, *layout.bay.guides)),
            *(box(r) for post in layout.tie_posts for r in post.rects),
        ]
    )
    corners = [(x, y) for x in (cavity.x0, cavity.x1) for y in (cavity.y0, cavity.y1)]
    towards = cavity.centre_mm
    drains = []
    for x, y in corners:
        dx, dy = math.copysign(1.0, towards[0] - x), math.copysign(1.0, towards[1] - y)
        places = [
            (x + dx * a, y + dy * b)
            for a in np.arange(DRAIN_RADIUS_MM + 1.5, 24.0, 1.0)
            for b in np.arange(DRAIN_RADIUS_MM + 1.5, 24.0, 1.0)
        ]
        free = shapely.distance(taken, shapely.points(places)) > DRAIN_RADIUS_MM + 1.0
        clear = [place for place, is_free in zip(places, free, strict=True) if is_free]
        if clear:
            px, py = min(clear, key=lambda p: (math.dist(p, (x, y)), p))
            drains.append(Drain(x_mm=float(px), y_mm=float(py), radius_mm=DRAIN_RADIUS_MM))
    return tuple(drains)
