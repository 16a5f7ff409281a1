"""Rules of the printer: what a nozzle of its size prints."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from generators.packfile.rules import Finding
from layouts.formats import CellFormat
from layouts.pack import Pack

__all__ = ["PRINTER_RULES"]

# thinner layers do not stick evenly, thicker ones do not bond; common practice, no source
LAYERS_OF_NOZZLE = 0.25, 0.75
LINES_OF_NOZZLE = 1.0, 2.0  # narrower or wider lines are not pressed flat; common practice
NOISE = 1e-9  # 0.3 written as 0.75 x 0.4 passes
SECTION = "printer"


def layers(pack: Pack, size: CellFormat) -> Iterator[Finding]:
    """Layers and lines that the nozzle prints."""
    printer = pack.printer
    for name, value, (least, most), what in (
        ("layer_mm", printer.layer_mm, LAYERS_OF_NOZZLE, "layers"),
        ("line_mm", printer.line_wide_mm, LINES_OF_NOZZLE, "lines"),
    ):
        low, high = least * printer.nozzle_mm, most * printer.nozzle_mm
        if not low - NOISE <= value <= high + NOISE:
            word, share = ("less", least) if value < low else ("more", most)
            yield Finding(
                field=(SECTION, name),
                reads=((SECTION, "nozzle_mm"),),
                value=f"{value:g}",
                why=f"is {word} than {share:g} of the nozzle diameter of {printer.nozzle_mm:g} mm",
                remedy=f"use {what} of {low:g} to {high:g}",
            )


def measured_on_a_day(pack: Pack, size: CellFormat) -> Iterator[Finding]:
    """A date that the calendar has."""
    measured = pack.printer.measured
    if measured is None:
        return
    try:
        date.fromisoformat(measured)
    except ValueError:
        yield Finding(
            field=(SECTION, "measured"),
            reads=(),
            value=measured,
            why="is not a day of the calendar",
            remedy="write year-month-day, such as 2026-03-31",
        )


PRINTER_RULES = (layers, measured_on_a_day)
