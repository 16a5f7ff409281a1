"""Hours, filament and cost: tables of the report, and one line for the terminal."""

from __future__ import annotations

from collections import Counter

from generators.report.values import Table
from layouts.pack import Pack
from layouts.printing.beds import plate_file
from layouts.printing.settings import settings_words
from layouts.printing.totals import PackPrint, PrintSum

__all__ = ["printing_fact", "printing_line", "printing_tables"]

WHOLE_FROM_H = 10.0  # hours are told whole from here


def printing_line(printing: PackPrint) -> str:
    """All of it in a line."""
    total, beds = printing.total, len(printing.beds)
    plates = f"{beds} plate{'s' if beds != 1 else ''}"
    return (
        f"to print: about {_hours(total.hours)} h, {total.filament_g:.0f} g of filament, cost "
        f"{total.cost:.2f} (within {printing.within_percent} %), on {plates}"
    )


def printing_fact(printing: PackPrint) -> tuple[str, str]:
    """What it takes in all, for a glance: name and value."""
    total = printing.total
    return (
        f"printing, within {printing.within_percent} %",
        f"about {_hours(total.hours)} h, {total.filament_g:.0f} g, cost {total.cost:.2f}",
    )


def printing_tables(pack: Pack, printing: PackPrint) -> tuple[Table, ...]:
    """By part, by plate, and what other settings would do."""
    tables = (_parts(pack, printing), _plates(printing), _changes(printing))
    return tuple(table for table in tables if table.rows)


def _parts(pack: Pack, printing: PackPrint) -> Table:
    printer, speeds = pack.printer, pack.printer.speeds_mm_s
    rows = [
        (row.name, str(row.count), settings_words(row.settings), *_cells(row.total))
        for row in printing.parts
    ]
    pieces = sum(row.count for row in printing.parts)
    total = ("in all", str(pieces), "", *_cells(printing.total))
    refused = f" No bed takes {', '.join(printing.refused)}." if printing.refused else ""
    return Table(
        title="By part",
        headings=("part", "pieces", "settings", "hours", "filament, g", "cost"),
        rows=(*rows, total),
        note=f"About: within {printing.within_percent} % of what a general slicer says with walls "
        f"at {speeds.outer:g} to {speeds.inner:g} mm/s, {printer.acceleration_mm_s2:g} mm/s2 and "
        f"lines {printer.line_wide_mm:g} wide, without heating up. Set your slicer to these "
        "settings, or enter yours under printer in the pack file. Cost: filament at "
        f"{printer.filament.price_per_kg:g} a kg, {printer.power_w:g} W at "
        f"{printer.tariff_per_kwh:g} a kWh.{refused}",
    )


def _plates(printing: PackPrint) -> Table:
    rows, fewest = [], printing.fewest_beds
    enough = "1 plate" if fewest == 1 else f"{fewest} plates"
    for bed in printing.beds:
        counted = Counter(one.name for one in bed.laid)
        parts = ", ".join(f"{count} x {name}" for name, count in counted.items())
        used = f"{100.0 * bed.used_share:.0f} %"
        rows.append((plate_file(bed.laid[0].bed), parts, *_cells(bed.total), used))
    return Table(
        title="By plate",
        headings=("file", "parts on it", "hours", "filament, g", "cost", "bed used"),
        rows=tuple(rows),
        note="Each file is one bed, to be sliced as it is. Holders lie the same way round on "
        "all of them: leave them so, and print both on the same printer. Bed used: area of the "
        f"parts' outlines; by area alone {enough} would do.",
    )


def _changes(printing: PackPrint) -> Table:
    return Table(
        title="Other settings",
        headings=("change", "hours", "filament, g", "cost"),
        rows=tuple(
            (
                one.change,
                f"{one.adds.hours:+.1f}",
                f"{one.adds.filament_g:+.0f}",
                f"{one.adds.cost:+.2f}",
            )
            for one in printing.changes
        ),
        note="Against the settings above, each change alone. Holders keep their layers: their "
        "levels are whole layers of the pack file's. Strength with other settings is not checked.",
    )


def _cells(total: PrintSum) -> tuple[str, str, str]:
    return _hours(total.hours), f"{total.filament_g:.0f}", f"{total.cost:.2f}"


def _hours(hours: float) -> str:
    return f"{hours:.0f}" if hours >= WHOLE_FROM_H else f"{hours:.1f}"
