"""What result.json has of hours, filament, cost and plates."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from layouts.printing.beds import plate_file
from layouts.printing.totals import PackPrint

__all__ = ["printing_row"]


def printing_row(printing: PackPrint, plain: Callable[[Any], Any]) -> dict[str, Any]:
    """Hours, filament and cost in all, of each part, of each bed's file, and of other settings;
    ``plain`` makes a value JSON's own."""
    row: dict[str, Any] = plain(
        {
            **plain(printing.total),
            "within_percent": printing.within_percent,
            "parts": [
                {
                    "name": one.name,
                    "count": one.count,
                    **plain(one.effort),
                    "cost": one.cost,
                    "settings": one.settings,
                }
                for one in printing.parts
            ],
            "plates": [
                {
                    "file": plate_file(bed.laid[0].bed),
                    **plain(bed.total),
                    "laid": [
                        {"name": one.name, "turn_deg": one.turn_deg, "shift_mm": one.shift_mm}
                        for one in bed.laid
                    ],
                }
                for bed in printing.beds
            ],
            "changes": [{"change": one.change, **plain(one.adds)} for one in printing.changes],
        }
    )
    return row
