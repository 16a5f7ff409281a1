"""The build sheet of one pack: what goes where first, and what must not be forgotten.

All of it is common practice, no source, unless it says otherwise; local rules, the cell maker's
data sheet and licensed practice come first.
"""

from __future__ import annotations

from generators.report.page import Stage
from layouts.pack import Face
from layouts.planning.pack_plan import PackPlan

__all__ = ["ALIKE_MV", "FUSE_WITHIN_MM", "after_building", "order_of_work"]

FUSE_WITHIN_MM = 180.0  # of wire between pack plus and the main fuse; common practice, no source
ALIKE_MV = 20.0  # cells to be joined differ by no more; common practice, no source
TAP_WITHIN_MV = 50.0  # a tap reads what its cells say; common practice, no source
LEAST_MOHM = 1.0  # from each pole to anything that can be touched; common practice, no source
OHM_SHARE = 10.0  # percent that cells of one lot differ in resistance; common practice, no source
FIRST_RATE = 0.2  # of the capacity an hour, for the first charge; common practice, no source
WARM_C = 45.0  # where the first charge is stopped; common practice, no source
STORED = "30 to 50 %"  # common practice, no source


def order_of_work(plan: PackPlan) -> tuple[Stage, ...]:
    """Stages for the bench, in order, every step to be ticked, with this pack's own figures."""
    return (
        _room(),
        _cells(plan),
        _holders(plan),
        _strips(plan),
        _welding(plan),
        _taps(plan),
        _insulation(plan),
        _closing(plan),
        _first_charge(plan),
        _label(plan),
    )


def _room() -> Stage:
    return Stage(
        title="Before you begin",
        steps=(
            "Read the cell maker's data sheet: where it says otherwise than this sheet, it wins. "
            "Ask what local rules say; where they want a licensed person, get one.",
            "Work where a burning pack can be left to burn out or be carried outside; keep the way "
            "out free, sand or a metal box at hand, and someone within call.",
            "Rings, watches and chains off, eyes covered, sleeves of insulating tape on every tool "
            "but its tip. One tool in reach at a time.",
        ),
    )


def _cells(plan: PackPlan) -> Stage:
    cell = plan.pack.cell
    amps = ALIKE_MV / (2.0 * cell.internal_resistance_mohm)
    return Stage(
        title="Sort the cells",
        steps=(
            f"Look at every cell: a dent, rust, a torn sleeve, a smell or less than "
            f"{cell.empty_v:g} V on arrival: it goes to the recycler, not into the pack.",
            f"Measure capacity and resistance of each, write them on it, and leave out what is off "
            f"by more than {OHM_SHARE:g} % from the middle of the lot. Share the rest out so that "
            f"every group of {plan.pack.parallel} has the same capacity.",
            "Let them rest for two weeks: a cell that loses more volts than the others leaks "
            "inside and is left out.",
            f"Bring all to the same volts before any are joined: within {ALIKE_MV:g} mV of each "
            f"other ({ALIKE_MV:g} mV drive {amps:.1f} A through two cells at once), "
            f"at {STORED} of charge.",
        ),
    )


def _holders(plan: PackPlan) -> Stage:
    rings = len(plan.arrangement.xy_mm)
    barriers = " Put the barriers into their grooves." if plan.barriers else ""
    return Stage(
        title="Rings first, then holders",
        steps=(
            "Measure the prints: pockets, posts, lip. Press the inserts in hot, tub and lugs. "
            "Screw the glands in and stand the BMS board in its guides, not yet connected."
            if plan.housing
            else "Measure the prints: pockets, posts, lip. Try the empty holders in the case, "
            "cover and all, before any cell goes in.",
            f"Glue an insulating ring on each of the {rings} positive ends, before anything else. "
            "Count them: a strip over a bare positive rim shorts its cell.",
            "Set the cells into the lower holder by the signs at its pockets; have someone else "
            "check every polarity against the plan." + barriers,
            "Press the upper holder on and tighten the tie screws only until the posts meet.",
        ),
    )


def _strips(plan: PackPlan) -> Stage:
    joining, material = plan.joining, plan.pack.strip.material
    bus = any(strip.bus_mm for strip in joining.strips)
    return Stage(
        title="Strips and test welds",
        steps=(
            f"Cut the {material} by the cutting list and the templates (print at 100 %, measure "
            "their 100 mm bar), take the burr off, round the corners, and write each strip's "
            "number on it.",
            *(
                (
                    "Cut the flat copper for the rows of both end groups, slot it over each can "
                    "end, and solder it onto the nickel on the bench: no soldering iron on a cell.",
                )
                if bus
                else ()
            ),
            "Set the welder on scrap: cans that were never filled, else dead cells emptied to "
            "nothing, outdoors. Five test welds one after another, each pulled off to destruction. "
            "Good: every spot leaves a hole in the strip and its metal on the can, and no can is "
            "dented, holed or blue.",
        ),
    )


