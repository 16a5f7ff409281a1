"""Volumes of the fitted tub and lid from their sizes alone.

Green's theorem gives the areas within walls and lips, exact. What stands out from them, or inside,
is added as fine polygons whose area is that of their arcs: an overlap errs by up to 1e-4 mm along
its rim, so volumes agree to 1e-6, not to rounding."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from layouts.enclosures.fitted.bosses import LEAN_STEP_MM, LeaningBoss, leaning_bosses
from layouts.enclosures.fitted.clamp_springs import DISC_MM
from layouts.enclosures.fitted.cord import PLINTH_MM
from layouts.enclosures.fitted.gasket import slope_steps
from layouts.enclosures.fitted.lid import lip_gaps
from layouts.enclosures.fitted.lid_screws import BOSS_HIGH_MM, FORMING_DEEP_MM
from layouts.enclosures.fitted.pad_blocks import block_gaps, pad_block
from layouts.enclosures.fitted.shell import LIP_DEEP_MM, SLOT_DEEP_MM
from layouts.enclosures.fitted.sizes import FittedSizes
from layouts.enclosures.fitted.stubs import notch_stubs, partition_stubs, slot_stubs
from layouts.enclosures.fitted.tub import PARTITION_UNDER_MM
from layouts.enclosures.pad_walls import BLOCK_UNDER_MM
from layouts.parts.shell import Rect
from layouts.slabs.profile import Arc, Loop, circle, loop_area_mm2, segment_start

STEP_RAD = 0.01
SLIVER_MM2 = 0.02  # arcs that two loops share are cut into different chords


def fine(loop: Loop) -> shapely.Polygon:
    """A polygon round a loop, its chords moved out until they enclose what the arcs do."""
    points = []
    for segment in loop:
        points.append(segment_start(segment))
        if isinstance(segment, Arc):
            count = max(2, math.ceil(abs(segment.sweep_rad) / STEP_RAD))
            step = segment.sweep_rad / count
            radius = segment.radius_mm * math.sqrt(step / math.sin(step))
            x, y = segment.centre
            for k in range(1, count):
                at = segment.start_rad + k * step
                points.append((x + radius * math.cos(at), y + radius * math.sin(at)))
    return shapely.Polygon(np.array(points))


def rect_shape(rect: Rect) -> shapely.Polygon:
    """A rectangle as a shape."""
    return shapely.box(rect.x0, rect.y0, rect.x1, rect.y1)


def without_slivers(shape: BaseGeometry) -> BaseGeometry:
    """Only the parts that are no difference of chords."""
    return shapely.union_all([p for p in shapely.get_parts(shape) if p.area > SLIVER_MM2])


def discs_at(
    bosses: Sequence[LeaningBoss], under_rim_mm: float, *, solid: bool = False
) -> list[shapely.Polygon]:
    """Discs of those bosses that are there so far under the rim; ``solid``: those of all lower
    steps too."""
    step = max(0, math.ceil((under_rim_mm - BOSS_HIGH_MM) / LEAN_STEP_MM))
    return [
        fine(boss.disc(k))
        for boss in bosses
        for k in (range(step, max(boss.steps, 1)) if solid else (step,))
        if k == 0 or k < boss.steps
    ]


def flange_at(sizes: FittedSizes, z_mm: float) -> list[BaseGeometry]:
    """Flange, slope beneath it and the vent's block at a height; none in the open form."""
    flange, rim = sizes.shell.flange, sizes.shell.levels.rim_mm
    if flange is None:
        return []
    edge = fine(flange.edge)
    if z_mm > rim - flange.groove.thick_mm:
        return [edge]
    found = [
        fine(loop).intersection(edge) for loop, z0, z1 in slope_steps(flange, rim) if z0 < z_mm < z1
    ]
    return [*found, *([] if sizes.vent is None else [rect_shape(sizes.vent.block)])]


def sealed_cut(sizes: FittedSizes, z_mm: float) -> BaseGeometry:
    """The cord's groove, or the vent's opening, at a height."""
    flange, rim = sizes.shell.flange, sizes.shell.levels.rim_mm
    if flange is None:
        return shapely.Polygon()
    cut = []
    if z_mm > rim - flange.groove.deep_mm:
        cut.append(fine(flange.groove_outer).difference(fine(flange.groove_inner)))
    if sizes.vent is not None and sizes.vent.z0_mm < z_mm < sizes.vent.z1_mm:
        cut.append(rect_shape(sizes.vent.opening))
    return shapely.union_all(cut)


