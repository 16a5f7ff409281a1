"""Values checked against each other: what one key alone does not show.

Each rule looks at the pack with all defaults filled in and yields what it finds. It names all
fields that it reads, so that it stays silent where one of them is already at fault.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from math import pi, sqrt

from generators.packfile.section import MOST_CELLS
from layouts.formats import CellFormat
from layouts.pack import (
    STACK_LEAST_MM,
    EnclosureStyle,
    JointForm,
    Load,
    Pack,
    plate_sheet_mm,
)
from layouts.parts.whole_layers import layers_down_mm

__all__ = ["RULES", "Finding"]

LEAST_LAP_MM = 1.0  # of lip on the can's edge all round; common practice, no source
LEAST_LIP_MM = 0.8  # left behind a ring seat: four layers of 0.2; common practice, no source
NOISE_MM = 1e-9  # a web written as 0.9 passes with a nozzle of 0.45
LEAST_WEB_MM = 0.6  # 0.45, one line, stays beside a lead-in that has to be some width itself
RIM_MM = 0.5  # the lip holds a can this far within its edge; common practice, no source
OFF_DIAMETER_MM = 1.5  # a sleeve and the makers' spread; past that it is another format
SHORT_MM, LONG_MM = 3.0, 7.0  # a protection board in the can adds up to 5 or so
LEAST_APART_MM = 0.01  # of two holders' rims; judged

Field = tuple[str | int, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class Finding:
    """What a rule found: at which field, from which fields, and what would do."""

    field: Field
    reads: tuple[Field, ...]
    why: str
    remedy: str
    value: str | None = None  # None: the field's own value as written


def cells(pack: Pack, size: CellFormat) -> Iterator[Finding]:
    """As many cells as the tool plans for."""
    count = pack.series * pack.parallel
    if count > MOST_CELLS:
        yield Finding(
            field=("series",),
            reads=(("parallel",),),
            value=f"{count:,}",
            why=f"series times parallel is more than {MOST_CELLS:,} cells",
            remedy=f"use at most {MOST_CELLS:,} cells, or several packs",
        )


def measured(pack: Pack, size: CellFormat) -> Iterator[Finding]:
    """Measured sizes that can't be those of the format."""
    reads = (("cell", "format"),)
    off = pack.cell.diameter_mm - size.diameter_mm
    if abs(off) > OFF_DIAMETER_MM:
        yield Finding(
            field=("cell", "measured_diameter_mm"),
            reads=reads,
            why=f"does not match a {size.format}, whose diameter is about {size.diameter_mm:g} mm",
            remedy="measure again, or write the format that it is",
        )
    off = pack.cell.length_mm - size.longest_mm
    if off < -SHORT_MM or off > LONG_MM:
        yield Finding(
            field=("cell", "measured_length_mm"),
            reads=reads,
            why=f"does not match a {size.format}, whose length is about {size.longest_mm:g} mm",
            remedy="measure again, or write the format that it is",
        )


def volts(pack: Pack, size: CellFormat) -> Iterator[Finding]:
    """Empty below nominal below full."""
    cell = pack.cell
    names = ("empty_v", "nominal_v", "full_v")
    for low, high in pairwise(names):
        a, b = getattr(cell, low), getattr(cell, high)
        if a >= b:
            yield Finding(
                field=("cell", low),
                reads=(("cell", high), ("cell", "chemistry")),
                value=f"{a:g}",
                why=f"is not below {high} {b:g}",
                remedy="give voltages that rise in the order empty_v, nominal_v, full_v",
            )


def peaks(pack: Pack, size: CellFormat) -> Iterator[Finding]:
    """A peak is more than the continuous value, and has a duration."""
    for section, name in ((pack.cell, "cell"), (pack.load, "load"), (pack.bms, "bms")):
        if section is None:
            continue
        least = section.continuous_a
        if section.peak_a is not None and least is not None and section.peak_a < least:
            yield Finding(
                field=(name, "peak_a"),
                reads=((name, "continuous_a"),),
                why=f"is less than continuous_a {least:g}",
                remedy=f"use at least {least:g}, or delete it",
            )
        peak_w = section.peak_w if isinstance(section, Load) else None
        if section.peak_s is not None and section.peak_a is None and peak_w is None:
            yield Finding(
                field=(name, "peak_s"),
                reads=((name, "peak_a"), (name, "peak_w")),
                why="is the duration of a peak, but no peak_a is given",
                remedy="add peak_a, or delete it",
            )


