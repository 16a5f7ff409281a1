"""The outline of a joint's plate before it gives way to what stands round it.

Two straight rows: the hull of all pads, cut from stock of about that width. Any other joint: pads,
the gaps' triangles (squares) and single bars. Slots run in from the edge between two cells to the
middle of a gap: the lip's tongue stands there, holds the cans and carries the webs in print.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from layouts.cells.arrangement import CellLayout
from layouts.pack import Pack
from layouts.plates.bars import outer_row
from layouts.plates.sizes import (
    INSIDE_MM,
    NECK_MM,
    SHORT_MM,
    SLOT_MM,
    TAIL_MM,
    PlateSizes,
)
from layouts.plates.touching import Touching, touching

__all__ = [
    "NeckedShape",
    "PlateBody",
    "in_one_piece",
    "largest_part",
    "pads_of",
    "plate_body",
    "row_body",
]

CURVE = 4  # chords a quarter turn: 0.4 % of the radius off
LEVEL_MM = 1e-6  # float noise in where rows lie
BEYOND_MM = 3.0  # a cut begins so far outside the pads
TRIM_MM = 0.6  # a trimmed edge begins so far inside the windows' rims


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class PlateBody:
    """``shape``; ``open_gaps``: gaps that no slot leads to; ``slots``: how many slots there are."""

    shape: BaseGeometry
    open_gaps: tuple[tuple[int, ...], ...]
    slots: int


def pads_of(
    xy_mm: NDArray[np.float64],
    cells: NDArray[np.int64],
    positive: NDArray[np.bool_],
    of: PlateSizes,
) -> BaseGeometry:
    """Discs over the can ends, in one shape of several parts."""
    radius = np.where(positive[cells], of.positive_pad_mm, of.pad_mm)
    return shapely.union_all(shapely.buffer(shapely.points(xy_mm[cells]), radius, quad_segs=CURVE))


def plate_body(
    pack: Pack,
    cell_layout: CellLayout,
    cells: NDArray[np.int64],
    sizes: PlateSizes,
    *,
    positive: NDArray[np.bool_],
    columns: BaseGeometry,
) -> PlateBody:
    """The outline of the joint of ``cells``; ``positive`` (N,): positive ends of its face;
    ``columns``: posts with their clearance."""
    near = touching(cell_layout, cells, pack.lattice)
    pads = pads_of(cell_layout.xy_mm, cells, positive, sizes)
    row, side = cells[:0], 1
    if len(np.unique(cell_layout.group[cells])) == 1:
        row, side = outer_row(cell_layout, cells)
    if not len(row) and _two_rows(cell_layout, cells, near):
        return _slotted_hull(cell_layout.xy_mm, cells, near, pads, sizes)
    if len(row) == len(cells):
        return row_body(cell_layout.xy_mm, near, pads, sizes, side, columns)
    wide = pack.strip.link_width_mm if near.gaps else pack.strip.lead_width_mm
    if positive[cells].any():  # three may meet on one end, and gas must get past them
        wide = min(wide, TAIL_MM)
    found = _pieced(pack, cell_layout.xy_mm, near, pads, set(row.tolist()), wide)
    if not len(row):
        return found
    xy = cell_layout.xy_mm
    pairs = [pair for pair in near.pairs if set(row.tolist()).issuperset(pair)]
    cuts, reached = _edge_slots(xy, near, pairs, sizes, side, columns)
    shape = shapely.union(found.shape, _edge_band(xy[row], sizes, side))
    return PlateBody(
        shape=shapely.union(shape.difference(shapely.union_all(cuts)), pads),
        open_gaps=tuple(gap for gap in found.open_gaps if gap not in reached),
        slots=found.slots + len(cuts),
    )


class NeckedShape:
    """A shape, and what of it a neck's half width inside its edge is left: its core.

    What is cut off the shape takes itself and that half width off the core, which is far quicker
    than to shrink the whole shape again."""

    def __init__(self, shape: BaseGeometry, neck_mm: float, core: BaseGeometry | None = None):
        self.shape, self.neck_mm = shape, neck_mm
        self._core = shape.buffer(-neck_mm / 2.0, quad_segs=CURVE) if core is None else core

    def without(self, cut: BaseGeometry) -> NeckedShape:
        """What a cut leaves."""
        wide = cut.buffer(self.neck_mm / 2.0, quad_segs=2 * CURVE)
        return NeckedShape(self.shape.difference(cut), self.neck_mm, self._core.difference(wide))

    def joins(self, centres_mm: NDArray[np.float64]) -> bool:
        """Whether a neck of that width joins all of these places (n, 2)."""
        parts = [part for part in shapely.get_parts(self._core) if part.area > 1.0]
        if len(parts) != 1:
            return False
        shapely.prepare(parts[0])
        near = shapely.dwithin(parts[0], shapely.points(centres_mm), self.neck_mm / 2.0)
        return bool(near.all())


def largest_part(shape: BaseGeometry) -> shapely.Polygon:
    """That of the most area; an empty one where there is none."""
    parts = shapely.get_parts(shape).tolist()
    return max(parts, key=shapely.area) if parts else shapely.Polygon()


def in_one_piece(shape: BaseGeometry, centres_mm: NDArray[np.float64], neck_mm: float) -> bool:
    """Whether a neck of that width joins all of these places (n, 2)."""
    return NeckedShape(shape, neck_mm).joins(centres_mm)


def _two_rows(cell_layout: CellLayout, cells: NDArray[np.int64], near: Touching) -> bool:
    """Two groups, each on a straight row of its own, with gaps all along between them."""
    y = np.round(cell_layout.xy_mm[cells, 1], 3)
    rows = set(zip(y.tolist(), cell_layout.group[cells].tolist(), strict=True))
    return (
        len(rows) == 2 == len(set(y.tolist()))
        and len(near.gaps) > 0
        and len(near.gaps) >= len(cells) // 2 - 1
    )


def _slotted_hull(
    xy: NDArray[np.float64],
    cells: NDArray[np.int64],
    near: Touching,
    pads: BaseGeometry,
    sizes: PlateSizes,
) -> PlateBody:
    """The hull of two rows' pads, a slot to each gap where a neck remains, from alternate sides."""
    whole = NeckedShape(shapely.convex_hull(pads), NECK_MM)
    borders = {pair: near.gaps_beside(pair) for pair in near.pairs}
    edge = {pair for pair, count in borders.items() if count == 1}
    left: list[tuple[int, ...]] = []
    slots = 0
    middles = {gap: xy[list(gap)].mean(axis=0) for gap in near.gaps}
    for number, gap in enumerate(sorted(near.gaps, key=lambda gap: _place(middles[gap]))):
        ways = [pair for pair in combinations(gap, 2) if pair in edge]
        ways.sort(key=lambda pair: _slot_rank(xy, pair, middles[gap], number))
        for pair in ways:
            short = SHORT_MM if len(gap) == 3 and len(ways) == 2 else 0.0
            tried = whole.without(_slot(xy, pair, middles[gap], short, sizes))
            if tried.joins(xy[cells]):
                whole, slots = tried, slots + 1
                edge.discard(pair)
                break
        else:
            left.append(gap)
    shape, middle_y = whole.shape, float(xy[cells, 1].mean())
    shallow = [pair for pair in sorted(edge) if abs(xy[pair[0], 1] - xy[pair[1], 1]) < LEVEL_MM]
    for pair in shallow:
        inward = np.array([0.0, np.sign(middle_y - xy[pair[0], 1])])
        at = xy[list(pair)].mean(axis=0)
        shape = shape.difference(_cut(at, inward, sizes.pad_mm + BEYOND_MM, 2.0 * INSIDE_MM))
    return PlateBody(shape=shape, open_gaps=tuple(left), slots=slots + len(shallow))


