"""What the printer's bed takes."""

from __future__ import annotations

from math import ceil

from layouts.pack import Printer

__all__ = ["BED_MARGIN_MM", "pieces", "usable_bed_mm"]

BED_MARGIN_MM = 1.0  # each side: no line on the bed's very edge; common practice, no source


def usable_bed_mm(printer: Printer) -> tuple[float, float]:
    """The bed less its margin, by parts' own sizes."""
    wide, long, _ = printer.bed_for_parts_mm
    return wide - 2 * BED_MARGIN_MM, long - 2 * BED_MARGIN_MM


def pieces(plan_mm: tuple[float, float], printer: Printer) -> int:
    """How many pieces a part of this plan needs at least; 1 where it fits uncut."""
    bed = usable_bed_mm(printer)
    return min(
        ceil(plan_mm[0] / across) * ceil(plan_mm[1] / along) for across, along in (bed, bed[::-1])
    )
