"""What a plate keeps for one rework: spare weld places, lines to cut it along, an edge to peel.

A cut runs where two cells are equally far, the edges of their Voronoi cells: there every can's rim
is as far away as cells leave between them, so no cut crosses a rim.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.spatial import Voronoi

from layouts.cells.arrangement import CellLayout
from layouts.pack import Pack
from layouts.plates.sizes import plate_sizes
from layouts.plates.spots import layer_spots
from layouts.strips.lip import positive_end
from layouts.strips.plate import BusPlate
from layouts.strips.weld_spots import PROBES_MM

__all__ = ["SPARE_CLEAR_MM", "PeelEdge", "peel_edge", "rework_cuts", "spare_shots"]

SPARE_CLEAR_MM = 1.0  # of sheet between two spots, so that the second finds sound metal; judgement
SPOT_WIDE_MM = 0.8  # a weld spot in sheet of 0.15 to 0.2; judgement, no source
EDGE_MM = 0.5  # of sheet beside a spot's middle
STEP_MM = 0.3  # of the places tried
FAR_MM = 1e4  # beyond any pack
LEAST_CUT_MM = 0.5  # a shorter piece of a line is none


@dataclass(frozen=True, kw_only=True, slots=True)
class PeelEdge:
    """Where a plate's parts are rolled up from: a place on its edge, the way into the plate, and
    which edge it is, in words."""

    at_mm: tuple[float, float]
    inward: tuple[float, float]
    words: str


def spare_shots(
    pack: Pack, cell_layout: CellLayout, plate: BusPlate
) -> tuple[NDArray[np.float64], ...]:
    """(m, 2, 2) for each can end of a plate: shots of a second set of spots, no more than there are
    in the first.

    Within the pad and the window, on the sheet, off its bar and copper beneath it,
    ``SPARE_CLEAR_MM`` clear of all spots and of each other; m is less where the pad has no space
    for all of them."""
    sizes, window = plate_sizes(pack), pack.holder.window_mm / 2.0
    positive = positive_end(cell_layout, plate.face)
    free = plate.body if plate.bar is None else plate.body.difference(plate.bar.shape)
    if plate.pierced is not None:  # onto the can, through its hole
        free = free.difference(plate.pierced)
    sheet = free.buffer(-EDGE_MM)
    shapely.prepare(sheet)
    welded = [layer_spots(cell_layout, plate, layer) for layer in range(max(1, len(plate.layers)))]
    most = max(spots.shape[1] for spots in welded)
    found = []
    for k, cell in enumerate(plate.cells):
        pad = sizes.positive_pad_mm if positive[cell] else sizes.pad_mm
        tried = cell_layout.xy_mm[cell] + _places(min(pad, window) - EDGE_MM)
        tried = tried[shapely.contains_xy(sheet, tried[..., 0], tried[..., 1]).all(axis=1)]
        taken = np.vstack([spots[k].reshape(-1, 2) for spots in welded])
        found.append(_clear_of(tried, taken, most))
    return tuple(found)


@cache
def _places(reach_mm: float) -> NDArray[np.float64]:
    """(n, 2, 2) shots whose spots lie within a reach of the middle, near ones first, those in line
    with the first set before others."""
    steps = int(reach_mm / STEP_MM)
    line = STEP_MM * np.arange(-steps, steps + 1)
    middle = np.stack(np.meshgrid(line, line), axis=-1).reshape(-1, 2)
    apart = np.array([(-PROBES_MM / 2, 0.0), (PROBES_MM / 2, 0.0)])
    shots = middle[:, None] + apart
    within = np.hypot(*np.moveaxis(shots, -1, 0)).max(axis=1) <= reach_mm
    far = np.round(np.hypot(*middle.T) + np.abs(middle[:, 0]) / 2.0, 6)
    order = np.lexsort((middle[:, 0], middle[:, 1], far))
    return np.asarray(shots[order[within[order]]])


def _clear_of(
    tried: NDArray[np.float64], taken: NDArray[np.float64], most: int
) -> NDArray[np.float64]:
    """The first places that are clear of all that is taken, and of each other."""
    apart = SPARE_CLEAR_MM + SPOT_WIDE_MM - 1e-9
    chosen: list[NDArray[np.float64]] = []
    while len(tried) and len(chosen) < most:
        off = np.hypot(*np.moveaxis(tried[:, :, None] - taken, -1, 0)).min(axis=(1, 2))
        tried = tried[off >= apart]
        if len(tried):
            chosen.append(tried[0])
            taken = tried[0]
    return np.array(chosen).reshape(-1, 2, 2)


def rework_cuts(
    cell_layout: CellLayout, plates: Sequence[BusPlate]
) -> tuple[tuple[NDArray[np.float64], ...], ...]:
    """For each plate its lines (k, 2) to cut along, between every two of its cells, no bar on them.

    No line comes nearer to a cell's middle than half the least distance of two cells."""
    between = _between(cell_layout)
    return tuple(
        _on_sheet(
            plate,
            [line for pair, line in between.items() if set(plate.cells) >= set(pair)],
        )
        for plate in plates
    )