def printable(pack: Pack, size: CellFormat) -> Iterator[Finding]:
    """Walls that a nozzle can lay."""
    nozzle = pack.printer.nozzle_mm
    reads = (("printer", "nozzle_mm"),)
    web = pack.holder.web_mm
    if web < 2 * nozzle - NOISE_MM:
        yield Finding(
            field=("holder", "web_mm"),
            reads=reads,
            value=f"{web:g}",
            why=f"is less than two lines of a nozzle of {nozzle:g} mm",
            remedy=f"use at least {max(2 * nozzle, LEAST_WEB_MM):g}, better {3 * nozzle:g}",
        )
    elif web < LEAST_WEB_MM:
        yield Finding(
            field=("holder", "web_mm"),
            reads=(),
            value=f"{web:g}",
            why=f"leaves no wall at the pocket's opening below {LEAST_WEB_MM:g}",
            remedy=f"use at least {LEAST_WEB_MM:g}, better 1.2",
        )
    for section, name in ((pack.holder, "holder"), (pack.enclosure, "enclosure")):
        if section.wall_mm < 2 * nozzle:
            yield Finding(
                field=(name, "wall_mm"),
                reads=reads,
                value=f"{section.wall_mm:g}",
                why=f"is less than two lines of a nozzle of {nozzle:g} mm",
                remedy=f"use at least {2 * nozzle:g}",
            )


def section(pack: Pack, size: CellFormat) -> Iterator[Finding]:
    """The holder's section: lip, window, seat and depth round one can end."""
    holder, can = pack.holder, pack.cell.diameter_mm
    can_reads: tuple[Field, ...] = (("cell", "format"), ("cell", "measured_diameter_mm"))
    widest = can - 2 * LEAST_LAP_MM
    if holder.window_mm > widest:
        why = (
            f"is larger than the can of {can:g} mm, which would fall through"
            if holder.window_mm >= can
            else f"leaves less than {LEAST_LAP_MM:g} mm of lip on the can of {can:g} mm"
        )
        yield Finding(
            field=("holder", "window_mm"),
            reads=can_reads,
            value=f"{holder.window_mm:g}",
            why=why,
            remedy=f"use at most {widest:g}",
        )
    deepest = holder.lip_mm - LEAST_LIP_MM
    if holder.seat_mm > deepest + 1e-9:  # 1.6 - 0.8 is not quite 0.8 in floats
        yield Finding(
            field=("holder", "seat_mm"),
            reads=(("holder", "lip_mm"),),
            value=f"{holder.seat_mm:g}",
            why=f"leaves less than {LEAST_LIP_MM:g} mm of the lip of {holder.lip_mm:g} mm",
            remedy=f"use at most {deepest:g}",
        )
    if holder.ring_mm > holder.seat_mm:
        yield Finding(
            field=("holder", "ring_mm"),
            value=f"{holder.ring_mm:g}",
            reads=(("holder", "seat_mm"),),
            why=f"is more than the seat depth of {holder.seat_mm:g} mm",
            remedy=f"use at most {holder.seat_mm:g}",
        )
    half = pack.cell.length_mm / 2
    most = layers_down_mm(half - LEAST_APART_MM, pack.printer.layer_mm)
    if holder.depth_mm >= half:
        yield Finding(
            field=("holder", "depth_mm"),
            value=f"{holder.depth_mm:g}",
            reads=(("cell", "format"), ("cell", "measured_length_mm")),
            why=f"is not less than half the can's length of {pack.cell.length_mm:g} mm",
            remedy=f"use at most {most:g}: the two holders would meet",
        )
    yield from _channels(pack, can_reads)


def _channels(pack: Pack, can_reads: tuple[Field, ...]) -> Iterator[Finding]:
    widest = pack.cell.diameter_mm - 2 * RIM_MM - pack.holder.channel_play_mm
    for name in ("row_width_mm", "link_width_mm", "lead_width_mm"):
        width = getattr(pack.strip, name)
        if width >= widest:
            yield Finding(
                field=("strip", name),
                value=f"{width:g}",
                reads=(*can_reads, ("holder", "channel_play_mm")),
                why=f"leaves no lip to hold the can of {pack.cell.diameter_mm:g} mm",
                remedy=f"use less than {widest:g}",
            )


def sheet(pack: Pack, size: CellFormat) -> Iterator[Finding]:
    """The layers of a plate lie between the ring on the can and the lip's outer face."""
    strip, holder = pack.strip, pack.holder
    given = [key for key in ("layers", "thickness_mm") if key in strip.given]
    if not given or strip.joints is not JointForm.PLATES or pack.parallel == 1:
        return
    room = holder.lip_mm - holder.ring_mm - STACK_LEAST_MM
    thick = strip.layers * plate_sheet_mm(strip)
    if thick > room + 1e-9:
        yield Finding(
            field=("strip", given[0]),
            reads=(("strip", "layers"), ("strip", "thickness_mm"), ("holder", "lip_mm"),
                   ("holder", "ring_mm")),
            why=f"makes a plate of {thick:g} mm, thicker than the lip allows: {holder.lip_mm:g} "
            f"of lip less {holder.ring_mm:g} of ring and {STACK_LEAST_MM:g} left free",
            remedy=f"use at most {room:.2f} mm in all, or a holder.lip_mm of "
            f"{holder.lip_mm + thick - room:.2f}",
        )  # fmt: skip