def tub_formula_mm3(sizes: FittedSizes) -> float:
    """Volume of the finished tub, its bores taken off [mm3]."""
    shell, levels = sizes.shell, sizes.shell.levels
    floor, rim = levels.floor_mm, levels.rim_mm
    walls = loop_area_mm2(shell.outer) - loop_area_mm2(shell.inner.loop)
    total = loop_area_mm2(shell.outer) * (floor - levels.under_mm) + walls * (rim - floor)
    outer, inner = fine(shell.outer), fine(shell.inner.loop)
    band = without_slivers(fine(shell.partition).intersection(inner).difference(fine(shell.cells)))
    cut = [rect_shape(rect) for rect in (*sizes.openings, *partition_stubs(sizes))]
    band = band.difference(shapely.union_all(cut))
    bosses, stubs = leaning_bosses(shell), notch_stubs(sizes)
    stops = _stops(sizes, most=max(boss.steps for boss in bosses))
    for low, top in zip(stops, stops[1:], strict=False):
        z = (low + top) / 2
        solid = shell.flange is not None
        outside = discs_at([b for b in bosses if not b.inside], rim - z, solid=solid)
        outside += flange_at(sizes, z)
        outside += [
            rect_shape(pad_block(sizes, p)) for p in sizes.pads if z < p.underside_mm + p.high_mm
        ]
        outside += _blocks(sizes, z)
        area = shapely.union_all(outside).difference(outer).area
        whole = shapely.union_all([outer, *outside]).difference(inner)
        area -= whole.intersection(sealed_cut(sizes, z)).area
        if z > floor:
            corner = discs_at([b for b in bosses if b.inside], rim - z)
            area += _inside_mm2(sizes, z, band, stubs, corner, inner)
        if z > rim - SLOT_DEEP_MM:
            cuts = [shapely.Polygon(slot.corners_mm) for slot in sizes.slots]
            slots = shapely.union_all([*cuts, *map(rect_shape, slot_stubs(sizes))])
            area -= (
                slots.intersection(outer)
                .difference(inner)
                .difference(shapely.union_all(outside))
                .area
            )
        total += area * (top - low)
    return total - _round_mm3(sizes)


def _blocks(sizes: FittedSizes, z: float) -> list[BaseGeometry]:
    """Blocks above mounting pads at a height."""
    if z > sizes.shell.levels.rim_mm - BLOCK_UNDER_MM:
        return []
    return [
        rect_shape(pad_block(sizes, pad, pad.block_mm))
        for pad in sizes.pads
        if pad.block_mm > sizes.pad_width_mm
        or (pad.block_mm and z > pad.underside_mm + pad.high_mm)
    ]


def _stops(sizes: FittedSizes, most: int) -> list[float]:
    """Heights at which something begins or ends, in pack coordinates."""
    levels = sizes.shell.levels
    foot = levels.rim_mm - BOSS_HIGH_MM
    stops = {levels.under_mm, levels.floor_mm, levels.rim_mm, levels.rim_mm - PARTITION_UNDER_MM}
    stops |= {levels.rim_mm - SLOT_DEEP_MM, *(foot - k * LEAN_STEP_MM for k in range(most + 1))}
    stops |= {levels.floor_mm + sizes.support_pad_floor_mm, sizes.board.z0_mm}
    stops |= {sizes.stop_z1_mm} if sizes.stops else set()
    stops |= {sizes.board.guide_z1_mm, sizes.fuse.wall_z1_mm}
    stops |= {lug.z1_mm for lug in sizes.tie_lugs} | {notch.z0_mm for notch in sizes.notches}
    stops |= {pad.underside_mm + pad.high_mm for pad in sizes.pads}
    stops |= {levels.rim_mm - BLOCK_UNDER_MM}
    if sizes.shell.flange is not None:
        groove = sizes.shell.flange.groove
        stops |= {levels.rim_mm - groove.thick_mm, levels.rim_mm - groove.deep_mm}
        steps = slope_steps(sizes.shell.flange, levels.rim_mm)
        stops |= {z for _, z0, z1 in steps for z in (z0, z1)}
    if sizes.vent is not None:
        stops |= {sizes.vent.z0_mm, sizes.vent.z1_mm}
    return sorted(stops)


