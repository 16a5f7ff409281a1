"""Polarity sign and group number beside every pocket, sunk into a holder's outer face.

Places are tried in a fixed order until the text lies on one land of the lip, clear of its edges,
of screw recesses and of other texts, and nearer to its own cell than to any other. One reads the
outer face from outside, where x runs the other way: texts are mirrored in the plan.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.spatial import cKDTree
from shapely.geometry.base import BaseGeometry

from layouts.holders.holder import HolderTile
from layouts.holders.tile_plan import GROW_MM, LipPiece
from layouts.pack import Pack
from layouts.parts.whole_layers import layers_down_mm, layers_up_mm
from layouts.slabs.digits import PENS, DigitPen, figure_size_mm
from layouts.slabs.open_digits import open_figure_area_mm2, open_figure_loops
from layouts.slabs.profile import Loop, loop_points_mm, mirrored_x, moved, reversed_loop

__all__ = ["PlacedMarks", "Text", "place_signs", "sign_deep_mm", "sign_loops", "text_area_mm2"]

EDGE_MM = 0.5  # free land round a text at least
SQUEEZE_MM = 0.05  # by which a line is broader where it is pressed against the next
BETWEEN_MM = 0.6  # between the figures of a text
APART_MM = 0.8  # between texts
OWN_MM = 2.0  # a text is nearer to its own cell than to any other by as much
DEEP_MM = 0.4  # two layers of 0.2; common practice, no source
FLOOR_LAYERS = 3  # that stay between a text and a seat above it: fewer tear
LINES_PER_STROKE = 1.5  # a stroke narrower than this many printed lines closes up
STROKE_STEP_MM = 0.1  # strokes wider than any of ``PENS`` go up in these steps
FLOAT_MM = 1e-9
ANGLES_DEG = (  # as one reads it: below the cell first, then above, then aslant
    270,
    90,
    240,
    300,
    60,
    120,
    210,
    330,
    30,
    150,
    0,
    180,
    255,
    285,
    75,
    105,
    225,
    315,
    45,
    135,
)
FIRST_OUT_MM = 2.0  # middle of a text from the window's rim outward: near its own cell first
STEP_OUT_MM = 0.4


@dataclass(frozen=True, slots=True)
class Text:
    """A text in place: its cell (position in the tile), what it says, its middle, its pen."""

    cell: int
    says: str
    x_mm: float
    y_mm: float
    pen: DigitPen


@dataclass(frozen=True, kw_only=True, slots=True)
class PlacedMarks:
    """All texts of a tile, in the order of cells; ``unmarked``: cells without even a sign;
    ``unnumbered``: cells that should show their group and have space for the sign only."""

    texts: tuple[Text, ...]
    unmarked: tuple[int, ...]
    unnumbered: tuple[int, ...]


@lru_cache(maxsize=1024)
def _offsets_mm(says: str, pen: DigitPen) -> tuple[float, ...]:
    """x of each figure's middle, from the text's middle, as one reads it."""
    widths = [figure_size_mm(ch, pen)[0] for ch in says]
    x = -(sum(widths) + BETWEEN_MM * (len(says) - 1)) / 2
    middles = []
    for width in widths:
        middles.append(x + width / 2)
        x += width + BETWEEN_MM
    return tuple(middles)


@lru_cache(maxsize=1024)
def _in_plan(says: str, pen: DigitPen) -> tuple[tuple[Loop, ...], ...]:
    """Loops of each figure of a text about its middle, mirrored as the plan needs."""
    return tuple(
        tuple(_mirrored(moved(loop, x, 0.0)) for loop in open_figure_loops(ch, pen))
        for ch, x in zip(says, _offsets_mm(says, pen), strict=True)
    )


def _mirrored(loop: Loop) -> Loop:
    """x turned into -x, the way round kept: outer loops stay counter-clockwise."""
    return reversed_loop(mirrored_x(loop))


@lru_cache(maxsize=1024)
def _hull(says: str, pen: DigitPen) -> NDArray[np.float64]:
    """(k, 2) corners of a convex shape that holds the text in the plan, about its middle."""
    points = [
        point
        for loops in _in_plan(says, pen)
        for loop in loops
        for point in loop_points_mm(loop, 0.02)
    ]
    hull = shapely.buffer(shapely.convex_hull(shapely.multipoints(points)), 0.03, quad_segs=2)
    return np.asarray(shapely.get_coordinates(shapely.simplify(hull, 0.03))[:-1])


def sign_loops(text: Text) -> tuple[tuple[Loop, ...], ...]:
    """Loops of each figure of a placed text, in the tile's plan; outer ones counter-clockwise."""
    return tuple(
        tuple(moved(loop, text.x_mm, text.y_mm) for loop in loops)
        for loops in _in_plan(text.says, text.pen)
    )


