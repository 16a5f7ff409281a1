"""An invented plate with all the features of a cell holder, for tests and timings."""

from __future__ import annotations

import math
from dataclasses import dataclass

from layouts.slabs.profile import Loop, Point, circle, moved, rectangle
from layouts.slabs.slabs import Body, Cone, Slab, build

PITCH_MM, POCKET_MM, WINDOW_MM, WALL_MM = 23.0, 21.55, 16.5, 2.2
ROW_MM, SLANT_MM, BAR_MM, BAR_BEYOND_MM = 6.5, 8.5, 1.35, 0.8
LEAD_IN_MM, EAR_MM, CORNER_MM = 0.5, 9.0, 4.5
POST_MM, SCREW_MM, POST_TOP_MM = 8.0, 3.4, 36.9
LIP_MM, RING_MM, FLOOR_MM, BAR_UP_MM, DEPTH_MM, LEAD_DEEP_MM = 1.6, 0.4, 0.4, 0.6, 10.0, 0.8
TOP_MM = LIP_MM + DEPTH_MM


@dataclass(frozen=True, kw_only=True)
class Layout:
    """Where everything of a plate stands [mm]; strips and bars: (from, to, width)."""

    box: tuple[float, float, float, float]
    cells: tuple[Point, ...]
    ringed: tuple[Point, ...]
    strips: tuple[tuple[Point, Point, float], ...]
    bars: tuple[tuple[Point, Point, float], ...]
    posts: tuple[Point, ...]


def layout(columns: int, rows: int) -> Layout:
    """A honeycomb field in a rounded rectangle with posts in its corners."""
    step = PITCH_MM * math.sqrt(3) / 2
    cells = [
        (PITCH_MM * i + PITCH_MM / 2 * (j % 2), step * j)
        for j in range(rows)
        for i in range(columns)
    ]
    reach = POCKET_MM / 2 + WALL_MM
    x1 = PITCH_MM * (columns - 1) + (PITCH_MM / 2 if rows > 1 else 0.0)
    box = (-reach - EAR_MM, -reach, x1 + reach + EAR_MM, step * (rows - 1) + reach)
    strips: list[tuple[Point, Point, float]] = []
    bars: list[tuple[Point, Point, float]] = []

    def link(a: Point, b: Point, width: float) -> None:
        strips.append((a, b, width))
        x, y = (a[0] + b[0]) / 2, (a[1] + b[1]) / 2
        ux, uy = (b[0] - a[0]) / PITCH_MM, (b[1] - a[1]) / PITCH_MM
        half = width / 2 + BAR_BEYOND_MM
        bars.append(((x + uy * half, y - ux * half), (x - uy * half, y + ux * half), BAR_MM))

    for k, cell in enumerate(cells):
        i, j = k % columns, k // columns
        if i + 1 < columns:
            link(cell, cells[k + 1], ROW_MM)
        if j + 1 < rows and j % 2 == 1:
            link(cell, cells[k + columns], SLANT_MM)
            if i + 1 < columns:
                link(cell, cells[k + columns + 1], SLANT_MM)
    lead = cells[columns - 1]
    strips.append((lead, (box[2] + 5, lead[1]), ROW_MM))
    c = CORNER_MM
    return Layout(
        box=box,
        cells=tuple(cells),
        ringed=tuple(cell for k, cell in enumerate(cells) if k // columns % 2 == 1),
        strips=tuple(strips),
        bars=tuple(bars),
        posts=(
            (box[0] + c, box[1] + c),
            (box[2] - c, box[1] + c),
            (box[2] - c, box[3] - c),
            (box[0] + c, box[3] - c),
        ),
    )


def strip(a: Point, b: Point, width_mm: float) -> Loop:
    """Rectangle of a width along the line from a to b."""
    angle = math.atan2(b[1] - a[1], b[0] - a[0])
    return moved(rectangle(0, -width_mm / 2, math.dist(a, b), width_mm / 2), *a, angle)


def plate(columns: int, rows: int) -> Body:
    """Outline, windows, ring seats, pockets with lead-in, channels, bars, posts with screws."""
    lay = layout(columns, rows)
    regions = {
        "outline": [rectangle(*lay.box, CORNER_MM)],
        "window": [circle(c, WINDOW_MM / 2) for c in lay.cells],
        "pocket": [circle(c, POCKET_MM / 2) for c in lay.cells],
        "ring": [circle(c, POCKET_MM / 2) for c in lay.ringed],
        "channel": [strip(*s) for s in lay.strips],
        "bar": [strip(*b) for b in lay.bars],
        "post": [circle(p, POST_MM / 2) for p in lay.posts],
        "screw": [circle(p, SCREW_MM / 2) for p in lay.posts],
    }
    floor = LIP_MM + FLOOR_MM
    lead_in = TOP_MM - LEAD_DEEP_MM
    slabs = [
        Slab(
            0,
            LIP_MM - RING_MM,
            lambda m: m["outline"] & ~m["window"] & ~m["channel"] & ~m["screw"],
        ),
        Slab(
            LIP_MM - RING_MM,
            LIP_MM,
            lambda m: m["outline"] & ~m["window"] & ~m["channel"] & ~m["ring"] & ~m["screw"],
        ),
        Slab(LIP_MM, floor, lambda m: m["outline"] & ~m["pocket"] & ~m["channel"] & ~m["screw"]),
        Slab(
            floor,
            floor + BAR_UP_MM,
            lambda m: m["outline"] & ~m["pocket"] & ~(m["channel"] & ~m["bar"]) & ~m["screw"],
        ),
        Slab(floor + BAR_UP_MM, lead_in, lambda m: m["outline"] & ~m["pocket"] & ~m["screw"]),
        Slab(lead_in, TOP_MM, lambda m: m["outline"] & ~m["pocket"] & ~m["screw"]),
        Slab(TOP_MM, POST_TOP_MM, lambda m: m["post"] & ~m["screw"]),
    ]
    cones = [Cone(c, POCKET_MM / 2, POCKET_MM / 2 + LEAD_IN_MM) for c in lay.cells]
    return build(regions, slabs, cones=cones, cone_slab=5)
