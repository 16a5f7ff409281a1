"""Plan of each holder tile: the Voronoi cells of its cells, parted from its neighbours by a gap."""

from __future__ import annotations

import numpy as np
import shapely
from numpy.typing import NDArray

from layouts.cells.arrangement import CellLayout
from layouts.cells.cuts import TILE_GAP_MM

BEYOND_MM = 60.0  # outer tiles reach so far past the centres: there the outline decides
MERGE_MM = 1e-6  # corners nearer than this are one: far below any detail, far above float noise
NUDGE_MM = 2e-6  # where cells can't be drawn from the true centres
FLAT_MM = 1e-7  # a corner that stands off its neighbours' line by less is no corner


def _clean(ring: NDArray[np.float64]) -> NDArray[np.float64]:
    """Corners of a closed ring without doubles and without corners on a straight line."""
    points = ring[:-1]
    points = points[np.hypot(*(points - np.roll(points, 1, axis=0)).T) > MERGE_MM]
    before, after = np.roll(points, 1, axis=0), np.roll(points, -1, axis=0)
    along = after - before
    off = along[:, 0] * (points - before)[:, 1] - along[:, 1] * (points - before)[:, 0]
    return np.asarray(points[np.abs(off) > FLAT_MM * np.hypot(*along.T)], dtype=np.float64)


def tile_polygons(cell_layout: CellLayout) -> list[NDArray[np.float64] | None]:
    """The polygon that cuts each tile out of the whole holder, (k, 2) counter-clockwise each.

    The union of the Voronoi cells of the tile's own cells, from their real centres (seams
    widened), moved in by half of ``TILE_GAP_MM`` on every side; outer cells reach
    ``BEYOND_MM`` past the field. ``[None]`` when the holder is one piece.

    Raises ValueError when a tile's cells do not hang together.
    """
    xy, tile = cell_layout.xy_mm, cell_layout.tile
    count = int(tile.max()) + 1
    if count == 1:
        return [None]
    frame = shapely.box(*(xy.min(axis=0) - BEYOND_MM), *(xy.max(axis=0) + BEYOND_MM))
    cells = _cells(xy, frame)
    found: list[NDArray[np.float64] | None] = []
    for number in range(count):
        whole = shapely.union_all(cells[tile == number], grid_size=MERGE_MM)
        moved = shapely.buffer(whole, -TILE_GAP_MM / 2, join_style="mitre", mitre_limit=10.0)
        if not isinstance(moved, shapely.Polygon) or len(moved.interiors):
            raise ValueError(f"cells of holder tile {number} are not connected")
        ring = shapely.get_coordinates(shapely.orient_polygons(moved).exterior)
        found.append(_clean(ring))
    return found


def _cells(xy_mm: NDArray[np.float64], frame: shapely.Polygon) -> NDArray[np.object_]:
    """The Voronoi cell of every centre within a frame, (n,) polygons with shared corners.

    On a grid four cells meet in each corner, which now and then breaks the library's drawing:
    then it is drawn anew with centres moved by far less than anything is printed to.
    """
    moved = np.sin(np.arange(2 * len(xy_mm)) ** 2).reshape(-1, 2)  # the same at every run
    for nudge in (0.0, NUDGE_MM, 10 * NUDGE_MM):
        centres = xy_mm + nudge * moved
        drawn = shapely.get_parts(
            shapely.voronoi_polygons(shapely.multipoints(centres), extend_to=frame)
        )
        # cut by the frame's straight sides: the general cut trips over corners that nearly meet
        drawn = np.array([shapely.clip_by_rect(cell, *frame.bounds) for cell in drawn])
        centre, cell = shapely.STRtree(drawn).query(shapely.points(centres), predicate="within")
        sound = len(centre) == len(xy_mm) == len(set(cell.tolist()))
        if sound and abs(shapely.area(drawn).sum() / frame.area - 1.0) < MERGE_MM:
            # neighbours compute shared corners each for itself: one grid makes them one corner.
            # Each corner alone: a repair of the whole cell fails where its corners fall together
            sorted_cells = drawn[cell[np.argsort(centre)]]
            return np.asarray(shapely.set_precision(sorted_cells, MERGE_MM, mode="pointwise"))
    raise ValueError("the cells of the block could not be separated")
