"""The fit gauge's volume from its sizes alone."""

from __future__ import annotations

import math

import shapely

from layouts.gauges.drawing import texts
from layouts.gauges.sizes import (
    BAR_MM,
    NOTCH_DEEP_MM,
    POST_MM,
    SHORT_MM,
    TAB_HIGH_MM,
    TAB_WIDE_MM,
    WALL_LONG_MM,
    GaugeSizes,
)
from layouts.slabs.digits import PENS, figure_area_mm2
from layouts.slabs.open_digits import open_figure_area_mm2
from tests.oracles.covered import covered_area_mm2, rounded_parts

TAB_CORNER_MM = 1.5
# strokes of 0.9 from the shapes' own corners: an arrow's shaft and head; a Y's stem and two arms,
# each a parallelogram 1.1 wide along x, less the notch between them below which they meet
ARROW_MM2 = 0.9 * 4.4 + 3.4 * 2.6 / 2
Y_MM2 = 0.9 * 2.0 + 3.8 * 2.0 - 2 * (1.45 * 2.0 / 2) - 0.8 * 1.1


def gauge_formula_mm3(sizes: GaugeSizes) -> float:
    """Volume of the gauge [mm3]."""
    high = sizes.high_mm
    relief = len(sizes.relief_mm) * sizes.layer_mm
    opened = (high - relief) * _openings_mm2(sizes, 0.0) + math.fsum(
        sizes.layer_mm * _openings_mm2(sizes, by) for by in sizes.relief_mm
    )
    notches = math.fsum(one.wide_mm for one in sizes.notches) * NOTCH_DEEP_MM * high
    on_top = POST_MM**2 * (sizes.lengths.long_mm[2] - high)
    on_top += (
        math.fsum(one.wide_mm for one in sizes.walls) * WALL_LONG_MM * (sizes.wall_top_mm - high)
    )
    sunk = _signs_mm2(sizes) * sizes.figure_deep_mm
    return high * _plate_mm2(sizes) - opened - notches - sunk + on_top


def _plate_mm2(sizes: GaugeSizes) -> float:
    """Bars, heads, tabs and the outline of the pockets, overlaps once."""
    long_x, long_y, _ = sizes.lengths.long_mm
    shapes = [
        shapely.box(0, 0, long_x, BAR_MM),
        shapely.box(0, 0, BAR_MM, long_y),
        shapely.box(long_x - BAR_MM, 0, long_x, SHORT_MM),
        shapely.box(0, long_y - BAR_MM, SHORT_MM, long_y),
    ]
    discs = [(*one.at_mm, sizes.rim_mm) for one in sizes.pockets]
    hull = shapely.MultiPoint([one.at_mm for one in sizes.pockets]).convex_hull
    shapes.append(hull)
    corners = list(shapely.orient_polygons(hull).exterior.coords)
    for (x0, y0), (x1, y1) in zip(corners, corners[1:], strict=False):
        length = math.hypot(x1 - x0, y1 - y0)
        u, v = sizes.rim_mm * (y1 - y0) / length, -sizes.rim_mm * (x1 - x0) / length
        shapes.append(shapely.Polygon([(x0, y0), (x0 + u, y0 + v), (x1 + u, y1 + v), (x1, y1)]))
    for one in sizes.pockets[1::2]:
        x, y = one.at_mm
        octagon, rounds = rounded_parts(
            x - TAB_WIDE_MM / 2, y, x + TAB_WIDE_MM / 2, y + sizes.rim_mm + TAB_HIGH_MM,
            TAB_CORNER_MM,
        )  # fmt: skip
        shapes.append(octagon)
        discs += rounds
    return covered_area_mm2(shapes, discs)


def _openings_mm2(sizes: GaugeSizes, by_mm: float) -> float:
    rings = (*sizes.pockets, *sizes.inserts, *sizes.screws)
    round_mm2 = math.pi * math.fsum((one.diameter_mm / 2 + by_mm) ** 2 for one in rings)
    return round_mm2 + math.fsum(
        (one.high_mm[0] - one.low_mm[0] + 2 * by_mm) * (one.high_mm[1] - one.low_mm[1] + 2 * by_mm)
        for one in sizes.slots
    )


def _signs_mm2(sizes: GaugeSizes) -> float:
    figures = math.fsum(
        (open_figure_area_mm2 if pen == PENS[2] else figure_area_mm2)(ch, pen)
        for says, _, pen in texts(sizes)
        for ch in says
    )
    letter_x = figure_area_mm2("+", PENS[0])
    return figures + letter_x + 2 * ARROW_MM2 + Y_MM2
