"""Which printer the parts are drawn for, as the build sheet tells it."""

from __future__ import annotations

from layouts.pack import Mount
from layouts.printer_spec import Printer

__all__ = ["printed_for"]


def printed_for(printer: Printer, mount: Mount) -> str:
    """The printer's own sizes, when they were measured, where they stand, what comes of them."""
    where = f" ({printer.profile})" if printer.profile else ""
    when = f"measured {printer.measured}" if printer.measured else "assumed, not measured"
    if not printer.prints_off_size:
        return (
            f"Printer{where}, {when}: it prints true to size, so that STL, 3MF and plates have the "
            "sizes of the plan. If a first print is off, enter by how much under printer in the "
            "pack file."
        )
    given = "" if mount.given is None else " Brackets from a script are scaled, no more."
    return (
        f"Printer{where}, {when}: holes {printer.hole_mm:g} mm under size, outsides "
        f"{printer.outside_mm:g} mm over size on each side, shrinkage along x, y and z "
        f"{', '.join(f'{one:g}' for one in printer.shrink_percent)} %, first layer "
        f"{printer.foot_mm:g} mm wider on each side. STL, 3MF and plates are drawn for it: print "
        "them on this printer, as they lie, and set no such compensation in the slicer. STEP files "
        f"have the sizes that the parts shall have.{given}"
    )
