"""Copper bars at tie posts: led round them over the sheet, else cut in pieces."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from layouts.cells.arrangement import CellLayout
from layouts.plates.bars import BAR_LEAST_PARALLEL, cells_under_bar
from layouts.plates.outline import CURVE
from layouts.strips.plate import BusPlate, PlateBar

__all__ = ["cut_at_posts", "on_sheet"]

# All judgement, no source.
PARTED_MM = 0.5  # from a straight end of bar to the clearance round a post: corners stay outside
OFF_SPOTS_MM = 3.5  # from a can end's middle, along the row: spots reach 2.8 and the probes beside
INWARD_MM = 5.0  # past the row's line: farther in the sheet's edge begins, or slots do
LEAST_LAP_MM2 = 40.0  # of a piece soldered onto the sheet
NARROW_MM = 2.0  # copper narrower than this is left out
LEVEL_MM = 1e-6


def cut_at_posts(
    cell_layout: CellLayout, plate: BusPlate, bar: PlateBar, posts_mm: NDArray[np.float64]
) -> PlateBar:
    """The bar of a plate as posts (p, 3: x, y, radius with clearance) leave it.

    Where one stands in its way the copper goes round on the post's inner side, as far as there is
    sheet under it and no weld spot; else the bar is cut, and the sheet carries between the pieces.
    A piece along fewer than two cells, which would gather nothing, is left out."""
    row = cell_layout.xy_mm[cells_under_bar(cell_layout, np.array(plate.cells))]
    taken = _taken(bar.whole, posts_mm)
    if not taken:
        return bar
    parts = [*_straight(bar.whole, taken), *(_way_round(plate, bar, row, at) for at in taken)]
    joined = shapely.get_parts(shapely.union_all(parts)).tolist()
    at = bar.landing.centroid
    kept = [
        piece
        for piece in joined
        if piece.covers(at) or _along(piece, row[:, 0]) >= BAR_LEAST_PARALLEL
    ]
    return replace(bar, pieces=tuple(sorted(kept, key=lambda piece: float(piece.distance(at)))))


def on_sheet(plate: BusPlate, bar: PlateBar) -> PlateBar | None:
    """The bar less the pieces that can't be soldered onto the sheet; None where the lead's can't:
    then the lead is soldered to the sheet itself."""
    lies = [shapely.intersection(piece, plate.body).area >= LEAST_LAP_MM2 for piece in bar.pieces]
    if not lies or not lies[0]:
        return None
    kept = tuple(piece for piece, lap in zip(bar.pieces, lies, strict=True) if lap)
    return replace(bar, pieces=(_with_lug_end(bar, kept[0]), *kept[1:]))


def _with_lug_end(bar: PlateBar, piece: shapely.Polygon) -> shapely.Polygon:
    """The piece that the main lead comes to, its end widened for the lug and drilled."""
    if not bar.lugs:
        return piece
    return shapely.union(piece, bar.lugs[0].shape).difference(bar.lugs[0].hole)


def _taken(whole: shapely.Polygon, posts_mm: NDArray[np.float64]) -> list[tuple[float, float]]:
    """(from, to) along x that each post takes out of a bar, rising."""
    x0, low, x1, high = whole.bounds
    beside = np.maximum(np.maximum(low - posts_mm[:, 1], posts_mm[:, 1] - high), 0.0)
    half = np.sqrt(np.maximum((posts_mm[:, 2] + PARTED_MM) ** 2 - beside**2, 0.0))
    return sorted(
        (float(x - wide), float(x + wide))
        for (x, _, _), wide in zip(posts_mm, half, strict=True)
        if wide > 0 and x0 < x + wide and x - wide < x1
    )


def _straight(whole: shapely.Polygon, taken: list[tuple[float, float]]) -> list[BaseGeometry]:
    """What is left of a bar between the posts."""
    x0, low, x1, high = whole.bounds
    starts, stops = [x0, *(stop for _, stop in taken)], [*(start for start, _ in taken), x1]
    return [
        shapely.box(start, low, stop, high)
        for start, stop in zip(starts, stops, strict=True)
        if start < stop
    ]


def _way_round(
    plate: BusPlate, bar: PlateBar, row_mm: NDArray[np.float64], taken: tuple[float, float]
) -> BaseGeometry:
    """Copper over the sheet between two cells' spots, where a post has taken part of the bar."""
    x, line = row_mm[:, 0], float(row_mm[0, 1])
    middle = sum(taken) / 2.0
    left, right = x[x <= middle].max(initial=-np.inf), x[x > middle].min(initial=np.inf)
    if not np.isfinite([left, right]).all():
        return shapely.Polygon()
    _, low, _, high = bar.whole.bounds
    if high > line > low or left + OFF_SPOTS_MM >= right - OFF_SPOTS_MM:
        return shapely.Polygon()
    low, high = (line - INWARD_MM, high) if low >= line else (low, line + INWARD_MM)
    beside = shapely.box(left + OFF_SPOTS_MM, low, right - OFF_SPOTS_MM, high)
    thin = NARROW_MM / 2.0
    core = shapely.intersection(beside, plate.body).buffer(-thin, quad_segs=CURVE)
    return shapely.intersection(core.buffer(thin, quad_segs=CURVE), plate.body)


def _along(piece: shapely.Polygon, cells_x_mm: NDArray[np.float64]) -> int:
    """How many cells of a row a piece runs along."""
    x0, _, x1, _ = piece.bounds
    inside = (cells_x_mm >= x0 - LEVEL_MM) & (cells_x_mm <= x1 + LEVEL_MM)
    return int(inside.sum())