def _welding(plan: PackPlan) -> Stage:
    strips = plan.joining.strips
    lower = sum(strip.face is Face.LOWER for strip in strips)
    spots = plan.pack.strip.weld_spots
    each = f"{spots} spots where a strip crosses a can end"
    layers = max(strip.layers for strip in strips)
    more = (
        f" Strips of {layers} layers: weld the first, then the next onto it, spots beside the "
        "first ones."
        if layers > 1
        else ""
    )
    return Stage(
        title="Weld",
        steps=(
            "Cover the upper face with insulating sheet. From here on the pack can't be switched "
            "off: never bridge two potentials, with a strip, a tool or a probe.",
            f"Weld the lower face, strips 1 to {lower} in their order, {each}. Before each strip: "
            "polarity and group of every cell under it against the plan, with the meter too."
            + more,
            "Pull at every strip with a finger's strength. Cover the lower face, turn the pack "
            "over, uncover joint by joint.",
            f"Weld the upper face, strips {lower + 1} to {len(strips)} in their order, the same "
            "way. Cover each joint when it is done.",
        ),
    )


def _taps(plan: PackPlan) -> Stage:
    pack, cell = plan.pack, plan.pack.cell
    return Stage(
        title="Taps before the BMS",
        steps=(
            f"Before any lead: measure every group against pack minus and write it in the table: "
            f"tap k reads k times a cell's volts ({cell.nominal_v:g} V nominal, {cell.full_v:g} "
            f"full), the last {pack.series * cell.nominal_v:.1f} V nominal. One that is off by "
            f"more than {TAP_WITHIN_MV:g} mV from what its cells say: stop and find out why.",
            f"Solder a balance wire to each of the {pack.series + 1} joints, B0 first and so on "
            "up, away from the gas way over the can ends and through the notches; fuse or protect "
            "each where it begins. Heat the strip beside the can, never the can.",
            "At the loose plug, with the BMS far away: measure each contact against B0, in order. "
            "Every one reads the next line of the table; two swapped wires destroy the BMS and "
            "may start a fire.",
            f"Only then plug the BMS in, its main wire at pack minus first where its maker says "
            f"so, and measure again: it is for {pack.series} cells in series, {cell.chemistry}.",
        ),
    )


def _insulation(plan: PackPlan) -> Stage:
    volts = plan.pack.series * plan.pack.cell.full_v
    what = "tub, brackets and every screw" if plan.housing else "case and every screw"
    return Stage(
        title="Insulation test",
        steps=(
            f"BMS unplugged: measure from each pole to {what}: no volts, and {LEAST_MOHM:g} "
            f"megohm or more, with an insulation tester at its lowest range above {volts:.0f} V.",
            "Repeat it when the pack is closed. Any reading of volts: open it and find the place.",
        ),
    )


def _closing(plan: PackPlan) -> Stage:
    face = plan.joining.minus_face.value, plan.joining.plus_face.value
    tails = f"the {face[0]} face" if face[0] == face[1] else "one on each face"
    closing = (
        (
            "Lower the core straight into the tub, leads out through the glands; check that "
            "nothing lies under a pad and that drains and slots are free.",
            "Lid on, screws snug only: inserts pull out. Brackets: the screws into the lugs first, "
            "then the feet to the frame.",
        )
        if plan.housing
        else (
            "Line the case with insulating sheet, lower the core in, and hold it so that neither "
            "cells nor strips carry a load: foam or blocks against the holders alone. Keep the "
            "room over both faces and the case's openings free for gas.",
        )
    )
    return Stage(
        title="Leads, fuse, closing",
        steps=(
            f"Main leads ({tails}): solder or bolt them to the strip tails, sleeve the tails, and "
            "keep both far ends insulated until the pack is closed. Pack minus first, and never "
            "both bare at once.",
            f"Main fuse within {FUSE_WITHIN_MM:.0f} mm of pack plus, rated above the load and "
            "below what the wire bears, for the pack's full direct voltage and short-circuit "
            "current. A switch or plug within reach disconnects the pack by hand.",
            *closing,
        ),
    )


def _first_charge(plan: PackPlan) -> Stage:
    pack, cell = plan.pack, plan.pack.cell
    hours = pack.parallel * cell.capacity_ah
    return Stage(
        title="First charge, attended",
        steps=(
            f"First charge outdoors or where a fire can be left to burn out, at "
            f"{FIRST_RATE * hours:.1f} A or less, never left alone, at 10 to 30 °C.",
            f"Every quarter of an hour: volts of all groups within {TAP_WITHIN_MV:g} mV of each "
            f"other, no cell above {cell.full_v:g} V, no place warmer than {WARM_C:g} °C. Else "
            "unplug and stand back.",
            f"It ends at {pack.series * cell.full_v:.1f} V. Leave it for a day, measure again: a "
            "group that has sunk has a bad cell. Then a first discharge at a small load, attended "
            "too.",
        ),
    )


