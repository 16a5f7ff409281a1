"""Hours, filament and power in the bill of materials."""

from __future__ import annotations

from generators.exports.bill import BillRow
from layouts.pack import Pack
from layouts.printing.totals import PackPrint, PartPrint

__all__ = ["each_words", "printing_rows", "printing_rows_ahead"]

FILAMENT, TIME = "filament", "time on the printer"


def each_words(row: PartPrint) -> str:
    """Of one kind of part."""
    return f"about {row.effort.hours:.1f} h and {row.effort.filament_g:.0f} g each as set"


def printing_rows(pack: Pack, printing: PackPrint) -> tuple[BillRow, ...]:
    """All parts together: filament, and time on the printer with its power."""
    total, printer = printing.total, pack.printer
    within = f"within {printing.within_percent} %"
    kwh = total.hours * printer.power_w / 1000.0
    metres = sum(row.count * row.effort.filament_m for row in printing.parts)
    return (
        BillRow(
            item=FILAMENT,
            size=_filament_size(pack),
            count=round(total.filament_g),
            unit="g",
            note=f"about {metres:.0f} m, printed as set in the report; "
            f"{total.filament_g / 1000.0 * printer.filament.price_per_kg:.2f} at "
            f"{printer.filament.price_per_kg:g} a kg",
        ),
        BillRow(
            item=TIME,
            size="",
            count=round(total.hours, 1),
            unit="h",
            note=f"{within}; {kwh * printer.tariff_per_kwh:.2f} for {kwh:.1f} kWh at "
            f"{printer.tariff_per_kwh:g} each",
        ),
    )


def printing_rows_ahead(pack: Pack) -> tuple[BillRow, ...]:
    """The same rows before hours and grams are known: items and sizes alone."""
    return (
        BillRow(item=FILAMENT, size=_filament_size(pack), count=0, unit="g"),
        BillRow(item=TIME, size="", count=0, unit="h"),
    )


def _filament_size(pack: Pack) -> str:
    return f"{pack.printer.material}, {pack.printer.filament.diameter_mm:g} mm"
