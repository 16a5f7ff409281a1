"""Hours, filament and power in the bill of materials."""

from __future__ import annotations

from generators.exports.bill import BillRow
from layouts.pack import Pack
from layouts.printing.totals import PackPrint, PartPrint

__all__ = ["each_words", "printing_rows"]


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
            item="filament",
            size=f"{printer.material}, {printer.filament.diameter_mm:g} mm",
            count=round(total.filament_g),
            unit="g",
            note=f"about {metres:.0f} m, printed as set in the report; "
            f"{total.filament_g / 1000.0 * printer.filament.price_per_kg:.2f} at "
            f"{printer.filament.price_per_kg:g} a kg",
        ),
        BillRow(
            item="time on the printer",
            size="",
            count=round(total.hours, 1),
            unit="h",
            note=f"{within}; {kwh * printer.tariff_per_kwh:.2f} for {kwh:.1f} kWh at "
            f"{printer.tariff_per_kwh:g} each",
        ),
    )
