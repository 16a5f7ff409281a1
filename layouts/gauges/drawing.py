"""The fit gauge as a part: two bars, five pockets, holes, slots, walls, a post, and figures."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from layouts.gauges.sizes import (
    BAR_MM,
    POST_IN_MM,
    POST_MM,
    SHORT_MM,
    TAB_HIGH_MM,
    TAB_WIDE_MM,
    WALL_LONG_MM,
    GaugeSizes,
)
from layouts.parts.drawing import Drawing, drawing_of
from layouts.parts.feature import Effect, Feature
from layouts.parts.part import Part
from layouts.slabs.digits import PENS, DigitPen, figure_loops, figure_size_mm
from layouts.slabs.open_digits import open_figure_loops
from layouts.slabs.profile import (
    Arc,
    Line,
    Loop,
    Point,
    circle,
    loop_area_mm2,
    moved,
    polygon,
    rectangle,
)

__all__ = ["NAME", "gauge_drawing", "gauge_features", "gauge_part", "texts"]

NAME = "fit-gauge"
FIELD = "printer"  # section of the pack file that a size which can't be drawn comes from
LARGE, MIDDLE, SMALL = PENS
BETWEEN_MM = 0.6  # between two figures of a number
COLOUR = (0.80, 0.82, 0.84)
NOTE = (
    "flat on the bed, turned as on the drawing: its x along the printer's x; no support, no brim; "
    "with the walls, layers and filament that holders are printed with"
)


def texts(sizes: GaugeSizes) -> tuple[tuple[str, Point, DigitPen], ...]:
    """Every number on the gauge: what it says, its middle, its pen."""
    holes, slots = (*sizes.inserts, *sizes.screws), (*sizes.slots, *sizes.notches)
    return (
        *(
            (one.says, one.says_at_mm, LARGE if len(one.says) < 3 else MIDDLE)
            for one in sizes.pockets
        ),
        *((one.says, one.says_at_mm, SMALL) for one in holes),
        *((one.says, one.says_at_mm, SMALL) for one in slots),
        *((str(one.lines), one.says_at_mm, SMALL) for one in sizes.walls),
    )


def gauge_part(sizes: GaugeSizes) -> Part:
    """The gauge as it is printed. Raises PlanError where it can't be drawn."""
    return Part(
        name=NAME,
        role="gauge",
        field=FIELD,
        drawing=gauge_drawing(sizes),
        placed=(np.eye(4),),
        colour=COLOUR,
        print_note=NOTE,
    )


def gauge_drawing(sizes: GaugeSizes) -> Drawing:
    """Its drawing. Raises PlanError where it can't be drawn."""
    return drawing_of(gauge_features(sizes), part=NAME, field=FIELD)


def gauge_features(sizes: GaugeSizes) -> tuple[Feature, ...]:
    """What is added and cut, in order."""
    high = sizes.high_mm
    plate = [_plate(name, loops, high) for name, loops in _outlines(sizes)]
    return (*plate, *_openings(sizes), *_signs(sizes), *_on_top(sizes))


def _plate(name: str, loops: tuple[Loop, ...], high_mm: float) -> Feature:
    return Feature(name=name, loops=loops, z0_mm=0.0, z1_mm=high_mm)


def _outlines(sizes: GaugeSizes) -> list[tuple[str, tuple[Loop, ...]]]:
    """The plate's pieces, which overlap."""
    long_x, long_y, _ = sizes.lengths.long_mm
    tabs = tuple(
        rectangle(
            one.at_mm[0] - TAB_WIDE_MM / 2,
            one.at_mm[1],
            one.at_mm[0] + TAB_WIDE_MM / 2,
            one.at_mm[1] + sizes.rim_mm + TAB_HIGH_MM,
            1.5,
        )
        for one in sizes.pockets[1::2]
    )
    middles = [one.at_mm for one in (*sizes.pockets[::2], *sizes.pockets[-2:0:-2])]
    return [
        ("lower bar", (rectangle(0.0, 0.0, long_x, BAR_MM),)),
        ("left bar", (rectangle(0.0, 0.0, BAR_MM, long_y),)),
        ("right head", (rectangle(long_x - BAR_MM, 0.0, long_x, SHORT_MM),)),
        ("upper head", (rectangle(0.0, long_y - BAR_MM, SHORT_MM, long_y),)),
        ("round the pockets", (_hull(middles, sizes.rim_mm),)),
        ("tabs", tabs),
    ]


def _hull(middles: Sequence[Point], radius_mm: float) -> Loop:
    """Outline of equal circles about points, counter-clockwise; straight neighbours drop out."""
    corners = [
        here
        for before, here, after in zip(
            (middles[-1], *middles[:-1]), middles, (*middles[1:], middles[0]), strict=True
        )
        if abs(_turn_rad(before, here, after)) > 1e-9
    ]
    loop: list[Line | Arc] = []
    for k, here in enumerate(corners):
        before, after = corners[k - 1], corners[(k + 1) % len(corners)]
        first = math.atan2(here[1] - before[1], here[0] - before[0]) - math.pi / 2
        arc = Arc(here, radius_mm, first, _turn_rad(before, here, after))
        to = math.atan2(after[1] - here[1], after[0] - here[0]) - math.pi / 2
        loop += [arc, Line(arc.at(to), _out(after, radius_mm, to))]
    return tuple(loop)