def wire(pack: Pack, size: CellFormat) -> Iterator[Finding]:
    """A lead is thicker than its copper."""
    copper = sqrt(4 * pack.leads.wire_mm2 / pi)
    if pack.leads.outside_mm <= copper:
        yield Finding(
            field=("leads", "outside_mm"),
            reads=(("leads", "wire_mm2"),),
            why=f"is not more than the {copper:.1f} mm of {pack.leads.wire_mm2:g} mm2 of copper",
            remedy=f"use more than {copper:.1f}: measure the wire over its insulation",
        )


def heat(pack: Pack, size: CellFormat) -> Iterator[Finding]:
    """An ambient temperature below the highest one of the cells."""
    if pack.load is not None and pack.load.ambient_c >= pack.cell.max_c:
        yield Finding(
            field=("load", "ambient_c"),
            reads=(("cell", "max_c"),),
            why=f"is not below the cell's max_c {pack.cell.max_c:g}",
            remedy=f"use less than {pack.cell.max_c:g}",
        )


def pins(pack: Pack, size: CellFormat) -> Iterator[Finding]:
    """Pins name groups that the pack has, and no group gets more cells than it takes."""
    pinned = [pin.group for pin in pack.grouping.pins]
    field, reads = ("grouping", "pins"), (("series",), ("parallel",))
    for group in sorted(set(pinned)):
        if group > pack.series:
            yield Finding(
                field=field,
                reads=reads,
                value=f"group {group}",
                why=f"names a group that a pack of {pack.series} in series does not have",
                remedy=f"use groups 1 to {pack.series}",
            )
        elif pinned.count(group) > pack.parallel:
            yield Finding(
                field=field,
                reads=reads,
                value=f"group {group}, {pinned.count(group)} times",
                why=f"gives one group more than its {pack.parallel} cells",
                remedy=f"pin at most {pack.parallel} cells to a group",
            )


def volts_limit(pack: Pack, size: CellFormat) -> Iterator[Finding]:
    """Consecutive groups always touch: a limit below one cell's volts can't be kept."""
    limit = pack.grouping.volts_limit
    if limit is not None and limit < pack.cell.full_v and pack.series > 1:
        yield Finding(
            field=("grouping", "volts_limit"),
            reads=(("cell", "full_v"), ("cell", "chemistry"), ("series",)),
            why=f"is less than the {pack.cell.full_v:g} V between joined groups",
            remedy=f"use at least {pack.cell.full_v:g}",
        )


def placed(pack: Pack, size: CellFormat) -> Iterator[Finding]:
    """What only has a meaning for cells that are placed in a space's outline."""
    if pack.enclosure.style is EnclosureStyle.NONE and pack.space is not None:
        return
    remedy = "give a space and enclosure: {style: none}, or delete it"
    why = "is only for cells placed in the outline of a space, without a tub"
    reads = (("enclosure", "style"), ("space",))
    if pack.free_spacing:
        yield Finding(field=("lattice",), reads=reads, why=why, remedy=remedy)
    for key, given in (("pins", pack.grouping.pins), ("exclude_mm", pack.grouping.exclude_mm)):
        if given:
            yield Finding(
                field=("grouping", key),
                reads=reads,
                value=f"a list of {len(given)}",
                why=why,
                remedy=remedy,
            )


def room(pack: Pack, size: CellFormat) -> Iterator[Finding]:
    """A space that not even one can in its holder goes into, however it lies."""
    if pack.space is None or pack.space.room is None:
        return
    if pack.space.is_box:
        width = min(pack.space.box_mm)
    else:
        from layouts.spaces.regions import free_width_mm  # shapely: not needed for a box

        width = free_width_mm(pack.space)
    needed = pack.pocket_mm + 2 * pack.holder.wall_mm
    reads = (("cell", "format"), ("cell", "measured_diameter_mm"), ("cell", "measured_length_mm"))
    if width < needed:
        yield Finding(
            field=("space",),
            reads=(*reads, ("holder", "clearance_mm"), ("holder", "wall_mm")),
            value=f"{width:.1f} mm wide",
            why=f"is too narrow for one cell and its holder walls, {needed:.1f} mm",
            remedy="give the whole space, and check its units",
        )
    longest = float(sum(side**2 for side in pack.space.box_mm) ** 0.5)
    if longest < pack.cell.length_mm:
        yield Finding(
            field=("space",),
            reads=reads,
            value=f"{longest:.1f} mm from corner to corner",
            why=f"is too short for one cell of {pack.cell.length_mm:g} mm",
            remedy="give the whole space, and check its units",
        )


def clamped(pack: Pack, size: CellFormat) -> Iterator[Finding]:
    """Flank posts can only be left out where the lid clamps the holders."""
    style, field = pack.enclosure.style, ("holder", "flank_posts")
    if not pack.holder.flank_posts and style is not EnclosureStyle.FITTED:
        why = f"needs a lid that clamps the holders, which enclosure.style {style.value} has not"
        remedy = "write enclosure: {style: fitted}, or delete it"
        yield Finding(field=field, reads=(("enclosure", "style"),), why=why, remedy=remedy)


RULES = (
    cells, measured, volts, peaks, printable, section, sheet, wire, heat, pins, volts_limit,
    placed, room, clamped,
)  # fmt: skip
