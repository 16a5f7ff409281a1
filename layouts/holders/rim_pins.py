"""Support pins under the rims of pockets: where a web is broader than the bar in it.

Beside the bars a web begins over the channel one bar higher, laid in lines along the rims of the
pockets. Where four cells meet round a gap these would reach far: a pin stands there too, clear of
the bars, where there is room for one.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from layouts.holders.holder import HolderTile, SupportPin
from layouts.holders.spines import Spines
from layouts.printable.bridging import APART_MM, best_bridge, mitred
from layouts.printable.limits import FREE_MM2, FREE_SHARE
from layouts.printer_spec import Printer

__all__ = [
    "broad_parts",
    "high_discs",
    "long_side_mm",
    "rim_levels",
    "rim_pieces",
    "rim_pins",
    "rim_span_mm",
    "rims_over_nothing",
]  # fmt: skip

AROUND_MM = 2.0  # what may carry a piece lies within so much of its box
GRID_MM = 0.5  # between the places that are tried for a pin
CARRIED_MM2 = 0.5  # of a piece over a pin: less carries no line well
TRIED = 6  # places whose bridges are looked at, those that carry most of a piece first
BETTER_MM = 1.5  # a pin that leaves lines too long is worth it if it makes them so much shorter
PIN_QUARTER = 16  # chords a quarter turn of a pin
# of what may be free: pockets are polygons here, whose edges give other directions to lay lines in
# than the printed part's; 4.4 mm2 were 5.5 there
PLANNED_SHARE = 0.7
SAME_MM = 1e-6  # float noise


def rim_pins(
    tile: HolderTile,
    spines: Spines,
    printer: Printer,
    pins: Sequence[SupportPin],
    *,
    diameters_mm: Sequence[float],
    high_mm: float,
    limit_mm: float,
    clear_mm: float,
) -> tuple[SupportPin, ...]:
    """Further pins, ``high_mm`` high, under what lines longer than ``limit_mm`` would cross.

    ``pins``: those that stand already. ``clear_mm``: to the lip, to bars, which
    begin lower, and to other pins."""
    found: list[SupportPin] = []
    section, below = rim_levels(tile, spines)
    limit_mm += printer.layer_mm  # ends are counted from where what lies below stops carrying
    work = list(rims_over_nothing(section, below, spines, pins, printer))
    while work:
        piece = work.pop()
        if long_side_mm(piece) <= limit_mm:
            continue
        standing = [*pins, *found]
        span = rim_span_mm(piece, section, below, high_discs(spines, standing), printer)
        if span <= limit_mm:
            continue
        best: tuple[float, SupportPin] | None = None
        for diameter in diameters_mm:
            for x, y in _places(piece, spines, standing, diameter, clear_mm):
                pin = SupportPin(x_mm=x, y_mm=y, diameter_mm=diameter, high_mm=high_mm)
                with_it = high_discs(spines, [*standing, pin])
                left = max(
                    (
                        rim_span_mm(part, section, below, with_it, printer)
                        for part in _left(piece, pin, printer)
                    ),
                    default=0.0,
                )
                if best is None or left < best[0] - SAME_MM:
                    best = (left, pin)
                if left <= limit_mm:
                    break
            if best is not None and best[0] <= limit_mm:
                break
        if best is not None and (best[0] <= limit_mm or best[0] <= span - BETTER_MM):
            found.append(best[1])
            work += _left(piece, best[1], printer)
    return tuple(found)


def rim_pieces(
    tile: HolderTile, spines: Spines, pins: Sequence[SupportPin], printer: Printer
) -> list[tuple[shapely.Polygon, float]]:
    """All pieces that begin over nothing one bar above the webs' floors, and their longest
    lines [mm]."""
    section, below = rim_levels(tile, spines)
    high = high_discs(spines, pins)
    return [
        (piece, rim_span_mm(piece, section, below, high, printer))
        for piece in rims_over_nothing(section, below, spines, pins, printer)
    ]


def rim_span_mm(
    piece: BaseGeometry,
    section: BaseGeometry,
    below: BaseGeometry,
    discs: Sequence[BaseGeometry],
    printer: Printer,
) -> float:
    """The longest line with which a piece is bridged [mm]; pins carry as lip does.

    Infinite where too much of it is not carried. Straight lines count one distance between them
    more: the longest may lie between two that are looked at."""
    near, own = _near(below, piece), _near(section, piece)
    bridge = best_bridge(
        piece,
        own,
        shapely.union_all([near, *discs]),
        line_mm=printer.line_wide_mm,
        layer_mm=printer.layer_mm,
    )
    if bridge.free_mm2 > PLANNED_SHARE * max(FREE_MM2, FREE_SHARE * float(piece.area)):
        return math.inf
    return bridge.span_mm + (0.0 if bridge.turn_deg is None else APART_MM)


def rim_levels(tile: HolderTile, spines: Spines) -> tuple[BaseGeometry, BaseGeometry]:
    """The tile's section above its bars, and what is there below that."""
    pockets = shapely.union_all(
        shapely.buffer(shapely.points(tile.xy_mm), tile.pocket_mm / 2, quad_segs=PIN_QUARTER)
    )
    below = shapely.union(spines.stand, spines.bars.intersection(spines.plan))
    return spines.plan.difference(pockets), below.difference(pockets)


