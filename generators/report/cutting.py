"""The report's cutting list, from the strips or plates as they lie."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from generators.drawings.linework import sheet_svg
from generators.drawings.nest import nest_sheet
from generators.report.values import Figure, Table
from layouts.currents.strips import BUS_MATERIAL
from layouts.pack import Pack
from layouts.plates.cut_features import SheetHoles, hole_words, sheet_holes
from layouts.plates.nesting import (
    APART_MM,
    NestedStock,
    bar_cut_lists,
    nested_words,
    plate_stocks,
)
from layouts.plates.pierced import COPPER_HOLE_MM
from layouts.strips.cutting import (
    Bar,
    CutList,
    stock_of,
    stock_words,
    strip_cut_lists,
    strip_piece_rows,
)
from layouts.strips.joining import Interconnect
from layouts.strips.plate import BusPlate

__all__ = ["cutting_figures", "cutting_tables"]

ROWS_MOST = 40  # kinds of bars, and plates, listed one by one
FIGURE_MM = (170.0, 222.0)  # printed


def cutting_tables(pack: Pack, interconnect: Interconnect) -> tuple[Table, ...]:
    """One table for each width and thickness of strip, each metal and thickness of sheet, each
    section of copper bar: how the stock is cut."""
    strips = strip_cut_lists(interconnect, stock_of(pack))
    plates = interconnect.plates
    return (
        *(_table(pack.strip.material, cut) for cut in strips),
        *(_sheet_table(stock, plates) for stock in plate_stocks(pack, plates)),
        *(_table(f"flat {BUS_MATERIAL}", cut) for cut in bar_cut_lists(pack, plates)),
    )


def cutting_figures(pack: Pack, interconnect: Interconnect) -> tuple[Figure, ...]:
    """How plates lie on their stock."""
    return tuple(
        Figure(
            svg=sheet_svg(nest_sheet(stock), within_mm=FIGURE_MM),
            caption=f"{stock.material} {stock.thickness_mm:g} mm: pieces by number on "
            f"{nested_words(stock)}. One way to cut it, always the same, not proven the shortest.",
        )
        for stock in plate_stocks(pack, interconnect.plates)
    )


def _sheet_table(stock: NestedStock, plates: Sequence[BusPlate]) -> Table:
    placed = sorted(stock.pieces, key=lambda piece: piece.shape.bounds[:2])
    rows = [
        (
            piece.name,
            f"{piece.shape.bounds[0]:.0f} to {piece.shape.bounds[2]:.0f}",
            f"{piece.shape.bounds[1]:.0f} to {piece.shape.bounds[3]:.0f}",
            f"{piece.turn_deg}\N{DEGREE SIGN}",
        )
        for piece in placed
    ]
    return Table(
        title=f"{stock.material} sheet {stock.thickness_mm:g} mm: {nested_words(stock)}",
        headings=("plate", "along the stock, mm", "across, mm", "turned"),
        rows=tuple(rows[:ROWS_MOST]),
        note=f"{len(rows)} pieces, every layer counted, {_hole_words(stock, plates)}"
        f"{stock.area_mm2 / 100.0:.0f} cm2 of "
        f"{stock.buy_mm * stock.width_mm / 100.0:.0f}; {APART_MM:g} mm between pieces; "
        f"{stock.used_mm:.0f} mm used.",
    )


def _hole_words(stock: NestedStock, plates: Sequence[BusPlate]) -> str:
    """How many holes to punch in all pieces of a stock; those at can ends counted by these, since
    some open into the sheet's edge."""
    ends = sum(
        len(plate.cells)
        for plate in plates
        for layer, one in enumerate(plate.layers)
        if plate.is_pierced(layer)
        and (one.material, one.thickness_mm) == (stock.material, stock.thickness_mm)
    )
    found = [sheet_holes(piece.shape) for piece in stock.pieces]
    punched = tuple(one for holes in found for one in holes.round)
    words = hole_words(
        SheetHoles(
            round=tuple(one for one in punched if not ends or one[2] != COPPER_HOLE_MM),
            others=tuple(one for holes in found for one in holes.others),
        )
    )
    told = [f"{ends} x hole {COPPER_HOLE_MM:g} at the can ends"] if ends else []
    told += [words] if words else []
    return f"{', '.join(told)}, " if told else ""


def _table(material: str, cut: CutList) -> Table:
    kinds = Counter(_cuts(bar) for bar in cut.bars)
    rests: dict[str, float] = {}
    for bar in cut.bars:
        rests.setdefault(_cuts(bar), bar.rest_mm)
    rows = [(f"{count}", cuts, f"{rests[cuts]:.0f}") for cuts, count in kinds.items()]
    left = len(rows) - ROWS_MOST
    if left > 0:
        more = sum(count for count in list(kinds.values())[ROWS_MOST:])
        rows = [
            *rows[:ROWS_MOST],
            (f"{more}", "cut individually: see the templates for lengths", ""),
        ]
    pieces = strip_piece_rows(cut)
    counted = sum(count for _, count in pieces)
    best = (
        "proven minimum"
        if cut.proven
        else f"lower bound {cut.least_bars} lengths: {cut.least_waste_mm:.0f} mm of waste"
    )
    return Table(
        title=f"{material} {cut.width_mm:g} x {cut.thickness_mm:g} mm: {stock_words(cut)}",
        headings=("stock lengths", "pieces cut from each, mm", "remainder, mm"),
        rows=tuple(rows),
        note=f"{counted} pieces, {cut.used_mm / 1000.0:.3f} m in all, every layer counted; "
        f"{cut.stock.kerf_mm:g} mm a cut; {cut.waste_mm:.0f} mm of waste; {best}.",
    )


def _cuts(bar: Bar) -> str:
    counted = Counter(f"{piece.length_mm:.1f}" for piece in bar.pieces)
    return ", ".join(
        f"{count} \N{MULTIPLICATION SIGN} {length}" for length, count in counted.items()
    )
