"""Which printer the parts are made for, as the build sheet tells it."""

from __future__ import annotations

from layouts.printer_spec import Printer

__all__ = ["printed_for"]


def printed_for(printer: Printer) -> str:
    """The printer's own sizes, when they were measured, and where they stand."""
    where = f" ({printer.profile})" if printer.profile else ""
    when = f"measured {printer.measured}" if printer.measured else "assumed, not measured"
    return (
        f"Printer{where}, {when}: holes {printer.hole_mm:g} mm under size, outsides "
        f"{printer.outside_mm:g} mm over size on each side, shrinkage along x, y and z "
        f"{', '.join(f'{one:g}' for one in printer.shrink_percent)} %, first layer "
        f"{printer.foot_mm:g} mm wider on each side."
    )
