"""Plates laid on sheet or roll of one width, so that little of it is wasted.

Greedy, always the same: large pieces first, each where the length used grows least, in every turn
by a right angle that goes across the stock. A piece is a stack of bands across the stock, each as
long as the piece anywhere within it; bands of two pieces never overlap, so outlines don't either,
and what one piece leaves free between slots and tails the next one fills. Cutting and packing of
irregular shapes has no fast way to the best answer: this one is honest, not the shortest.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import affinity

from layouts.errors import PlanError
from layouts.pack import Pack
from layouts.plates.welding_order import weld_steps
from layouts.strips.cutting import CutList, StripPiece, cut_list, usual_stock
from layouts.strips.plate import BusPlate

__all__ = [
    "APART_MM",
    "NestedPiece",
    "NestedStock",
    "SheetPiece",
    "bar_cut_lists",
    "check_stock_width",
    "copper_words",
    "nested",
    "nested_words",
    "part_names",
    "plate_stocks",
    "stock_width_mm",
    "width_across_mm",
]

APART_MM = 2.0  # between two pieces: snips or a jet go through; common practice, no source
WIDTH_STEP_MM = 5.0  # widths of stock where none is given
LENGTH_STEP_MM = 10.0  # lengths to buy
BAND_MM = 0.5  # of a piece across the stock
LIKE_MM = 1e-3  # pieces alike to that share their bands
# chords of rounded corners lie inside their arcs, and like pieces differ a little
GROWN_MM = APART_MM / 2.0 + 0.01
CORNER = 8  # chords a quarter turn
OFFSETS_MOST = 24  # places across the stock tried for a piece
ORDERS_MOST = 60  # pieces: more of them are laid in one order alone
RIGHT_ANGLE = 90
LOOK_BACK = 3.0  # lengths of the longest piece: gaps farther behind the last piece stay empty


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class SheetPiece:
    """One piece to cut out of sheet: ``name`` as on the templates; ``shape`` its true outline."""

    name: str
    shape: shapely.Polygon


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class NestedPiece:
    """A piece in its place: ``shape`` with x along the stock and y across, from its corner;
    ``turn_deg``: by which it was turned."""

    name: str
    shape: shapely.Polygon
    turn_deg: int


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class NestedStock:
    """All pieces of one metal and thickness on one length of stock."""

    material: str
    thickness_mm: float
    width_mm: float
    pieces: tuple[NestedPiece, ...]

    @property
    def used_mm(self) -> float:
        """Length that the pieces take."""
        return max((piece.shape.bounds[2] for piece in self.pieces), default=0.0)

    @property
    def buy_mm(self) -> float:
        """Length to buy: rounded up."""
        return LENGTH_STEP_MM * math.ceil(self.used_mm / LENGTH_STEP_MM - 1e-9)

    @property
    def area_mm2(self) -> float:
        """Of all pieces."""
        return math.fsum(piece.shape.area for piece in self.pieces)

    @property
    def waste_ratio(self) -> float:
        """Of the length to buy, what no piece takes."""
        bought = self.buy_mm * self.width_mm
        return 1.0 - self.area_mm2 / bought if bought else 0.0


def width_across_mm(shape: shapely.Polygon) -> float:
    """Of stock that a piece needs in its better turn."""
    x0, y0, x1, y1 = shape.bounds
    return float(min(x1 - x0, y1 - y0))


def stock_width_mm(shapes: Iterable[shapely.Polygon]) -> float:
    """Stock where no width is given: as the widest piece needs, rounded up."""
    widest = max(map(width_across_mm, shapes))
    return WIDTH_STEP_MM * math.ceil(widest / WIDTH_STEP_MM - 1e-9)


def check_stock_width(pack: Pack, plates: Sequence[BusPlate]) -> None:
    """Raises PlanError where a plate does not go on the stock that the pack file gives."""
    width = pack.strip.stock_width_mm
    if width is None or not plates:  # a string of single cells has none
        return
    sheets = [(plate, sheet) for plate in plates for sheet in plate.parts]
    widest, sheet = max(sheets, key=lambda one: width_across_mm(one[1]))
    needs = width_across_mm(sheet)
    if needs > width + 1e-9:
        raise PlanError(
            field="strip.stock_width_mm",
            value=f"{width:g} mm",
            why=f"plate {widest.name} is {needs:.1f} mm across in its better turn and does not go "
            "on this stock",
            remedy=f"give at least {stock_width_mm([sheet]):g}, or leave the key out",
        )


def plate_stocks(pack: Pack, plates: Sequence[BusPlate]) -> tuple[NestedStock, ...]:
    """Every layer of every plate nested, one stock for each metal and thickness.

    Pieces are named by their plate's number in the order of welding. Raises PlanError as
    ``check_stock_width`` does."""
    return _stocks(pack, tuple(plates))


@lru_cache(maxsize=2)  # the bill and the report ask for the same
def _stocks(pack: Pack, plates: tuple[BusPlate, ...]) -> tuple[NestedStock, ...]:
    check_stock_width(pack, plates)
    found: dict[tuple[str, float], list[SheetPiece]] = {}
    for number, plate in _numbered(pack, plates):
        for k, (layer, sheet) in enumerate(zip(plate.layers, plate.sheets, strict=True), start=1):
            on = found.setdefault((layer.material, layer.thickness_mm), [])
            for part, shape in zip(part_names(plate), shapely.get_parts(sheet), strict=True):
                name = f"{number}{part}"
                name = name if len(plate.layers) == 1 else f"{name}, layer {k}"
                on.append(SheetPiece(name=name, shape=shape))
    stocks = []
    for (material, thick), pieces in sorted(found.items()):
        width = pack.strip.stock_width_mm or stock_width_mm([one.shape for one in pieces])
        stocks.append(
            NestedStock(
                material=material,
                thickness_mm=thick,
                width_mm=width,
                pieces=nested(pieces, width),
            )
        )
    return tuple(stocks)


def bar_cut_lists(pack: Pack, plates: Sequence[BusPlate]) -> tuple[CutList, ...]:
    """The copper bars cut from straight lengths, one list for each section."""
    found: dict[tuple[float, float], list[StripPiece]] = {}
    for number, plate in _numbered(pack, plates):
        if plate.bar is not None:
            sizes = zip(plate.bar.stock_mm, plate.bar.long_mm, copper_words(plate), strict=True)
            for wide_mm, long_mm, word in sizes:
                piece = StripPiece(name=f"{word} {number}", length_mm=long_mm)
                found.setdefault((wide_mm, plate.bar.thickness_mm), []).append(piece)
    return tuple(
        cut_list(pieces, usual_stock(pieces), width_mm=width, thickness_mm=thick)
        for (width, thick), pieces in sorted(found.items())
    )


def nested_words(stock: NestedStock) -> str:
    """What to buy, and what of it is waste, in words."""
    return (
        f"{stock.buy_mm:.0f} mm of stock {stock.width_mm:g} mm wide, "
        f"{100.0 * stock.waste_ratio:.0f} % waste"
    )


def nested(pieces: Sequence[SheetPiece], width_mm: float) -> tuple[NestedPiece, ...]:
    """Pieces on stock of a width, ``APART_MM`` apart, in the order in which they were laid.

    Raises ValueError where one is wider than the stock in its better turn."""
    laid = [_laid(order, width_mm) for order in _orders(pieces)]
    return min(laid, key=lambda found: max((one.shape.bounds[2] for one in found), default=0.0))


def _orders(pieces: Sequence[SheetPiece]) -> tuple[list[SheetPiece], ...]:
    """Large ones first by area, and by the longer side; like pieces by their names' order."""
    by_area = sorted(pieces, key=lambda piece: -round(piece.shape.area, 3))
    if len(pieces) > ORDERS_MOST:
        return (by_area,)
    return (
        by_area,
        sorted(pieces, key=lambda piece: -round(_longest_mm(piece.shape), 3)),
    )


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class _Banded:
    """A piece in one turn, its corner at the origin: ``row`` (m,) of each length of band, its
    ``low`` and ``high`` (m,) along the stock, grown by half of what lies between two pieces."""

    turn_deg: int
    shape: shapely.Polygon
    row: NDArray[np.int64]
    low: NDArray[np.float64]
    high: NDArray[np.float64]