def _label(plan: PackPlan) -> Stage:
    pack, cell = plan.pack, plan.pack.cell
    volts = pack.series * cell.nominal_v
    energy = volts * pack.parallel * cell.capacity_ah
    return Stage(
        title="Label",
        steps=(
            f"On the pack, to be read without opening it: {pack.name}, {volts:.1f} V nominal, "
            f"{pack.series * cell.full_v:.1f} V full, {energy:.0f} Wh, {cell.chemistry}, "
            f"{pack.series}S{pack.parallel}P of {cell.format}, date of building, who built it, "
            "plus and minus at the leads, fuse and charger to be used.",
            "And: home-made, not certified. Do not open, crush, wet, heat or charge below 0 °C.",
        ),
    )


def after_building(plan: PackPlan) -> tuple[Stage, ...]:
    """What to know when the pack is done: nothing here is ticked."""
    return (
        _rework(plan),
        _storage(),
        _transport(plan),
        _accident(),
        _end_of_life(plan),
        _uncertified(),
    )


def _rework(plan: PackPlan) -> Stage:
    cell = plan.pack.cell
    return Stage(
        title="Rework",
        ticked=False,
        steps=(
            "A strip comes off cold: cut it between the cells first, cover both sides, then "
            "roll each end up with flat pliers, spot by spot; never lever against a can's rim, "
            "never tear it straight up, never grind on a cell with other potentials bare.",
            "What stays of a spot is filed flat by hand, not with a power tool, the dust wiped "
            "off; the new spots go beside the old ones.",
            "A cell is scrap where a weld has holed or dented it, its ring or sleeve is cut, "
            f"it was shorted, it stood below {cell.empty_v - 0.5:.1f} V, it was warmed above "
            f"{cell.max_c:g} °C, or its volts sink while it rests. In doubt it is scrap. Its "
            "whole group is measured again, and a new cell brought to the group's volts "
            f"within {ALIKE_MV:g} mV first.",
        ),
    )


def _storage() -> Stage:
    return Stage(
        title="Storage",
        ticked=False,
        steps=(
            f"At {STORED} of charge, 5 to 25 °C, dry, away from what burns and from ways out; "
            "charger and load unplugged. Volts measured every three months: the BMS draws a "
            "little all the time.",
        ),
    )


def _transport(plan: PackPlan) -> Stage:
    pack, cell = plan.pack, plan.pack.cell
    energy = pack.series * cell.nominal_v * pack.parallel * cell.capacity_ah
    return Stage(
        title="Transport",
        ticked=False,
        steps=(
            f"{energy:.0f} Wh. Lithium batteries are dangerous goods. Carriers take them only "
            "when their type has passed the tests of the UN Manual of Tests and Criteria, part "
            "III, section 38.3; a home-made pack has not, so normally it can't be sent by "
            "post, courier or air, nor taken onto an aircraft. Ask the carrier and your "
            "authority before it goes anywhere but in its own machine.",
            "A damaged pack is not carried at all without the authority's word.",
        ),
    )


def _accident() -> Stage:
    return Stage(
        title="After a crash, a fall or water",
        ticked=False,
        steps=(
            "Disconnect it by hand if that is safe, do not charge it, and stand it outdoors, "
            "5 m from anything that burns, for a day or more: cells may catch fire hours "
            "later. Smoke, hiss, smell or warmth: away, and call the fire service.",
            "Afterwards open it as if it were live: it is. Every cell that is dented or was "
            "wet inside the pack is scrap; salt water is the worst.",
        ),
    )


def _end_of_life(plan: PackPlan) -> Stage:
    pack, cell = plan.pack, plan.pack.cell
    return Stage(
        title="End of life",
        ticked=False,
        steps=(
            "When a group holds less than 70 to 80 % of what it did, or sinks on its own. "
            f"Discharge it through a lamp to {pack.series * cell.empty_v:.1f} V, tape both "
            "poles and every tap, and hand it to a collection point for lithium batteries, "
            "whole: never into the bin, never cut up.",
        ),
    )


def _uncertified() -> Stage:
    return Stage(
        title="What it is not certified to",
        ticked=False,
        steps=(
            "To nothing. Not UN 38.3 (transport), not IEC 62133-2 (cells and batteries in "
            "portable use), not IEC 62619 (in industrial use), not EN 50604-1 (in light "
            "electric vehicles), no protection class of IEC 60529, no mark of conformity. "
            "Spacings are compared with IEC 60664-1, which is no test of this pack.",
            "Who puts it into a vehicle, a boat or a house, lends it or sells it may need "
            "approval: local rules and licensed practice come before everything on this sheet.",
        ),
    )
