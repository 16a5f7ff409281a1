"""Checks of the lid's clamp: preload, inserts, floor pads, where its cord lies, the lid's bulge."""

from __future__ import annotations

import math

import shapely
from scipy.spatial import cKDTree

from layouts.cells.arrangement import CellLayout
from layouts.checks import Check
from layouts.enclosures.fitted.clamp import cord_kept_off
from layouts.enclosures.fitted.clamp_springs import BAND, CORD_MM, SET_LEFT
from layouts.enclosures.fitted.clamp_strength import (
    LIFT_RATIO,
    lid_bulge_mm,
    need_n,
    preload_n,
    screw_forces_n,
    screw_holds_n,
)
from layouts.enclosures.fitted.sizes import Clamp, FittedSizes
from layouts.holders.fastening import CellBlock
from layouts.holders.posts import POSTS_APART_MM
from layouts.holders.shape import cell_block_shape
from layouts.pack import Pack
from layouts.strips.joining import Interconnect

__all__ = ["clamp_checks"]

PRACTICE = "common practice, no source"
POSTS_AGAIN = "holder.flank_posts: true"
LID_BULGE_MM = 2.0  # the lid's middle stands out no farther; judgement, no source
FINE_MM = 0.02  # what chords may be off by


def clamp_checks(
    pack: Pack,
    cell_layout: CellLayout,
    interconnect: Interconnect,
    cell_block: CellBlock,
    sizes: FittedSizes,
) -> tuple[Check, ...]:
    """None where posts alone set the holders' distance."""
    if sizes.clamp is None:
        return ()
    return (
        clamp_preload(pack, cell_layout, cell_block, sizes.clamp),
        clamp_screws(pack, sizes),
        clamp_floor(sizes, sizes.clamp),
        clamp_clear(pack, cell_layout, interconnect, cell_block, sizes.clamp),
        clamp_lid(pack, cell_block, sizes),
    )


def clamp_preload(
    pack: Pack, cell_layout: CellLayout, cell_block: CellBlock, clamp: Clamp
) -> Check:
    """What is left of the preload keeps the held cells on the floor in a jolt."""
    value, limit = preload_n(clamp), need_n(pack, cell_layout, cell_block)
    return Check(
        id="clamp_preload", about="preload of the lid's silicone on the upper holder, years old",
        holds=value >= limit, value=value, limit=limit, unit="N",
        source=f"stiffness by Gent's formula, from memory, at {100 * BAND[0]:.0f} % squeeze; "
        f"{SET_LEFT:g} of it left, and {LIFT_RATIO:g} x mass x acceleration: common practice, no "
        "source",
        remedy=f"{POSTS_AGAIN}, or a smaller load.acceleration_g upwards",
        where=f"{len(clamp.cords)} cords, {math.fsum(c.long_mm for c in clamp.cords):.0f} mm in "
        f"all, {len(clamp.discs)} discs",
    )  # fmt: skip


def clamp_screws(pack: Pack, sizes: FittedSizes) -> Check:
    """No lid screw is pulled harder, by new silicone, than its insert or thread bears for years."""
    forces = screw_forces_n(sizes)
    worst = max(forces, key=lambda one: forces[one] / screw_holds_n(pack, one))
    value, limit = forces[worst], screw_holds_n(pack, worst)
    return Check(
        id="clamp_screws", about="pull of the clamp's silicone on a lid screw's thread",
        holds=value <= limit, value=value, limit=limit, unit="N",
        source=f"silicone at {100 * BAND[1]:.0f} % squeeze; shear of a printed cylinder round "
        "insert or thread, from memory, a quarter of it for years and 1.5 of safety: common "
        "practice, no source",
        remedy=POSTS_AGAIN, at_least=False,
        where="screw at ({:.0f}, {:.0f})".format(*worst.at_mm)
        + ("" if worst.insert else ", without an insert"),
    )  # fmt: skip


def clamp_floor(sizes: FittedSizes, clamp: Clamp) -> Check:
    """What presses from above is met by pads on the floor, none farther apart than posts may be."""
    pads = [(pad.x_mm, pad.y_mm) for pad in sizes.support_pads_floor]
    limit = POSTS_APART_MM / 2
    far, where = math.inf, "no pads on the floor" if not pads else "nothing clamps"
    if pads and clamp.at_mm:
        away = cKDTree(pads).query(clamp.at_mm)[0]
        far = float(away.max())
        where = "cord or disc at ({:.0f}, {:.0f})".format(*clamp.at_mm[int(away.argmax())])
    return Check(
        id="clamp_floor", about="largest distance from the clamp's silicone to a pad on the floor",
        holds=far <= limit, value=far if math.isfinite(far) else None, limit=limit, unit="mm",
        source=PRACTICE, remedy=f"{POSTS_AGAIN}, or strip.joints that leave lip along the rim",
        at_least=False, where=where,
    )  # fmt: skip


def clamp_clear(
    pack: Pack,
    cell_layout: CellLayout,
    interconnect: Interconnect,
    cell_block: CellBlock,
    clamp: Clamp,
) -> Check:
    """Cord presses on plain plastic: off windows and strip channels, within the outline."""
    held = cell_block_shape(cell_block.outline)
    near = shapely.STRtree(cord_kept_off(pack, cell_layout, interconnect, cell_block))
    least, where = math.inf, "no cord"
    for cord in clamp.cords:
        line = cord.line
        gap = float(near.geometries[near.nearest(line)].distance(line))
        if held.contains(line):
            gap = min(gap, float(held.boundary.distance(line)))
        else:
            gap = -float(line.difference(held).length)
        if gap - CORD_MM / 2 < least:
            least, where = gap - CORD_MM / 2, "cord at ({:.0f}, {:.0f})".format(*cord.middle_mm)
    return Check(
        id="clamp_clear", about="clearance from cord to windows, strip channels and the rim's edge",
        holds=least >= -FINE_MM and bool(clamp.cords), value=least if clamp.cords else None,
        limit=0.0, unit="mm", source="geometry", remedy=POSTS_AGAIN, where=where,
    )  # fmt: skip


def clamp_lid(pack: Pack, cell_block: CellBlock, sizes: FittedSizes) -> Check:
    """The lid is stiff enough for what presses beside its screws."""
    value = lid_bulge_mm(pack, cell_block, sizes)
    return Check(
        id="clamp_lid", about="bulge of the lid's middle under the clamp",
        holds=value <= LID_BULGE_MM, value=value, limit=LID_BULGE_MM, unit="mm",
        source="plate formula M b2 / 8 D; modulus of printed PETG from memory",
        remedy="a larger enclosure.lid_mm", at_least=False,
    )  # fmt: skip