def rims_over_nothing(
    section: BaseGeometry,
    below: BaseGeometry,
    spines: Spines,
    pins: Sequence[SupportPin],
    printer: Printer,
) -> list[shapely.Polygon]:
    """The pieces that begin over nothing one bar above the webs' floors."""
    carried = shapely.union_all([mitred(below, printer.layer_mm), *high_discs(spines, pins)])
    return broad_parts(section.difference(carried), printer)


def _left(piece: BaseGeometry, pin: SupportPin, printer: Printer) -> list[shapely.Polygon]:
    return broad_parts(piece.difference(_disc(pin)), printer)


def broad_parts(shape: BaseGeometry, printer: Printer) -> list[shapely.Polygon]:
    """The pieces of a shape into which a line fits: of a narrower one the layer below carries
    half."""
    return [
        part
        for part in shapely.get_parts(shape).tolist()
        if part.geom_type == "Polygon" and not part.buffer(-printer.line_wide_mm / 2).is_empty
    ]


def _near(shape: BaseGeometry, piece: BaseGeometry) -> BaseGeometry:
    x0, y0, x1, y1 = piece.bounds
    return shapely.clip_by_rect(
        shape, x0 - AROUND_MM, y0 - AROUND_MM, x1 + AROUND_MM, y1 + AROUND_MM
    )


def _disc(pin: SupportPin) -> BaseGeometry:
    return shapely.Point(pin.x_mm, pin.y_mm).buffer(pin.diameter_mm / 2, quad_segs=PIN_QUARTER)


def high_discs(spines: Spines, pins: Sequence[SupportPin]) -> list[BaseGeometry]:
    """Plans of the pins that reach above the webs' floors."""
    return [_disc(pin) for pin in pins if pin.high_mm > spines.web_mm]


def long_side_mm(piece: BaseGeometry) -> float:
    """Longer side of the box round a piece; its diagonal is no shorter than any line."""
    x0, y0, x1, y1 = piece.bounds
    return float(np.hypot(x1 - x0, y1 - y0))


def _places(
    piece: BaseGeometry,
    spines: Spines,
    pins: Sequence[SupportPin],
    diameter: float,
    clear_mm: float,
) -> list[tuple[float, float]]:
    """Centres at which a pin is clear of everything and carries some of a piece, best first."""
    half = diameter / 2
    x0, y0, x1, y1 = piece.bounds
    left, front, right, back = spines.plan.bounds
    xs = np.arange(max(x0 - half, left + half), min(x1 + half, right - half) + SAME_MM, GRID_MM)
    ys = np.arange(max(y0 - half, front + half), min(y1 + half, back - half) + SAME_MM, GRID_MM)
    points: NDArray[np.object_] = shapely.points(
        np.stack(np.meshgrid(xs, ys), axis=-1).reshape(-1, 2)
    )
    points = points[shapely.dwithin(points, piece, half)]
    points = points[
        shapely.distance(points, _near(spines.stand, piece.buffer(half))) >= half + clear_mm
    ]
    points = points[shapely.distance(points, spines.bars) >= half + clear_mm]
    for pin in pins:
        away = shapely.distance(points, shapely.Point(pin.x_mm, pin.y_mm))
        points = points[away >= half + pin.diameter_mm / 2 + clear_mm]
    if not len(points):
        return []
    discs = shapely.buffer(points, half, quad_segs=PIN_QUARTER)
    carried = shapely.area(shapely.intersection(discs, piece))
    order = np.argsort(-np.round(carried, 2), kind="stable")[:TRIED]
    return [(float(points[k].x), float(points[k].y)) for k in order if carried[k] >= CARRIED_MM2]
