"""Checks of what hangs when holders are printed: no long bridge, no end over nothing."""

from __future__ import annotations

from collections.abc import Sequence

import shapely

from layouts.cells.arrangement import CellLayout
from layouts.checks import Check
from layouts.holders.holder import HolderTile
from layouts.holders.spines import (
    FREE_LIMIT_MM,
    SPAN_LIMIT_MM,
    Hanging,
    hanging,
    spines_of,
)
from layouts.pack import Pack
from layouts.strips.plate import PLATES_REMEDY

__all__ = ["web_checks"]

PINS_REMEDY = "holder.support_pins: true"
LEVEL_MM = 1e-6  # float noise in sums of millimetres
STRIPS_REMEDY = "narrower strip.link_width_mm, strip.row_width_mm or strip.lead_width_mm"
JUDGED = "judged from common practice, no source"


def web_checks(
    pack: Pack, cell_layout: CellLayout, tiles: Sequence[HolderTile]
) -> tuple[Check, ...]:
    """Longest bridge of a web or a wall, and longest stretch that hangs from one end or none."""
    found = [
        (one, tile)
        for tile in tiles
        for one in hanging(spines_of(pack, cell_layout, tile), tile.support_pins)
    ]
    of_plates = any(tile.plate_channels for tile in tiles)
    remedy = PLATES_REMEDY if of_plates else STRIPS_REMEDY
    if not pack.holder.support_pins:
        remedy = PINS_REMEDY
    return tuple(
        _longest(id, about, [row for row in found if row[0].is_free is free], limit_mm, remedy)
        for id, about, free, limit_mm in (
            (
                "web_spans",
                "longest bridge of a web or wall over a channel as the holder is printed",
                False,
                SPAN_LIMIT_MM,
            ),
            (
                "web_ends",
                "longest stretch of a web or wall over a channel, printed towards nothing",
                True,
                FREE_LIMIT_MM,
            ),
        )
    )


def _longest(
    id: str,
    about: str,
    found: Sequence[tuple[Hanging, HolderTile]],
    limit_mm: float,
    remedy: str,
) -> Check:
    value, where = 0.0, ""
    if found:
        worst, tile = max(found, key=lambda row: row[0].line.length)
        value = float(worst.line.length)
        x, y = shapely.get_coordinates(worst.line.interpolate(0.5, normalized=True))[0]
        kind = "wall" if worst.is_wall else "web"
        where = f"{tile.name}, {kind} at ({x:.1f}, {y:.1f}) in its plan"
    holds = value <= limit_mm + LEVEL_MM
    return Check(
        id=id, about=about, holds=holds, value=value, limit=limit_mm, unit="mm", at_least=False,
        source=JUDGED, remedy="" if holds else remedy, where=where,
    )  # fmt: skip