def text_area_mm2(says: str, pen: DigitPen) -> float:
    """Area of a text's figures [mm2], by the figures' own formulas."""
    return sum(open_figure_area_mm2(ch, pen) for ch in says)


def sign_deep_mm(pack: Pack) -> float:
    """Depth of the signs: in thick layers as many fewer as leave a whole floor behind a seat."""
    layer_mm, holder = pack.printer.layer_mm, pack.holder
    floor_mm = holder.lip_mm - holder.seat_mm - FLOOR_LAYERS * layer_mm
    return max(layer_mm, min(layers_up_mm(DEEP_MM, layer_mm), layers_down_mm(floor_mm, layer_mm)))


def place_signs(tile: HolderTile, pieces: tuple[LipPiece, ...]) -> PlacedMarks:
    """Find a place for every cell's text; full text before sign alone, wide strokes before narrow.

    ``pieces``: the lip's pieces (``layouts.holders.tile_plan.lip_pieces``). Cells that find no
    place are reported, never squeezed in.
    """
    if tile.sign_deep_mm <= 0:
        return PlacedMarks(texts=(), unmarked=(), unnumbered=())
    land = _land(tile, pieces)
    pens = _pens(tile.line_mm)
    signs = ["+" if positive else "-" for positive in tile.positive_end]
    full = [
        sign + str(group) if number else sign
        for sign, group, number in zip(signs, tile.group, tile.number_cells, strict=True)
    ]
    search = _MarkSearch(tile, land)
    for pen in pens:
        search.run(full, pen)
    for pen in pens:
        search.run(signs, pen)
    texts = tuple(search.found[cell] for cell in sorted(search.found))
    return PlacedMarks(
        texts=texts,
        unmarked=tuple(cell for cell in range(len(signs)) if cell not in search.found),
        unnumbered=tuple(text.cell for text in texts if text.says != full[text.cell]),
    )


def _pens(line_mm: float) -> list[DigitPen]:
    """Those whose strokes are wide enough for the printer's lines, widest first; where none is,
    one as wide as they need, in the shape of the widest."""
    thinnest = LINES_PER_STROKE * line_mm
    fitting = [pen for pen in PENS if pen.stroke_mm >= thinnest - FLOAT_MM]
    stroke_mm = math.ceil(thinnest / STROKE_STEP_MM - FLOAT_MM) * STROKE_STEP_MM
    return fitting or [DigitPen(PENS[0].height_mm / PENS[0].stroke_mm * stroke_mm, stroke_mm)]


def _land(tile: HolderTile, pieces: tuple[LipPiece, ...]) -> BaseGeometry:
    """Where a text may lie: the lip's pieces, clear of their edges and of the screws' recesses."""
    stays = [piece.shape for piece in pieces if not piece.dropped]
    edge_mm = max(EDGE_MM, tile.line_mm + SQUEEZE_MM)  # one line of the nozzle
    land = shapely.buffer(shapely.MultiPolygon(stays), -(edge_mm + GROW_MM), quad_segs=4)
    hole = max(tile.screw_hole_diameter_mm, tile.recess_mm * 2 / math.sqrt(3)) / 2 + edge_mm
    posts = shapely.points(np.array([(p.x_mm, p.y_mm) for p in tile.posts]).reshape(-1, 2))
    return shapely.difference(land, shapely.union_all(shapely.buffer(posts, hole)))