def _out(point: Point, radius_mm: float, angle_rad: float) -> Point:
    return (
        point[0] + radius_mm * math.cos(angle_rad),
        point[1] + radius_mm * math.sin(angle_rad),
    )


def _turn_rad(before: Point, here: Point, after: Point) -> float:
    u, v = (here[0] - before[0], here[1] - before[1]), (after[0] - here[0], after[1] - here[1])
    return math.atan2(u[0] * v[1] - u[1] * v[0], u[0] * v[0] + u[1] * v[1])


def _openings(sizes: GaugeSizes) -> list[Feature]:
    """Pockets, holes, slots and notches; all but the notches wider near the bed."""
    high = sizes.high_mm
    whole = (
        ("openings", _grown(sizes, 0.0)),
        (
            "notches",
            tuple(
                # a little beyond the bar's side, so that nothing is left of it
                rectangle(*one.low_mm, one.high_mm[0] + 1.0, one.high_mm[1])
                for one in sizes.notches
            ),
        ),
    )
    cuts = [(name, loops, 0.0, high) for name, loops in whole if loops]
    cuts += [
        (f"relief {k}", _grown(sizes, by), (k - 1) * sizes.layer_mm, k * sizes.layer_mm)
        for k, by in enumerate(sizes.relief_mm, start=1)
    ]
    return [
        Feature(name=name, loops=loops, z0_mm=z0, z1_mm=z1, effect=Effect.CUT)
        for name, loops, z0, z1 in cuts
    ]


def _grown(sizes: GaugeSizes, by_mm: float) -> tuple[Loop, ...]:
    """Openings grown on every side."""
    rings = (*sizes.pockets, *sizes.inserts, *sizes.screws)
    return (
        *(circle(one.at_mm, one.diameter_mm / 2 + by_mm) for one in rings),
        *(
            rectangle(
                one.low_mm[0] - by_mm,
                one.low_mm[1] - by_mm,
                one.high_mm[0] + by_mm,
                one.high_mm[1] + by_mm,
            )
            for one in sizes.slots
        ),
    )


def _signs(sizes: GaugeSizes) -> list[Feature]:
    """Numbers, letters and arrows sunk into the upper face: none of them lies on the bed."""
    loops = [loop for text in texts(sizes) for loop in _number_loops(*text)]
    sunk = tuple(one for one in loops if loop_area_mm2(one) > 0.0)
    counters = tuple(one for one in loops if loop_area_mm2(one) < 0.0)
    z0, z1 = sizes.high_mm - sizes.figure_deep_mm, sizes.high_mm
    found = [
        Feature(name="signs", loops=(*sunk, *_axes(sizes)), z0_mm=z0, z1_mm=z1, effect=Effect.CUT)
    ]
    if counters:
        found.append(Feature(name="counters", loops=counters, z0_mm=z0, z1_mm=z1))
    return found


def _number_loops(says: str, at: Point, pen: DigitPen) -> list[Loop]:
    widths = [figure_size_mm(ch, pen)[0] for ch in says]
    x = at[0] - (sum(widths) + BETWEEN_MM * (len(says) - 1)) / 2
    # a closed counter of the small figures would be one line wide
    loops_of = open_figure_loops if pen == SMALL else figure_loops
    loops = []
    for ch, wide in zip(says, widths, strict=True):
        loops += [moved(loop, x + wide / 2, at[1]) for loop in loops_of(ch, pen)]
        x += wide + BETWEEN_MM
    return loops


def _axes(sizes: GaugeSizes) -> tuple[Loop, ...]:
    """An X with an arrow to the right on the right head, a Y with one upwards on the upper."""
    long_x, long_y, _ = sizes.lengths.long_mm
    half, low, high = BAR_MM / 2, SHORT_MM - 3.2, SHORT_MM - 7.4
    return (
        moved(figure_loops("+", LARGE)[0], long_x - half, low, math.pi / 4),
        moved(_ARROW, long_x - half, high),
        moved(_LETTER_Y, low, long_y - half),
        moved(_ARROW, high, long_y - half, math.pi / 2),
    )


# about their middles, 7 and 4 mm long, strokes of 0.9
_ARROW = polygon(
    [(-3.5, -0.45), (0.9, -0.45), (0.9, -1.7), (3.5, 0.0), (0.9, 1.7), (0.9, 0.45), (-3.5, 0.45)]
)
_LETTER_Y = polygon(
    [(-0.45, -2.0), (0.45, -2.0), (0.45, 0.0), (1.9, 2.0), (0.8, 2.0), (0.0, 0.9), (-0.8, 2.0),
     (-1.9, 2.0), (-0.45, 0.0)]
)  # fmt: skip


def _on_top(sizes: GaugeSizes) -> list[Feature]:
    """The post in the corner, from the bed, and the walls."""
    far = POST_IN_MM + POST_MM
    post = rectangle(POST_IN_MM, POST_IN_MM, far, far)
    walls = tuple(
        rectangle(*one.low_mm, one.low_mm[0] + one.wide_mm, one.low_mm[1] + WALL_LONG_MM)
        for one in sizes.walls
    )
    return [
        Feature(name="post", loops=(post,), z0_mm=0.0, z1_mm=sizes.post_top_mm),
        Feature(name="walls", loops=walls, z0_mm=sizes.high_mm, z1_mm=sizes.wall_top_mm),
    ]