def _place(point: NDArray[np.float64]) -> tuple[float, float]:
    return round(float(point[0]), 3), round(float(point[1]), 3)


def _slot_rank(
    xy: NDArray[np.float64], pair: tuple[int, ...], middle: NDArray[np.float64], number: int
) -> tuple[bool, bool]:
    """Edges along the rows first, above and below in turn."""
    i, j = pair
    slanted = abs(float(xy[i, 1] - xy[j, 1])) > LEVEL_MM
    above = float(xy[[i, j], 1].mean()) > float(middle[1])
    return slanted, above ^ (number % 2 == 0)


def _slot(
    xy: NDArray[np.float64],
    pair: tuple[int, ...],
    middle: NDArray[np.float64],
    short_mm: float,
    sizes: PlateSizes,
) -> BaseGeometry:
    """From outside the plate between two cells to the middle of a gap, or short of it."""
    at = xy[list(pair)].mean(axis=0)
    way = middle - at
    long = float(np.hypot(*way))
    return _cut(at, way / long, sizes.pad_mm + BEYOND_MM, long - short_mm)


def _cut(
    at_mm: NDArray[np.float64], inward: NDArray[np.float64], back_mm: float, deep_mm: float
) -> BaseGeometry:
    """A slot along ``inward``, from ``back_mm`` outside a place to ``deep_mm`` past it."""
    line = shapely.LineString([at_mm - inward * back_mm, at_mm + inward * deep_mm])
    return line.buffer(SLOT_MM / 2.0, cap_style="flat")


