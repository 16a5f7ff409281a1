"""What is bought for the lid's clamp, and how it is built: silicone, shims, foam and glass tape."""

from __future__ import annotations

import math

import shapely

from layouts.enclosures.fitted.clamp_springs import BAND, CORD_MM, DISC_MM, SHORE_A
from layouts.enclosures.fitted.loops import loop_polygon
from layouts.enclosures.fitted.sizes import Clamp, FittedSizes
from layouts.holders.fastening import CellBlock
from layouts.pack import Pack

__all__ = ["CLOSING_STEPS", "HOLDING_STEPS", "clamp_bought"]

# All common practice, no source.
FOAM_MM = (1.5, 8.0)  # thick and wide; closed-cell, with adhesive
GLASS_MM = (0.15, 12.0)  # thick and wide
GLASS_PLACES, GLASS_TURNS, LAP_RATIO = 2, 2, 1.1
SHIM_MM = (0.2, 0.4)
AT_WALL_MM = 0.3  # a crest no farther off than the usual gap and this has its wall beside it


def clamp_bought(
    pack: Pack, cell_block: CellBlock, sizes: FittedSizes, clamp: Clamp
) -> tuple[tuple[str, int], ...]:
    """Items and their counts."""
    cord_mm = math.ceil(math.fsum(cord.long_mm for cord in clamp.cords))
    foam = 2 * -(-_crests(pack, cell_block, sizes) // 2)
    x0, y0, x1, y1 = cell_block.box_mm
    around = 2 * (min(x1 - x0, y1 - y0) + pack.lip_to_lip_mm + 2 * pack.holder.lip_mm)
    glass_mm = math.ceil(GLASS_PLACES * GLASS_TURNS * around * LAP_RATIO)
    silicone = f"silicone, solid, {SHORE_A:g} Shore A"
    items = (
        (f"cord {CORD_MM:g} x {CORD_MM:g} mm, {silicone}, {cord_mm} mm in all", len(clamp.cords)),
        (f"disc {DISC_MM:g} x {CORD_MM:g} mm, {silicone}", len(clamp.discs)),
        (
            f"plastic shim {CORD_MM:g} mm wide, {SHIM_MM[0]:g} mm thick, one or two under each "
            "cord and disc as gauged",
            2 * len(clamp.at_mm),
        ),
        (
            f"foam tape, closed-cell, {FOAM_MM[0]:g} x {FOAM_MM[1]:g} mm, "
            f"{pack.holder.depth_mm:g} mm long",
            foam,
        ),
        (
            f"glass-fibre tape {GLASS_MM[1]:g} x {GLASS_MM[0]:g} mm, {glass_mm} mm, for "
            f"{GLASS_TURNS} turns at {GLASS_PLACES} places",
            1,
        ),
    )
    return tuple((item, count) for item, count in items if count)


def _crests(pack: Pack, cell_block: CellBlock, sizes: FittedSizes) -> int:
    """Crests of a holder with their wall close by, off the slots where gas leaves."""
    wall = loop_polygon(sizes.shell.inner.loop).exterior
    slots = shapely.union_all([shapely.Polygon(slot.corners_mm) for slot in sizes.slots])
    count = 0
    for arc in cell_block.outline.arcs:
        if arc.sweep_rad > 0:
            turn, (x, y) = arc.start_rad + arc.sweep_rad / 2, arc.centre_mm
            way = (math.cos(turn), math.sin(turn))
            at = shapely.Point(x + arc.radius_mm * way[0], y + arc.radius_mm * way[1])
            near = wall.distance(at) <= pack.enclosure.side_gap_mm + AT_WALL_MM
            count += near and not at.dwithin(slots, FOAM_MM[1] / 2)
    return count


HOLDING_STEPS = (
    f"Few posts tie the holders before the lid is on: wind {GLASS_TURNS} turns of glass-fibre tape "
    f"round both at {GLASS_PLACES} places, over webs and off the weld windows. No steel band near "
    "live cans. Stick foam tape on every second crest of both holders, none before the slots for "
    "gas.",
)
CLOSING_STEPS = (
    "Gauge the lid: press clay on its plinths, set it on with two opposite screws and take it off. "
    f"Where the clay is thicker than {CORD_MM * (1 - BAND[0]):.2f} mm, stick a shim of "
    f"{SHIM_MM[0]:g} or {SHIM_MM[1]:g} mm under the silicone; where it is thinner than "
    f"{CORD_MM * (1 - BAND[1]):.2f} mm, sand the plinth down. Cans, prints and floor add to "
    "0.35 mm either way.",
    "Stick the silicone cords and discs on the plinths, ends flush. Squeezed by "
    f"{100 * BAND[0]:.0f} to {100 * BAND[1]:.0f} % of their {CORD_MM:g} mm they hold the upper "
    "holder down: less lets it lift, more pulls the inserts out.",
)