def group_seam(cell_layout: CellLayout, plate: BusPlate) -> tuple[NDArray[np.float64], ...]:
    """The lines (k, 2) between a plate's two groups."""
    group = cell_layout.group
    return _on_sheet(
        plate,
        [
            line
            for (a, b), line in _between(cell_layout).items()
            if {a, b} <= set(plate.cells) and group[a] != group[b]
        ],
    )


def _between(cell_layout: CellLayout) -> dict[tuple[int, int], shapely.LineString]:
    """The line between any two neighbours, by their indices, rising."""
    xy = cell_layout.xy_mm
    far = FAR_MM * np.array([(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)])
    regions = Voronoi(np.vstack([xy, xy.mean(axis=0) + far]))
    found = {}
    for pair, ends in zip(regions.ridge_points.tolist(), regions.ridge_vertices, strict=True):
        if max(pair) < len(xy) and min(ends) >= 0:
            found[min(pair), max(pair)] = shapely.LineString(regions.vertices[ends])
    return dict(sorted(found.items()))


def _on_sheet(
    plate: BusPlate, lines: Sequence[shapely.LineString]
) -> tuple[NDArray[np.float64], ...]:
    """What of the lines lies on a plate's sheet, off its bar, joined where they meet."""
    if not lines:
        return ()
    sheet = plate.body if plate.bar is None else plate.body.difference(plate.bar.shape)
    inside = shapely.intersection(shapely.union_all(lines), sheet)
    parts = shapely.get_parts(shapely.line_merge(inside)).tolist()
    return tuple(
        shapely.get_coordinates(part)
        for part in parts
        if part.geom_type == "LineString" and part.length >= LEAST_CUT_MM
    )


def peel_edge(cell_layout: CellLayout, plate: BusPlate) -> PeelEdge:
    """The edge along a plate's negative ends, where no positive rim lies under the pliers; of an
    end plate the one opposite its bar or tail."""
    xy, cells = cell_layout.xy_mm, np.array(plate.cells)
    positive = positive_end(cell_layout, plate.face)[cells]
    ends = cells
    if not plate.is_end:
        ends = cells[~positive]
        way = xy[ends].mean(axis=0) - xy[cells[positive]].mean(axis=0)
        words = f"along minus of group {max(plate.groups)}"
    elif plate.bar is not None:
        x0, y0, x1, y1 = plate.bar.shape.bounds
        middle = np.array([x0 + x1, y0 + y1]) / 2.0
        # across the bar, whose ends don't lie evenly about the cells
        way = (xy[cells].mean(axis=0) - middle) * np.array([x1 - x0 < y1 - y0, x1 - x0 >= y1 - y0])
        words = "opposite its bar"
    else:
        far = xy[cells].max(axis=0) if plate.tail_end_mm is None else np.array(plate.tail_end_mm)
        way = xy[cells].mean(axis=0) - far
        words = "opposite its lead"
    out = np.zeros(2)
    axis = int(np.argmax(np.abs(way)))
    out[axis] = np.sign(way[axis]) or 1.0
    nearest = ends[int(np.argmin(np.hypot(*(xy[ends] - xy[ends].mean(axis=0)).T)))]
    line = shapely.LineString([xy[nearest], xy[nearest] + out * FAR_MM])
    on = shapely.get_coordinates(shapely.intersection(line, plate.body))
    at = on[int(np.argmax(on @ out))]
    return PeelEdge(
        at_mm=(float(at[0]), float(at[1])),
        inward=(float(-out[0]), float(-out[1])),
        words=words,
    )
