"""The report's cutting list, from the strips as they lie."""

from __future__ import annotations

from collections import Counter

from generators.report.page import Table
from layouts.pack import Pack
from layouts.strips.cutting import Bar, CutList, stock_words, strip_piece_rows

__all__ = ["cutting_tables"]

ROWS_MOST = 40  # kinds of bars listed one by one


def cutting_tables(pack: Pack, cuts: tuple[CutList, ...]) -> tuple[Table, ...]:
    """One table for each width and thickness: how each length of stock is cut."""
    return tuple(_table(pack, cut) for cut in cuts)


def _table(pack: Pack, cut: CutList) -> Table:
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
        title=f"{pack.strip.material} {cut.width_mm:g} x {cut.thickness_mm:g} mm: "
        f"{stock_words(cut)}",
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
