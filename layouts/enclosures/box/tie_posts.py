"""Posts in a tub that leads are tied to before their glands."""

from __future__ import annotations

import math
from collections.abc import Sequence

from layouts.defaults import wire_outside_mm
from layouts.enclosures.board_seat import BoardSeat
from layouts.enclosures.box.sizes import Gland, TiePost
from layouts.pack import Pack
from layouts.parts.board_room import NUT_MM
from layouts.parts.shell import Rect
from layouts.ratings.bms import Port
from layouts.wiring.ways import middle_radius_mm

__all__ = ["charge_wire_mm", "tie_posts"]

# All judged, no source
POST_MM = 6.0  # along the lead, and at least across it
FREE_POST_MM = 8.0  # the same without a foot
POST_OFF_MM = 4.0  # from the gland's nut
TIE_RADIUS_MM = 2.0  # a cable tie of 2.5 to 3.6 passes
TIE_UNDER_MM = 6.0  # of its hole's axis beneath the post's top
UNDER_NUT_MM = 1.0  # from a foot to the nut above it
APART_MM = 3.0  # between two posts
TALL_MM = 12.0  # a lower post has no place for its hole


def tie_posts(
    pack: Pack, cavity: Rect, glands: Sequence[Gland], bay: BoardSeat, z_floor_mm: float
) -> tuple[TiePost, ...]:
    """One under the lead of each gland, joined to the wall beneath the nut where no board stands
    there; none under a lead that runs too low for one, or where another stands. Whole layers
    high; a foot ends beneath every nut that it would reach."""
    kept: list[TiePost] = []
    for gland in glands:
        post = _post(pack, cavity, gland, glands, bay, z_floor_mm)
        clear = all(
            abs(post.block.centre_mm[1] - one.block.centre_mm[1])
            > (post.block.size_mm[1] + one.block.size_mm[1]) / 2 + APART_MM
            for one in kept
        )
        if clear and post.z1_mm - z_floor_mm >= TALL_MM:
            kept.append(post)
    return tuple(kept)


def _post(
    pack: Pack,
    cavity: Rect,
    gland: Gland,
    glands: Sequence[Gland],
    bay: BoardSeat,
    z_floor_mm: float,
) -> TiePost:
    half = max(POST_MM, gland.wire_mm) / 2
    x1 = cavity.x1 - NUT_MM - POST_OFF_MM
    aside = gland.y_mm + half < bay.guides[0].y0 or gland.y_mm - half > bay.guides[-1].y1
    x0 = x1 - (POST_MM if aside else FREE_POST_MM)
    # a lead that bends down right behind the nut has come down so far at the post's end
    radius = middle_radius_mm(gland.wire_mm)
    down = (cavity.x1 - NUT_MM - x0) ** 2 / (2.0 * radius)
    top = _whole(pack, gland.z_mm - gland.wire_mm / 2 - down, z_floor_mm)
    foot_top = min(
        one.z_mm - one.keep_radius_mm - UNDER_NUT_MM
        for one in glands
        if abs(one.y_mm - gland.y_mm) < half + one.keep_radius_mm + UNDER_NUT_MM
    )
    aside = aside and foot_top - z_floor_mm >= TALL_MM / 2
    foot = Rect(
        x0=x1 - 0.5,
        y0=gland.y_mm - half,
        x1=cavity.x1 + pack.enclosure.wall_mm / 2,
        y1=gland.y_mm + half,
    )
    return TiePost(
        name=f"tie post of {gland.purpose}",
        block=Rect(x0=x0, y0=gland.y_mm - half, x1=x1, y1=gland.y_mm + half),
        z1_mm=top,
        hole_z_mm=top - TIE_UNDER_MM,
        hole_radius_mm=TIE_RADIUS_MM,
        foot=foot if aside else None,
        foot_z1_mm=min(top, _whole(pack, foot_top, z_floor_mm)),
    )


def _whole(pack: Pack, z_mm: float, z_floor_mm: float) -> float:
    """Down to whole layers over the floor."""
    layer = pack.printer.layer_mm
    return z_floor_mm + layer * math.floor((z_mm - z_floor_mm) / layer + 1e-6)


def charge_wire_mm(pack: Pack) -> float:
    """Over a charge lead from a board's own charge terminal, through the third gland; 0 where there
    is none."""
    area = None if pack.charger is None else pack.charger.wire_mm2
    if area is None or pack.bms.port is not Port.SEPARATE or not pack.enclosure.wire_ways:
        return 0.0
    return wire_outside_mm(area)