def _laid(pieces: Sequence[SheetPiece], width_mm: float) -> tuple[NestedPiece, ...]:
    """Each piece in turn where it ends first along the stock, then lowest across."""
    taken = _Taken(LOOK_BACK * max((_longest_mm(piece.shape) for piece in pieces), default=0.0))
    known: dict[bytes, list[_Banded]] = {}
    # the stock only fills up: where a like piece found space no later one begins before
    reached: dict[tuple[bytes, int, int], float] = {}
    found = []
    for piece in pieces:
        key = _key(piece.shape)
        if key not in known:
            known[key] = _turns(piece, width_mm)
        best: tuple[float, int, float, _Banded] | None = None
        for one in known[key]:
            _, _, long, high = one.shape.bounds
            for offset in _offsets(width_mm - high):
                least = max(reached.get((key, one.turn_deg, offset), 0.0), taken.from_mm)
                if best is not None and least + long >= best[0] - 1e-9:
                    continue
                x = taken.first_free(one, offset, least)
                reached[key, one.turn_deg, offset] = x
                if best is None or x + long < best[0] - 1e-9:
                    best = x + long, offset, x, one
        if best is None:
            raise ValueError(f"{piece.name} is wider than stock of {width_mm:g} mm")
        _, offset, x, one = best
        taken.add(one, offset, x)
        shape = affinity.translate(_turned(piece.shape, one.turn_deg), x, offset * BAND_MM)
        found.append(NestedPiece(name=piece.name, shape=shape, turn_deg=one.turn_deg))
    return tuple(found)


