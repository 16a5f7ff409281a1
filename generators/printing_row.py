"""What result.json has of hours, filament, cost and plates, and of places hard to print."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from layouts.printable.finding import PrintFinding
from layouts.printable.judging import Printability
from layouts.printing.beds import plate_file
from layouts.printing.totals import PackPrint

__all__ = ["finding_rows", "printing_row", "wall_rows"]


def printing_row(printing: PackPrint, plain: Callable[[Any], Any]) -> dict[str, Any]:
    """Hours, filament and cost in all, of each part, of each bed's file, and of other settings;
    ``plain`` makes a value JSON's own."""
    row: dict[str, Any] = plain(
        {
            **plain(printing.total),
            "within_percent": printing.within_percent,
            "fewest_plates_by_area": printing.fewest_beds,
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
                    "used_share": bed.used_share,
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


def wall_rows(printability: Printability, plain: Callable[[Any], Any]) -> list[dict[str, Any]]:
    """Each part's thinnest wall and its place in the part's file, and the area with which one copy
    lies on the bed. A part without a wall of up to 6 mm has no such figures."""
    rows: list[dict[str, Any]] = []
    for one in printability.walls:
        row: dict[str, Any] = {"part": one.part, "bed_mm2": printability.bed_mm2[one.part]}
        thinnest = one.thinnest
        if thinnest is not None:
            x, y = one.points_mm[thinnest].tolist()
            row["thinnest_mm"] = float(one.thickness_mm[thinnest])
            row["at_mm"] = (x, y, float(one.z_mm[thinnest]))
        rows.append(plain(row))
    return rows


def finding_rows(
    findings: Sequence[PrintFinding], plain: Callable[[Any], Any]
) -> list[dict[str, Any]]:
    """Each place that is hard to print, in the coordinates of its part's file; ``box_mm``: the
    place's box in plan."""
    rows: list[dict[str, Any]] = []
    for one in findings:
        x0, y0, x1, y1 = one.region.bounds
        row = {
            "check": one.kind,
            "part": one.part,
            "severity": one.severity,
            "at_mm": one.at_mm,
            "box_mm": ((x0, y0), (x1, y1)),
            "value": one.value,
            "unit": one.unit,
            "limit": one.limit,
            "what": one.what,
        }
        rows.append(plain(row))
    return rows