def _inside_mm2(
    sizes: FittedSizes,
    z: float,
    band: BaseGeometry,
    stubs: tuple[float, tuple[Rect, ...]],
    corner: list[shapely.Polygon],
    inner: shapely.Polygon,
) -> float:
    """Area of all that stands within the walls at a height, round holes not taken off.

    ``band``: the partition in the plan; ``stubs``: of it beside notches; ``corner``: discs of
    bosses in corners."""
    levels, shapes = sizes.shell.levels, []
    if z < levels.rim_mm - PARTITION_UNDER_MM:
        notches = [rect_shape(n.rect) for n in sizes.notches if z > n.z0_mm]
        notches += [rect_shape(rect) for rect in stubs[1] if z > stubs[0]]
        shapes.append(band.difference(shapely.union_all(notches)))
    if corner:
        shapes.append(shapely.union_all(corner).difference(fine(sizes.shell.cells)))
    if z < levels.floor_mm + sizes.support_pad_floor_mm:
        shapes += [fine(circle((p.x_mm, p.y_mm), p.radius_mm)) for p in sizes.support_pads_floor]
    standing: list[tuple[Iterable[Rect], float]] = [
        (sizes.stops, sizes.stop_z1_mm),
        (sizes.board.rests, sizes.board.z0_mm),
        (sizes.board.guides, sizes.board.guide_z1_mm),
        (sizes.fuse.walls, sizes.fuse.wall_z1_mm),
        *(([lug.block], lug.z1_mm) for lug in sizes.tie_lugs),
    ]
    shapes += [rect_shape(rect) for rects, z1 in standing if z < z1 for rect in rects]
    return float(shapely.union_all(shapes).intersection(inner).area)


def _round_mm3(sizes: FittedSizes) -> float:
    """All round holes."""
    levels = sizes.shell.levels
    over_pi = math.fsum(
        s.hole_radius_mm**2 * (sizes.insert_deep_mm if s.insert else FORMING_DEEP_MM)
        for s in sizes.shell.screws
    )
    over_pi += sum(p.hole_radius_mm**2 for p in sizes.support_pads_floor) * (
        sizes.support_pad_floor_mm
    )
    over_pi += sum(d.radius_mm**2 for d in set(sizes.drains)) * (levels.floor_mm - levels.under_mm)
    over_pi += 2 * len(sizes.pads) * sizes.pad_hole_radius_mm**2 * sizes.pad_hole_deep_mm
    over_pi += sum(h.gland.hole_radius_mm**2 for h in sizes.holes) * sizes.shell.wall_mm
    over_pi += sum(lug.hole_radius_mm**2 * lug.block.size_mm[lug.axis] for lug in sizes.tie_lugs)
    return math.pi * over_pi


def lid_formula_mm3(sizes: FittedSizes) -> float:
    """Volume of the lid [mm3]."""
    shell = sizes.shell
    plate = shell.levels.lid_mm - shell.levels.rim_mm
    inner, outer = fine(shell.lip_inner), fine(shell.lip_outer)
    rounds = shapely.union_all([fine(circle(s.at_mm, s.radius_mm)) for s in shell.screws])
    area = loop_area_mm2(shell.lip_outer) + rounds.difference(outer).area
    area -= math.pi * len(shell.screws) * sizes.lid_hole_radius_mm**2
    lip = loop_area_mm2(shell.lip_outer) - loop_area_mm2(shell.lip_inner)
    if shell.flange is None:
        gaps = shapely.union_all([*map(fine, lip_gaps(shell)), *map(rect_shape, block_gaps(sizes))])
        lip -= gaps.intersection(outer).difference(inner).area
    pads = math.pi * math.fsum(p.radius_mm**2 - p.hole_radius_mm**2 for p in sizes.support_pads_lid)
    return area * plate + lip * LIP_DEEP_MM + pads * sizes.support_pad_lid_mm + _plinths_mm3(sizes)


def _plinths_mm3(sizes: FittedSizes) -> float:
    """Plinths of a clamp: bands have the area of their middle line times their width."""
    if sizes.clamp is None:
        return 0.0
    bands = math.fsum(cord.long_mm for cord in sizes.clamp.cords) * PLINTH_MM
    discs = len(sizes.clamp.discs) * math.pi * (DISC_MM / 2) ** 2
    return (bands + discs) * sizes.clamp.plinth_mm