class _MarkSearch:
    """Places tried one after another, all cells that still lack one at once."""

    def __init__(self, tile: HolderTile, land: BaseGeometry) -> None:
        self.found: dict[int, Text] = {}
        self._xy = np.asarray(tile.xy_mm, dtype=np.float64)
        self._land = land
        self._tree = cKDTree(self._xy)
        self._boxes: dict[tuple[int, int], list[tuple[float, float, float, float]]] = {}
        near = self._tree.query(self._xy, k=min(2, len(self._xy)))[0]
        pitch = float(near[:, 1].min()) if len(self._xy) > 1 else tile.pocket_mm + 1.5
        rim = tile.window_mm / 2
        self._reaches = np.arange(rim + FIRST_OUT_MM, pitch / 2 + FIRST_OUT_MM, STEP_OUT_MM)
        shapely.prepare(land)

    def run(self, says: list[str], pen: DigitPen) -> None:
        """Try every place for the cells that have none yet."""
        for angle in ANGLES_DEG:
            # seen from outside x runs the other way
            way = np.array([-math.cos(math.radians(angle)), math.sin(math.radians(angle))])
            for reach in self._reaches:
                cells = np.array([k for k in range(len(self._xy)) if k not in self.found], int)
                if len(cells):
                    self._try(cells, self._xy[cells] + way * reach, says, pen)

    def _try(
        self, cells: NDArray[np.int64], middles: NDArray[np.float64], says: list[str], pen: DigitPen
    ) -> None:
        """Take the place wherever it is free."""
        on_land = shapely.contains_xy(self._land, middles)
        cells, middles = cells[on_land], middles[on_land]
        if not len(cells):
            return
        hulls = [_hull(says[cell], pen) for cell in cells]
        longest = max(len(hull) for hull in hulls)
        corners = np.stack([np.vstack([h, np.repeat(h[-1:], longest - len(h), 0)]) for h in hulls])
        corners = corners + middles[:, None]
        fits = shapely.contains(self._land, shapely.polygons(corners))
        others = self._tree.query(middles, k=min(2, len(self._xy)))[0].reshape(len(cells), -1)
        own = np.hypot(*(middles - self._xy[cells]).T)
        second = np.where(others[:, 0] < own - 1e-9, others[:, 0], others[:, -1])
        if len(self._xy) > 1:
            fits &= own + OWN_MM <= second + 1e-9
        for k in np.flatnonzero(fits):
            low, high = corners[k].min(axis=0), corners[k].max(axis=0)
            if self._free(low, high):
                cell = int(cells[k])
                self.found[cell] = Text(
                    cell, says[cell], float(middles[k, 0]), float(middles[k, 1]), pen
                )

    def _free(self, low: NDArray[np.float64], high: NDArray[np.float64]) -> bool:
        """Whether a text's box is clear of all earlier ones; if so it is taken."""
        box = (low[0] - APART_MM, low[1] - APART_MM, high[0] + APART_MM, high[1] + APART_MM)
        size = 16.0  # larger than any text: boxes that meet share a square or lie in next ones
        across = range(int(box[0] // size), int(box[2] // size) + 1)
        along = range(int(box[1] // size), int(box[3] // size) + 1)
        squares = [(i, j) for i in across for j in along]
        for square in squares:
            for other in self._boxes.get(square, ()):
                beside = box[2] <= other[0] or other[2] <= box[0]
                if not (beside or box[3] <= other[1] or other[3] <= box[1]):
                    return False
        for square in squares:
            self._boxes.setdefault(square, []).append(
                (float(low[0]), float(low[1]), float(high[0]), float(high[1]))
            )
        return True
