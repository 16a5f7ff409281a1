"""Bars made broader over a support pin: where webs meet round a large gap and lines along the rims
of pockets would be too long, but no further pin has room beside the bars.

The pin under the meeting bars carries a square as well, which begins as low as they do; what begins
one bar higher then has less to cross.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from layouts.holders.channels import BAR_CLEAR_MM
from layouts.holders.holder import HolderTile, SupportPin
from layouts.holders.rim_pins import (
    broad_parts,
    high_discs,
    long_side_mm,
    rim_levels,
    rim_span_mm,
    rims_over_nothing,
)
from layouts.holders.spines import Spines
from layouts.printable.bridging import mitred
from layouts.printer_spec import Printer

__all__ = ["with_broad_bars"]

QUARTERS = 6  # a square is tried each 90 degrees / 6 round; judged
SHORTER_MM = 0.1  # of the longest line, that a square is worth it


def with_broad_bars(
    tile: HolderTile,
    spines: Spines,
    printer: Printer,
    pins: Sequence[SupportPin],
    *,
    limit_mm: float,
) -> tuple[HolderTile, Spines]:
    """The tile with squares over its pins under webs, where lines longer than ``limit_mm`` and a
    layer are left; both as they were where none makes them shorter."""
    limit_mm += printer.layer_mm
    section, below = rim_levels(tile, spines)
    high = high_discs(spines, pins)
    over = [
        piece
        for piece in rims_over_nothing(section, below, spines, pins, printer)
        if long_side_mm(piece) > limit_mm
        and rim_span_mm(piece, section, below, high, printer) > limit_mm
    ]
    found: list[NDArray[np.float64]] = []
    for pin in pins:
        middle = shapely.Point(pin.x_mm, pin.y_mm)
        near = [piece for piece in over if piece.distance(middle) < pin.diameter_mm]
        if not near or pin.high_mm >= spines.web_mm:
            continue
        most = _excess_mm(near, section, below, high, printer, limit_mm)
        best: tuple[float, NDArray[np.float64] | None] = (most - SHORTER_MM, None)
        for square in _squares(tile, pin):
            shape = shapely.Polygon(square)
            there = below.union(shape)
            left = _without(near, shape, printer)
            total = _excess_mm(left, section, there, high, printer, limit_mm)
            if total < best[0]:
                best = (total, square)
            if total <= 0.0:
                break
        if best[1] is not None:
            shape = shapely.Polygon(best[1])
            found.append(best[1])
            below = below.union(shape)
            over = [piece for piece in over if piece not in near] + _without(near, shape, printer)
    if not found:
        return tile, spines
    bars = spines.bars.union(shapely.union_all([shapely.Polygon(one) for one in found]))
    return replace(tile, bars=np.concatenate([tile.bars, found])), replace(spines, bars=bars)


def _without(
    pieces: Sequence[shapely.Polygon], square: BaseGeometry, printer: Printer
) -> list[shapely.Polygon]:
    """What is left of pieces that a square carries in part."""
    carried = mitred(square, printer.layer_mm)
    return [part for piece in pieces for part in broad_parts(piece.difference(carried), printer)]


def _excess_mm(
    pieces: Sequence[shapely.Polygon],
    section: BaseGeometry,
    below: BaseGeometry,
    high: Sequence[BaseGeometry],
    printer: Printer,
    limit_mm: float,
) -> float:
    """By how much the longest lines of pieces are too long, together."""
    spans = [rim_span_mm(piece, section, below, high, printer) for piece in pieces]
    return math.fsum(span - limit_mm for span in spans if span > limit_mm)


def _squares(tile: HolderTile, pin: SupportPin) -> Iterator[NDArray[np.float64]]:
    """Squares (4, 2) that lie on a pin, or round it, clear of all pockets."""
    middle = np.array([pin.x_mm, pin.y_mm])
    for side_mm in (pin.diameter_mm, pin.diameter_mm / math.sqrt(2.0)):
        for turn in range(QUARTERS):
            way = math.pi / 2.0 * turn / QUARTERS
            along = np.array([math.cos(way), math.sin(way)]) * side_mm / 2.0
            across = np.array([-along[1], along[0]])
            square = middle + np.array(
                [-along - across, along - across, along + across, across - along]
            )
            pockets = shapely.distance(shapely.points(tile.xy_mm), shapely.Polygon(square))
            if float(pockets.min()) >= tile.pocket_mm / 2.0 + BAR_CLEAR_MM:
                yield square
