"""A joint that can be opened: two sheets, a copper bar on each, joined outside by a screwed bridge.

Each row of the joint is a sheet of its own with its bar on the side of the other row. Both bars run
out to where the wiring compartment begins; a piece of copper lies across their ends.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from layouts.cells.arrangement import CellLayout
from layouts.pack import Face, Pack
from layouts.plates.bars import bar_stock_mm, lug_end, space_for_bar_mm
from layouts.plates.bridge import bridged_place
from layouts.plates.outline import PlateBody, pads_of, row_body
from layouts.plates.sizes import PLATE_GAP_MM, SPOTS_REACH_MM, PlateSizes, plate_sizes
from layouts.plates.touching import touching
from layouts.plates.whole import kept_clear, whole_plate
from layouts.strips.lip import positive_end
from layouts.strips.plate import BusPlate, LugEnd, PlateBar

__all__ = ["bridge_bar", "in_two_sheets"]

OFF_SPOTS_MM = 0.2  # from the spots to a bar
BAR_LEAST_MM = 3.0  # width of a bar between two rows
LEVEL_MM = 1e-6


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class _Rows:
    """``cells``: of the lower and the upper row; ``y``: of both; ``middle``: between them."""

    cells: tuple[NDArray[np.int64], NDArray[np.int64]]
    y: tuple[float, float]
    middle: float


def _rows(cell_layout: CellLayout, net: NDArray[np.int64]) -> _Rows | None:
    """Two groups that each lie on a straight row of their own; None for any other joint."""
    xy, group = cell_layout.xy_mm, cell_layout.group
    found = []
    for number in np.unique(group[net]):
        cells = net[group[net] == number]
        if float(np.ptp(xy[cells, 1])) > LEVEL_MM or len(cells) < 2:
            return None
        found.append(cells[np.argsort(xy[cells, 0])])
    if len(found) != 2:
        return None
    low, high = sorted(found, key=lambda cells: float(xy[cells[0], 1]))
    y = (float(xy[low[0], 1]), float(xy[high[0], 1]))
    return _Rows(cells=(low, high), y=y, middle=sum(y) / 2.0)


def bridge_bar(pack: Pack, cell_layout: CellLayout, current_a: float) -> PlateBar | None:
    """The copper of the joint that is opened for any work: both bars, drilled, and the bridge.

    None where the pack has no such joint, its rows leave no space for bars, a seam between tiles
    crosses it, or fusible necks lie there. Widths follow from the rows' distance, the thickness
    from the current."""
    place = None if cell_layout.room is not None else bridged_place(pack, cell_layout)
    if place is None or pack.strip.cell_fuse_mm is not None:
        return None
    face, net = place
    rows = _rows(cell_layout, net)
    # across a seam between two tiles the sheets would leave no holes for the tabs that lock these
    if rows is None or len(np.unique(cell_layout.tile[net])) > 1:
        return None
    wide = (rows.y[1] - rows.y[0] - PLATE_GAP_MM) / 2.0 - SPOTS_REACH_MM - OFF_SPOTS_MM
    if wide < BAR_LEAST_MM:
        return None
    ring = pack.holder.ring_mm if positive_end(cell_layout, face)[net].any() else 0.0
    thick = bar_stock_mm(current_a / wide, space_for_bar_mm(pack, ring))
    wall = float(cell_layout.xy_mm[:, 0].max()) + plate_sizes(pack).edge_mm
    gap = PLATE_GAP_MM / 2.0
    pieces, ends, kept = [], [], []
    for cells, side in zip(rows.cells, (-1, 1), strict=True):
        edge = rows.middle + side * gap
        end = lug_end(pack, (wall, edge), (1, side))
        low, high = sorted((edge, edge + side * wide))
        bar = shapely.box(float(cell_layout.xy_mm[cells[0], 0]), low, wall, high)
        pieces.append(shapely.union(bar, end.shape).difference(end.hole))
        ends.append(end)
        kept.append(bar)
    bridge = _bridge(ends)
    both = shapely.union_all(kept)
    return PlateBar(
        pieces=(*pieces, bridge),
        landing=bridge,
        whole=both,
        kept=both,
        width_mm=wide,
        thickness_mm=thick,
        lugs=tuple(ends),
    )


def _bridge(ends: Sequence[LugEnd]) -> shapely.Polygon:
    """Across both ends, beyond their bends, with their holes."""
    x0, x1 = ends[0].bend_mm, ends[0].shape.bounds[2]
    low, high = min(end.shape.bounds[1] for end in ends), max(end.shape.bounds[3] for end in ends)
    holes = shapely.union_all([end.hole for end in ends])
    return shapely.box(x0, low, x1, high).difference(holes)


def in_two_sheets(
    pack: Pack,
    cell_layout: CellLayout,
    plate: BusPlate,
    bar: PlateBar,
    posts_mm: NDArray[np.float64],
    others: Sequence[BusPlate],
) -> BusPlate | None:
    """The plate of that joint as two sheets under its copper; None where posts part a sheet.

    ``posts_mm`` (p, 3): x, y and radius with clearance; ``others``: the plates beside it."""
    net = np.array(plate.cells, dtype=np.int64)
    rows = _rows(cell_layout, net)
    if rows is None:
        return None
    sizes = plate_sizes(pack)
    half = replace(sizes, edge_mm=rows.middle - PLATE_GAP_MM / 2.0 - rows.y[0])
    columns = shapely.union_all(shapely.buffer(shapely.points(posts_mm[:, :2]), posts_mm[:, 2]))
    beside = [one.body for one in others]
    sheets, slots = [], 0
    for cells, side in zip(rows.cells, (1, -1), strict=True):
        body, sheet = _sheet(pack, cell_layout, plate.face, cells, side, half, columns, beside)
        sheets.append(sheet)
        slots += body.slots
    return replace(
        plate, body=shapely.MultiPolygon(sheets), tail=None, folded=None, tail_end_mm=None,
        holes=(), slots=slots, bar=bar,
    )  # fmt: skip


def _sheet(
    pack: Pack,
    cell_layout: CellLayout,
    face: Face,
    cells: NDArray[np.int64],
    side: int,
    sizes: PlateSizes,
    columns: BaseGeometry,
    others: Sequence[BaseGeometry],
) -> tuple[PlateBody, shapely.Polygon]:
    """One row's, its edge on the side of the other row."""
    xy, positive = cell_layout.xy_mm, positive_end(cell_layout, face)
    pads = pads_of(xy, cells, positive, sizes)
    near = touching(cell_layout, cells, pack.lattice)
    body = row_body(xy, near, pads, sizes, side, columns)
    away = kept_clear(pack, cell_layout, cells, others, columns)
    sheet = whole_plate(pack, cell_layout, cells, body.shape, pads, away, sizes, positive=positive)
    return body, sheet
