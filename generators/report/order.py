"""The order of work for one pack: what goes where first, and what must not be forgotten.

All of it is common practice, no source; local rules, the cell maker's data sheet and licensed
practice come first.
"""

from __future__ import annotations

from layouts.pack_plan import PackPlan

__all__ = ["FUSE_WITHIN_MM", "order_of_work"]

FUSE_WITHIN_MM = 180.0  # of wire between pack plus and the main fuse; common practice, no source
ALIKE_MV = 20.0  # cells to be joined differ by no more; common practice, no source

ENCLOSED = (
    "Lower the core straight into the tub, leads out through the glands; check that nothing "
    "lies under a pad and that drains and slots are free. Connect the BMS from pack minus up.",
    "Lid on, screws snug only: inserts pull out. Brackets: the screws into the lugs first, "
    "then the feet to the frame.",
)
BUS = (
    "Cut the flat copper for the rows of both end groups, slot it over each can end, and solder it "
    "onto the nickel on the bench: no soldering iron on a cell.",
)
BARE = (
    "Line the case with insulating sheet, lower the core in, and hold it so that neither cells "
    "nor strips carry a load: foam or blocks against the holders alone. Keep the room over both "
    "faces and the case's openings free for gas. Connect the BMS from pack minus up.",
)


def order_of_work(plan: PackPlan) -> tuple[str, ...]:
    """Steps for the bench, in order, with this pack's own figures."""
    pack = plan.pack
    cell = pack.cell
    rings = pack.series * pack.parallel
    face = plan.joining.minus_face.value, plan.joining.plus_face.value
    tails = f"the {face[0]} face" if face[0] == face[1] else "one on each face"
    steps = [
        "Measure the prints: pockets, posts, lip. Press the inserts in hot, tub and lugs. Screw "
        "the glands in and stand the BMS board in its guides, not yet connected."
        if plan.housing
        else "Measure the prints: pockets, posts, lip. Try the empty holders in the case, cover "
        "and all, before any cell goes in.",
        f"Measure and sort the cells: all within {ALIKE_MV:g} mV of each other before any are "
        "joined.",
        f"Glue an insulating ring on each of the {rings} positive ends, before anything else.",
        "Set the cells into the lower holder by the signs at its pockets; have someone else check "
        "every polarity. Put the barriers into their grooves."
        if plan.barriers
        else "Set the cells into the lower holder by the signs at its pockets; have someone else "
        "check every polarity.",
        "Press the upper holder on and tighten the tie screws only until the posts meet.",
        *(BUS if any(strip.bus_mm for strip in plan.joining.strips) else ()),
        "Weld test strips on scrap cells and pull them to destruction. Then weld one face, cover "
        "it, turn the pack over and weld the other: rows and links as drawn, polarity checked "
        "each time.",
        f"Before any lead: measure every group against pack minus; group k reads k times a cell's "
        f"volts ({cell.nominal_v:g} V nominal, {cell.full_v:g} full), the last "
        f"{pack.series * cell.nominal_v:.1f} V nominal.",
        f"Solder a balance wire to each of the {pack.series + 1} joints, from pack minus up, "
        "away from the gas way over the can ends; fuse or protect each where it begins.",
        f"Main leads ({tails}): solder or bolt them to the strip tails, sleeve the tails, and "
        "keep both far ends insulated until the pack is closed.",
        f"Main fuse within {FUSE_WITHIN_MM:.0f} mm of pack plus, rated above the load and below "
        "what the wire bears, for the pack's full direct voltage and short-circuit current.",
        *(ENCLOSED if plan.housing else BARE),
        "First charge attended, where a fire can be left to burn out. Label it: volts, Wh, "
        "chemistry, date, polarity. It must be possible to disconnect it by hand.",
    ]
    return tuple(steps)
