"""Support pins: loose columns printed with a holder where its webs would hang.

A holder is printed outer face down. Over the channel of a plate its webs, and its wall, begin in
the air as bridges from lip to lip. Where a bridge would be too long, or ends on nothing, a pin
stands on the bed under it, one gap below, and is thrown away after printing.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import shapely

from layouts.cells.arrangement import CellLayout
from layouts.holders.broad_bars import with_broad_bars
from layouts.holders.holder import HolderTile, SupportPin
from layouts.holders.rim_pins import rim_pins
from layouts.holders.spines import (
    FREE_LIMIT_MM,
    Hanging,
    Spines,
    hanging,
    needs_pin,
    spines_of,
)
from layouts.pack import Pack

__all__ = ["PIN_CLEAR_MM", "PIN_SPAN_MM", "pin_gap_mm", "with_support_pins"]

# widest first; the narrowest keeps 15 mm2 on the bed, which is what stays there while it is
# printed: common practice, no source
PIN_DIAMETERS_MM = (5.0, 4.4)
PIN_CLEAR_MM = 0.5  # to the sides of the channel: more than what squeezes out on the first layer
GAP_LEAST_MM = 0.2  # below the web: lifts off by hand; common practice, no source
ASIDE_MM = (0.0, 0.5, -0.5, 1.0, -1.0, 1.5, -1.5)  # a pin may stand so far beside the web's middle
PIN_SPAN_MM = 10.0  # a bridge gets a pin before it is too long: from here on threads sag
STEP_MM = 0.5  # how finely a place along a web is looked for
BAR_CLEAR_MM = 0.2  # a pin under the wall, which begins higher, keeps so far from bars
SAME_MM = 1e-6  # float noise in where pins stand


def pin_gap_mm(layer_mm: float) -> float:
    """How far a pin's top stays below what it carries [mm]: a layer, and 0.2 at least."""
    return max(GAP_LEAST_MM, layer_mm)


def with_support_pins(pack: Pack, cell_layout: CellLayout, tile: HolderTile) -> HolderTile:
    """The tile with its pins and what hangs without one. Holders for straight strips rarely have
    any: their channels are narrow, but at a seam between tiles webs may end on nothing."""
    spines = spines_of(pack, cell_layout, tile)
    shapely.prepare([spines.stand, spines.bars])
    pins = _pins(pack, tile, spines) if pack.holder.support_pins else ()
    if pack.holder.support_pins:
        pins += rim_pins(
            tile,
            spines,
            pack.printer,
            pins,
            diameters_mm=PIN_DIAMETERS_MM,
            high_mm=spines.web_mm + tile.bar_mm - pin_gap_mm(pack.printer.layer_mm),
            limit_mm=PIN_SPAN_MM,
            clear_mm=PIN_CLEAR_MM,
        )
        tile, spines = with_broad_bars(tile, spines, pack.printer, pins, limit_mm=PIN_SPAN_MM)
    middles = [
        one.line.interpolate(0.5, normalized=True)
        for one in hanging(spines, pins)
        if needs_pin(one)
    ]
    return replace(
        tile, support_pins=pins, hanging_mm=tuple((float(at.x), float(at.y)) for at in middles)
    )


def _pins(pack: Pack, tile: HolderTile, spines: Spines) -> tuple[SupportPin, ...]:
    """Pins one after another: under webs before the wall, under ends that hang before the middle of
    long ones, under short stretches, which leave least choice, first."""
    gap = pin_gap_mm(pack.printer.layer_mm)
    found: list[SupportPin] = []
    hopeless: list[shapely.Point] = []
    while True:
        lacking = [
            one
            for one in hanging(spines, found)
            if _wants_pin(one) and not any(one.line.distance(point) < SAME_MM for point in hopeless)
        ]
        if not lacking:
            return tuple(found)
        stretch = min(lacking, key=lambda one: (one.is_wall, not one.is_free, one.line.length))
        top = spines.web_mm + (tile.bar_mm if stretch.is_wall else 0.0) - gap
        ways = _ways_mm(stretch, spines)
        pin = next(
            (
                SupportPin(x_mm=x, y_mm=y, diameter_mm=diameter, high_mm=top)
                for diameter in PIN_DIAMETERS_MM
                for aside in ASIDE_MM
                for way in ways
                for x, y in [_inside(_beside(stretch.line, way, aside), diameter, spines)]
                if _is_clear(x, y, diameter, spines, found, under_wall=stretch.is_wall)
            ),
            None,
        )
        if pin is None:
            hopeless.append(stretch.line.interpolate(0.5, normalized=True))
        else:
            found.append(pin)


def _wants_pin(stretch: Hanging) -> bool:
    """Whether a stretch is better with a pin; where there is none it may still do."""
    limit_mm = FREE_LIMIT_MM if stretch.is_free else PIN_SPAN_MM
    return float(stretch.line.length) > limit_mm + SAME_MM


def _ways_mm(stretch: Hanging, spines: Spines) -> list[float]:
    """Ways along a hanging stretch at which a pin may stand, best first."""
    line, half = stretch.line, PIN_DIAMETERS_MM[0] / 2
    long = line.length
    steps = np.arange(0.0, long, STEP_MM)
    turned = stretch.is_free and not stretch.starts_free
    if stretch.is_free:
        tip = shapely.get_point(line, -1 if turned else 0)
        # at the meeting point of webs the middle of the pin carries all of them; at the edge of the
        # holder its rim does
        first = 0.0 if tip.distance(spines.plan.boundary) > half else min(half, long)
        most = min(long, half + FREE_LIMIT_MM)
    else:
        most = long
        many = max(1, math.ceil((long - PIN_SPAN_MM) / (PIN_SPAN_MM + 2 * half)))
        first = (long - many * 2 * half) / (many + 1) + half
    ways = np.column_stack([first + steps, first - steps]).ravel()
    ways = ways[(ways >= 0.0) & (ways <= most)]
    return [float(way) for way in (long - ways if turned else ways)]


def _beside(line: shapely.LineString, way_mm: float, aside_mm: float) -> shapely.Point:
    """A point of a line, moved to its left."""
    ends = shapely.get_coordinates(line)[[0, -1]]
    dx, dy = ((ends[1] - ends[0]) / np.hypot(*(ends[1] - ends[0])) * aside_mm).tolist()
    at = line.interpolate(way_mm)
    return shapely.Point(at.x - dy, at.y + dx)


def _inside(point: shapely.Point, diameter: float, spines: Spines) -> tuple[float, float]:
    """A pin's centre, moved so that it makes the print no larger."""
    x0, y0, x1, y1 = spines.plan.bounds
    half = diameter / 2
    return (
        float(np.clip(point.x, x0 + half, x1 - half)),
        float(np.clip(point.y, y0 + half, y1 - half)),
    )


def _is_clear(
    x: float,
    y: float,
    diameter: float,
    spines: Spines,
    others: list[SupportPin],
    *,
    under_wall: bool,
) -> bool:
    """Clear of the lip and of other pins; one under the wall also of bars, which begin lower."""
    point, half = shapely.Point(x, y), diameter / 2
    if spines.stand.distance(point) < half + PIN_CLEAR_MM:
        return False
    if under_wall and spines.bars.distance(point) < half + BAR_CLEAR_MM:
        return False
    return all(
        math.dist((x, y), (pin.x_mm, pin.y_mm)) >= half + pin.diameter_mm / 2 + PIN_CLEAR_MM
        for pin in others
    )
