"""A plate whole: clear of what stands round it, in one piece, open over positive ends."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.sparse import coo_array
from scipy.sparse.csgraph import minimum_spanning_tree
from shapely.geometry.base import BaseGeometry

from layouts.cells.arrangement import CellLayout
from layouts.pack import Pack
from layouts.plates.bars import cells_under_bar
from layouts.plates.outline import CURVE, in_one_piece, largest_part
from layouts.plates.sizes import (
    FILLET_MM,
    LEAST_WIDE_MM,
    PLATE_GAP_MM,
    TAIL_MM,
    PlateSizes,
    needed_mm2,
)
from layouts.plates.touching import touching

__all__ = ["is_open", "kept_clear", "whole_plate", "without_points"]

TAB_MM = 6.0  # across a positive end: two spots beside each other, and gas on both sides of it
BEYOND_MM = 0.5  # a plate's opening goes so far past the window's edge
CHORD_MM2 = 0.1  # that chords in place of arcs take off a free opening
# weight of a bar that ends on positive ends: each takes some of their opening
POSITIVE_COST = 10.0


def whole_plate(
    pack: Pack,
    cell_layout: CellLayout,
    net: NDArray[np.int64],
    shape: BaseGeometry,
    pads: BaseGeometry,
    away: BaseGeometry,
    sizes: PlateSizes,
    *,
    positive: NDArray[np.bool_],
) -> shapely.Polygon:
    """The plate over the cells of ``net``.

    ``shape``: its outline before; ``pads``: over its can ends; ``away``: what it keeps clear of;
    ``positive`` (N,). Where that leaves it in pieces, bars between touching cells join them.
    """
    xy = cell_layout.xy_mm
    clear = shapely.union_all([shape.difference(away), pads])
    fused = pack.strip.cell_fuse_mm is not None  # rings round the pads leave more open than tabs
    opened = clear if fused else _opened(pack, cell_layout, net, clear, positive)
    whole = _rounded(shapely.union_all([opened, pads]))
    if in_one_piece(whole, xy[net], LEAST_WIDE_MM):
        return whole
    bars = _joining_bars(pack, cell_layout, net, positive)
    return _rounded(shapely.union_all([whole, opened, pads, *bars]))


def kept_clear(
    pack: Pack,
    cell_layout: CellLayout,
    net: NDArray[np.int64],
    others: Sequence[BaseGeometry],
    columns: BaseGeometry,
) -> BaseGeometry:
    """What a plate over the cells of ``net`` keeps clear of: other potentials' windows and plates
    (``others``) with their clearances, and ``columns``, posts with theirs."""
    xy = cell_layout.xy_mm
    foreign = np.setdiff1d(np.arange(len(xy)), net)
    keep = pack.holder.window_mm / 2.0 + PLATE_GAP_MM
    near = foreign[_near(xy, net, foreign, 2.0 * pack.pitch_mm)]
    windows = shapely.buffer(shapely.points(xy[near]), keep, quad_segs=2 * CURVE)
    beside = [other.buffer(PLATE_GAP_MM, quad_segs=CURVE) for other in others]
    return shapely.union_all([*windows, *beside, columns])


def _near(
    xy: NDArray[np.float64], net: NDArray[np.int64], others: NDArray[np.int64], reach_mm: float
) -> NDArray[np.bool_]:
    """Which of the others lie within reach of the net's box."""
    low, high = xy[net].min(axis=0) - reach_mm, xy[net].max(axis=0) + reach_mm
    return np.asarray(((xy[others] >= low) & (xy[others] <= high)).all(axis=1))


def is_open(pack: Pack, at_mm: NDArray[np.float64], shape: BaseGeometry) -> bool:
    """Whether a plate of that shape lets the gas of the cell at ``at_mm`` (2,) out."""
    opening = min(pack.holder.window_mm, pack.holder.ring_hole_mm) / 2.0
    hole = shapely.Point(at_mm).buffer(opening, quad_segs=4 * CURVE)
    return bool(hole.difference(shape).area >= needed_mm2(pack) - CHORD_MM2)


def _opened(
    pack: Pack,
    cell_layout: CellLayout,
    net: NDArray[np.int64],
    shape: BaseGeometry,
    positive: NDArray[np.bool_],
) -> BaseGeometry:
    """Over a positive end with too little free opening only a tab stays, towards the plate's
    middle and beyond the end on the other side as far as the plate went.

    In the outer one of an end group's rows it points to the copper bar, which covers one side of
    the opening too."""
    xy = cell_layout.xy_mm
    barred = cells_under_bar(cell_layout, net)
    if len(barred) == len(net):
        barred = barred[:0]
    window = pack.holder.window_mm / 2.0
    middle = xy[net].mean(axis=0)
    for cell in net[positive[net]].tolist():
        if is_open(pack, xy[cell], shape):
            continue
        end = shapely.Point(xy[cell])
        way = np.array([0.0, 1.0]) if cell in barred else middle - xy[cell]
        far = float(np.hypot(*way))
        unit = way / far if far > 0 else np.array([1.0, 0.0])
        reach = window + BEYOND_MM + 1.0
        line = shapely.LineString([xy[cell] - unit * reach, xy[cell] + unit * reach])
        tab = line.buffer(TAB_MM / 2.0, cap_style="flat")
        disc = end.buffer(window + BEYOND_MM, quad_segs=2 * CURVE)
        shape = shape.difference(disc.difference(tab))
    return shape


def _joining_bars(
    pack: Pack, cell_layout: CellLayout, net: NDArray[np.int64], positive: NDArray[np.bool_]
) -> list[BaseGeometry]:
    """Bars over the fewest touching pairs that join all cells, few of them on positive ends."""
    pairs = np.array(touching(cell_layout, net, pack.lattice).pairs, dtype=np.int64).reshape(-1, 2)
    at = {int(cell): k for k, cell in enumerate(net)}
    i, j = (np.array([at[int(cell)] for cell in column], dtype=np.int64) for column in pairs.T)
    cost = 1.0 + POSITIVE_COST * positive[pairs].sum(axis=1)
    tree = minimum_spanning_tree(coo_array((cost, (i, j)), shape=(len(net), len(net))).tocsr())
    xy = cell_layout.xy_mm[net]
    return [
        shapely.LineString([xy[a], xy[b]]).buffer(TAIL_MM / 2.0, cap_style="flat")
        for a, b in zip(*tree.nonzero(), strict=True)
    ]


def without_points(shape: BaseGeometry) -> BaseGeometry:
    """What of a shape is ``LEAST_WIDE_MM`` wide."""
    thin = LEAST_WIDE_MM / 2.0
    return shape.buffer(-thin, quad_segs=CURVE).buffer(thin, quad_segs=CURVE)


def _rounded(shape: BaseGeometry) -> shapely.Polygon:
    """Nothing narrower than ``LEAST_WIDE_MM``, inner corners round; its largest part."""
    wide = without_points(shape)
    round_in = wide.buffer(FILLET_MM, quad_segs=CURVE).buffer(-FILLET_MM, quad_segs=CURVE)
    return largest_part(round_in)
