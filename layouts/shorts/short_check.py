"""The short check: every bare part of both faces against every other potential, at worst case.

Worst case: strips off their drawing by play, welding and print, the largest can leaning against
its pocket, every printed edge off. Through air a straight line counts, which is never longer
than the real way, and loose metal lies at the potential that is the farthest away. Along the
plastic the way leads from opening to opening (channels and weld windows) over the outer face, up
and down their sides; where a tile's joint may lie between, straight; over loose metal the ways
to it and on from it count together. Solid plastic counts for nothing but the insulating ring:
strips cross their own cans' rims over it by design.

Strips, can ends, cans, screws, nuts and inserts are the bare metal that is known here; wires and
the board carry insulation of their own. A sheet cut for a joint is the union of its strips, so
what holds for them holds for it.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from layouts.cells.arrangement import CellLayout
from layouts.holders.fastening import CellBlock
from layouts.pack import EnclosureStyle, Face, Pack, Surroundings
from layouts.parts.screw import PlacedScrew
from layouts.shorts.bare import (
    Bare,
    bare_strips,
    cans,
    channel_openings,
    window_openings,
)
from layouts.shorts.joins import missing_links, wrong_joins
from layouts.shorts.metal import metal_parts
from layouts.shorts.nearest import least_to_spare, required_spacing
from layouts.shorts.over_metal import least_over_metal
from layouts.shorts.values import (
    RIM_LEAST_MM,
    RING_LEAST_MM,
    Kind,
    ShortReport,
    Spot,
    can_shape,
)
from layouts.strips.joining import Interconnect
from layouts.strips.lip import positive_end

__all__ = ["in_a_closed_box", "shorts"]

FACES = (Face.LOWER, Face.UPPER)


def in_a_closed_box(pack: Pack) -> bool:
    """Whether dust and water stay out: pollution degree 2, else 3 (open, splashed, or unknown)."""
    case = pack.enclosure
    return (
        case.style is EnclosureStyle.TUB
        and case.vent != "open"
        and case.surroundings is Surroundings.DRY
    )


def shorts(
    pack: Pack,
    cell_layout: CellLayout,
    interconnect: Interconnect,
    cell_block: CellBlock,
    placed: Sequence[PlacedScrew],
) -> ShortReport:
    """All that comes too near to another potential, or the nearest to that.

    ``placed``: screws of enclosure and brackets; none where the pack has no enclosure of its own.
    """
    required = required_spacing(
        series=pack.series,
        full_v=pack.cell.full_v,
        closed=in_a_closed_box(pack),
        floor_mm=pack.spacing_floor_mm,
    )
    metal = metal_parts(pack, cell_layout, cell_block, placed)
    found: dict[Kind, list[Spot]] = {kind: [] for kind in Kind}
    openings: list[tuple[Face, Bare]] = []
    for face in FACES:
        strips = bare_strips(pack, cell_layout, interconnect, face)
        can = cans(pack, cell_layout, face)
        window = window_openings(pack, cell_layout, face)
        channel = channel_openings(pack, cell_layout, interconnect, face, cell_block.outline)
        for kind, a, b in (
            (Kind.STRIPS, strips, strips),
            (Kind.CANS, strips, can),
            (Kind.CANS, strips, window),
            (Kind.METAL, strips, metal.parts),
            (Kind.METAL, window, metal.parts),
            (Kind.SURFACE, channel, channel),
            (Kind.SURFACE, channel, window),
            (Kind.SURFACE, window, window),
        ):
            spot = least_to_spare(a, b, required, kind=kind, face=face, pitch_mm=pack.pitch_mm)
            if spot is not None:
                found[kind].append(spot)
        openings += [(face, channel), (face, window)]
    by_way = least_over_metal(openings, metal, required)
    if by_way is not None:
        found[Kind.SURFACE].append(by_way)
    worst = {
        kind: min(spots, key=lambda spot: spot.margin_mm, default=None)
        for kind, spots in found.items()
    }
    return ShortReport(
        pollution_degree=required.degree,
        floor_mm=pack.spacing_floor_mm,
        strips=worst[Kind.STRIPS],
        cans=worst[Kind.CANS],
        metal=worst[Kind.METAL],
        surface=worst[Kind.SURFACE],
        ring=_ring(pack, cell_layout, interconnect),
        wrong_joins=wrong_joins(pack, cell_layout, interconnect),
        missing_links=missing_links(pack, cell_layout, interconnect),
    )


def _ring(pack: Pack, cell_layout: CellLayout, interconnect: Interconnect) -> Spot:
    """The ring on every positive end, shown at the first cell: thick and wide enough?

    A ring has the hole of the weld window and lies in its seat under the lip's edge, so it
    reaches over the rim as far as the lip does, the can leaning away from it.
    """
    holder, cell = pack.holder, pack.cell
    over_rim = (cell.diameter_mm - holder.clearance_mm - holder.window_mm) / 2
    thin = holder.ring_mm - RING_LEAST_MM <= over_rim - RIM_LEAST_MM
    at = 0
    face = Face.UPPER if bool(positive_end(cell_layout, Face.UPPER)[at]) else Face.LOWER
    over = [strip for strip in interconnect.laid(face) if at in strip.cells]
    middle = cell_layout.xy_mm[at]
    rim = can_shape(middle, cell.diameter_mm / 2)
    return Spot(
        kind=Kind.RING,
        face=face,
        parts=(
            f"strip {over[0].name}" if over else "a strip",
            (
                f"the rim of cell {at + 1}, group {int(cell_layout.group[at])} (all other rims "
                "likewise)"
            ),
        ),
        volts=cell.full_v,
        gap_mm=holder.ring_mm if thin else over_rim,
        need_mm=RING_LEAST_MM if thin else RIM_LEAST_MM,
        shapes=(over[0].shape if over else rim, rim),
        ends_mm=np.array([middle, middle]),
    )