def row_body(
    xy: NDArray[np.float64],
    near: Touching,
    pads: BaseGeometry,
    sizes: PlateSizes,
    side: int,
    columns: BaseGeometry,
) -> PlateBody:
    """A lone row: a band from the pads out to the holder's edge, slots from the inner side."""
    bands = [_pair_band(xy, pair, sizes, side) for pair in near.pairs]
    cuts, _ = _edge_slots(xy, near, near.pairs, sizes, side, columns)
    whole = shapely.union_all([*bands, pads]).difference(shapely.union_all(cuts))
    return PlateBody(shape=whole, open_gaps=(), slots=len(cuts))


def _edge_slots(
    xy: NDArray[np.float64],
    near: Touching,
    pairs: Sequence[tuple[int, int]],
    sizes: PlateSizes,
    side: int,
    columns: BaseGeometry,
) -> tuple[list[BaseGeometry], set[tuple[int, ...]]]:
    """Slots between the cells of a row at the edge, and the gaps that they lead to.

    Each runs inward from past the row's line, or where a post stands in the band from that line, to
    the gap's middle, or out of the plate where there is none. No slot where that leaves no neck."""
    cuts, reached = [], set()
    outward = np.array([0.0, float(side)])
    for pair in pairs:
        at = xy[list(pair)].mean(axis=0)
        gap = next((gap for gap in near.gaps if set(pair) <= set(gap)), None)
        back = sizes.pad_mm + BEYOND_MM
        if gap is not None:
            back = float(np.hypot(*(xy[list(gap)].mean(axis=0) - at)))
        band = _pair_band(xy, pair, sizes, side).difference(columns)
        for deep in (BEYOND_MM, 0.0):
            cut = _cut(at, outward, back, deep)
            core = band.difference(cut).buffer(-NECK_MM / 2.0, quad_segs=CURVE)
            if len(shapely.get_parts(core)) == 1:
                cuts.append(cut)
                reached |= set() if gap is None else {gap}
                break
    return cuts, reached


def _pair_band(
    xy: NDArray[np.float64], pair: tuple[int, int], sizes: PlateSizes, side: int
) -> BaseGeometry:
    """From the inner edge of two cells' pads out to the holder's edge."""
    (x0, y), (x1, _) = sorted(xy[list(pair)].tolist())
    low, high = sorted((y - side * sizes.positive_pad_mm, y + side * sizes.edge_mm))
    return shapely.box(x0, low, x1, high)


def _edge_band(row_mm: NDArray[np.float64], sizes: PlateSizes, side: int) -> BaseGeometry:
    """From a row's line out to the holder's edge, for a bar to lie on."""
    y = float(row_mm[0, 1])
    low, high = sorted((y + side * sizes.edge_mm, y))
    return shapely.box(float(row_mm[0, 0]), low, float(row_mm[-1, 0]), high)


def _pieced(
    pack: Pack,
    xy: NDArray[np.float64],
    near: Touching,
    pads: BaseGeometry,
    banded: set[int],
    wide_mm: float,
) -> PlateBody:
    """Any other joint: outer edges between two cans stay inside their line, for the lip; not in
    the ``banded`` row, which a band goes past. ``wide_mm``: of bars where there is no gap."""
    plates = [shapely.MultiPoint(xy[list(gap)]).convex_hull for gap in near.gaps]
    bars: list[BaseGeometry] = []
    trims: list[BaseGeometry] = []
    open_mm = 2.0 * (pack.pitch_mm / 2.0 - pack.holder.window_mm / 2.0 + TRIM_MM)
    for pair in near.pairs:
        beside = near.gaps_beside(pair)
        line = shapely.LineString(xy[list(pair)])
        if beside == 0:
            bars.append(line.buffer(wide_mm / 2.0, cap_style="flat"))
        elif beside == 1 and not banded.issuperset(pair):
            trims.append(_trim(xy, pair, open_mm))
    whole = shapely.union_all([*plates, *bars])
    if trims:
        whole = whole.difference(shapely.union_all(trims))
    return PlateBody(shape=shapely.union_all([whole, pads]), open_gaps=near.gaps, slots=len(trims))


def _trim(xy: NDArray[np.float64], pair: Sequence[int], wide_mm: float) -> BaseGeometry:
    """What an edge between two cans gives up, ``INSIDE_MM`` to both sides of their line."""
    a, b = xy[list(pair)]
    middle, unit = (a + b) / 2.0, (b - a) / np.hypot(*(b - a))
    line = shapely.LineString([middle - unit * wide_mm / 2.0, middle + unit * wide_mm / 2.0])
    return line.buffer(INSIDE_MM, cap_style="flat")