def _turns(piece: SheetPiece, width_mm: float) -> list[_Banded]:
    """The piece in every turn in which it goes across the stock."""
    found = []
    for turn in range(0, 4 * RIGHT_ANGLE, RIGHT_ANGLE):
        turned = _turned(piece.shape, turn)
        if turned.bounds[3] <= width_mm + 1e-9:
            found.append(_banded(turned, turn))
    return found


def _turned(shape: shapely.Polygon, turn_deg: int) -> shapely.Polygon:
    """A piece turned, its corner at the origin."""
    turned = affinity.rotate(shape, turn_deg, origin=(0.0, 0.0))
    x0, y0, _, _ = turned.bounds
    return affinity.translate(turned, -x0, -y0)


def _banded(shape: shapely.Polygon, turn_deg: int) -> _Banded:
    grown = shape.buffer(GROWN_MM, quad_segs=CORNER)
    x0, y0, x1, y1 = grown.bounds
    rows = math.ceil((y1 - y0) / BAND_MM)
    edges = y0 + BAND_MM * np.arange(rows + 1)
    bands = [
        shapely.clip_by_rect(grown, x0 - 1.0, low, x1 + 1.0, high)
        for low, high in zip(edges[:-1].tolist(), edges[1:].tolist(), strict=True)
    ]
    parts, row = shapely.get_parts(bands, return_index=True)
    low, _, high, _ = shapely.bounds(parts).T
    return _Banded(turn_deg=turn_deg, shape=shape, row=row.astype(np.int64), low=low, high=high)


def _offsets(room_mm: float) -> list[int]:
    """Bands by which a piece is moved across the stock: all, or evenly chosen ones."""
    most = math.floor(room_mm / BAND_MM + 1e-9)
    step = max(1, math.ceil(most / OFFSETS_MOST))
    return sorted({*range(0, most + 1, step), most})


class _Taken:
    """What lies on the stock, by bands; ``from_mm``: gaps before that are given up."""

    def __init__(self, look_back_mm: float) -> None:
        self._look_back_mm = look_back_mm
        self.from_mm = 0.0
        self._row = np.zeros(0, dtype=np.int64)
        self._low = np.zeros(0)
        self._high = np.zeros(0)

    def add(self, one: _Banded, offset: int, x_mm: float) -> None:
        """A piece in its place."""
        row = np.concatenate([self._row, one.row + offset])
        low = np.concatenate([self._low, one.low + x_mm])
        high = np.concatenate([self._high, one.high + x_mm])
        self.from_mm = max(self.from_mm, float(high.max()) - self._look_back_mm)
        order = np.argsort(row, kind="stable")
        order = order[high[order] > self.from_mm - APART_MM]
        self._row, self._low, self._high = row[order], low[order], high[order]

    def first_free(self, one: _Banded, offset: int, least_mm: float) -> float:
        """The least place along the stock, from ``least_mm``, where a piece overlaps nothing."""
        start = np.searchsorted(self._row, one.row + offset, side="left")
        count = np.searchsorted(self._row, one.row + offset, side="right") - start
        mine = np.repeat(np.arange(len(one.row)), count)
        within = np.arange(len(mine)) - np.repeat(np.cumsum(count) - count, count)
        theirs = start[mine] + within
        # between these two it overlaps that band
        low = self._low[theirs] - one.high[mine]
        high = self._high[theirs] - one.low[mine]
        kept = high > least_mm
        order = np.argsort(low[kept], kind="stable")
        low, high = low[kept][order], high[kept][order]
        reach = np.maximum.accumulate(np.concatenate([[least_mm], high]))
        free = np.flatnonzero(low >= reach[:-1])
        return float(reach[free[0]] if len(free) else reach[-1])


def part_names(plate: BusPlate) -> tuple[str, ...]:
    """What a plate's sheets are told apart by: nothing, or a letter each."""
    return tuple("abcdefgh"[: len(plate.parts)]) if plate.is_bridged else ("",)


def copper_words(plate: BusPlate) -> tuple[str, ...]:
    """What each piece of a plate's copper is, the bridge of two sheets last."""
    pieces = 0 if plate.bar is None else len(plate.bar.pieces)
    return ("bar",) * (pieces - plate.is_bridged) + ("bridge",) * plate.is_bridged


def _numbered(pack: Pack, plates: Sequence[BusPlate]) -> list[tuple[int, BusPlate]]:
    """Plates with their numbers, in the order of welding."""
    steps = weld_steps(plates, series=pack.series, full_v=pack.cell.full_v)
    return [(number, plates[step.plate]) for number, step in enumerate(steps, start=1)]


def _longest_mm(shape: shapely.Polygon) -> float:
    x0, y0, x1, y1 = shape.bounds
    return float(max(x1 - x0, y1 - y0))


def _key(shape: shapely.Polygon) -> bytes:
    x0, y0, _, _ = shape.bounds
    there = affinity.translate(shape, -x0, -y0)
    return bytes(shapely.to_wkb(shapely.set_precision(there, LIKE_MM)))
