"""The build sheet of one pack: what goes where first, and what must not be forgotten.

All of it is common practice, no source, unless it says otherwise; local rules, the cell maker's
data sheet and licensed practice come first.
"""

from __future__ import annotations

from generators.exports.bought import FUSE_WITHIN_MM, fuse_size
from generators.report.onto_frame import brackets_first, onto_frame
from generators.report.plate_work import (
    crimped_one_by_one,
    pins_off,
    plate_rework,
    plates_and_test_welds,
    welding_of_plates,
)
from generators.report.printed_for import printed_for
from generators.report.values import Stage
from layouts.pack import Face
from layouts.planning.pack_plan import PackPlan
from layouts.sorting.lot import LotBands

__all__ = ["ALIKE_MV", "after_building", "order_of_work"]

ALIKE_MV = 20.0  # cells to be joined differ by no more; common practice, no source
BALANCE_LEAD_WITHIN_MV = 50.0  # a tap reads what its cells say; common practice, no source
LEAST_MOHM = 1.0  # from each pole to anything that can be touched; common practice, no source
BANDS = LotBands()  # the same that cellstead sort rejects by
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
        _balance_leads(plan),
        _insulation(plan),
        _closing(plan),
        _first_charge(plan),
        _label(plan),
    )


def _room() -> Stage:
    return Stage(
        title="Before you start",
        steps=(
            "Read the cell maker's data sheet: where it differs from this sheet, it takes "
            "precedence. Check local rules; where they require a licensed person, hire one.",
            "Work where a burning pack can be left to burn out or be carried outside; keep the "
            "exit clear, sand or a metal box at hand, and someone within call.",
            "Rings, watches and chains off, safety glasses on, every tool insulated with tape "
            "except its tip. One tool within reach at a time.",
        ),
    )


def _cells(plan: PackPlan) -> Stage:
    cell = plan.pack.cell
    amps = ALIKE_MV / (2.0 * cell.internal_resistance_mohm)
    return Stage(
        title="Sort the cells",
        steps=(
            "Inspect every cell: one with a dent, rust, a torn sleeve, a smell or less than "
            f"{cell.empty_v:g} V on arrival is recycled, not built in.",
            "Measure capacity and resistance of each cell, write them on it, and reject those "
            f"more than {100 * BANDS.capacity_below_ratio:g} % below the median capacity of the "
            f"lot, or {100 * BANDS.resistance_off_ratio:g} % off its median resistance. "
            + _distribute(plan),
            "Let them rest for two weeks: reject a cell whose voltage drops more than the "
            "others' (self-discharge).",
            f"Bring all to the same voltage before any are joined: within {ALIKE_MV:g} mV of "
            f"each other ({ALIKE_MV:g} mV drives {amps:.1f} A through two cells on contact), at "
            f"{STORED} state of charge.",
        ),
    )


def _distribute(plan: PackPlan) -> str:
    """Cells to groups: by the table where they were sorted."""
    if plan.pack.measured_cells is not None:
        return "The rest are sorted: each goes to the site that plan.pdf and labels.pdf tell."
    return (
        f"Distribute the rest so that every group of {plan.pack.parallel} has the same capacity "
        "(cellstead sort does)."
    )


def _holders(plan: PackPlan) -> Stage:
    rings = len(plan.cell_layout.xy_mm)
    barriers = " Insert the barriers into their grooves." if plan.barriers else ""
    return Stage(
        title="Rings first, then holders",
        steps=(
            printed_for(plan.pack.printer, plan.pack.mount),
            *pins_off(plan),
            "Measure the prints: pockets, posts, lip. Heat-set the inserts in tub and mounting "
            "pads. Fit the cable glands and place the BMS board in its guides, not yet "
            "connected."
            if plan.enclosure_set
            else "Measure the prints: pockets, posts, lip. Try the empty holders in the case, "
            "with its cover, before any cell is inserted.",
            *brackets_first(plan),
            *(plan.enclosure.joining_steps if plan.enclosure_set else ()),
            f"Glue an insulating ring on each of the {rings} positive ends first. Count them: a "
            "strip over a bare positive rim shorts its cell.",
            "Insert the cells into the lower holder according to the polarity marks at its "
            "pockets; have a second person check every polarity against the plan." + barriers,
            "Press the upper holder on and tighten the tie screws only until the posts meet.",
            *(plan.enclosure.holding_steps if plan.enclosure_set else ()),
        ),
    )


def _strips(plan: PackPlan) -> Stage:
    if plan.interconnect.plates:
        return plates_and_test_welds(plan)
    interconnect, material = plan.interconnect, plan.pack.strip.material
    bus = any(strip.bus_mm for strip in interconnect.strips)
    return Stage(
        title="Strips and test welds",
        steps=(
            f"Cut the {material} by the cutting list and the templates (print at 100 %, measure "
            "their 100 mm bar), deburr, round the corners, and write each strip's number on it.",
            *(
                (
                    "Cut the flat copper for the rows of both end groups, slot it over each can "
                    "end, and solder it onto the nickel on the bench: no soldering iron on a cell.",
                )
                if bus
                else ()
            ),
            "Set the welder on scrap: unfilled cans, otherwise dead cells discharged to 0 V, "
            "outdoors. Five test welds in succession, each peeled to destruction. Good: every "
            "spot tears a hole in the strip and leaves its metal on the can, and no can is "
            "dented, perforated or discoloured blue.",
        ),
    )


def _welding(plan: PackPlan) -> Stage:
    if plan.interconnect.plates:
        return welding_of_plates(plan)
    strips = plan.interconnect.strips
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
            "Cover the upper face with insulating sheet. From now on the pack can't be switched "
            "off: never bridge two potentials with a strip, a tool or a probe.",
            f"Weld the lower face, strips 1 to {lower} in their order, {each}. Before each "
            "strip, check polarity and group of every cell under it against the plan, and with "
            "the meter." + more,
            "Pull every strip by hand. Cover the lower face, turn the pack over, uncover joint "
            "by joint.",
            f"Weld the upper face, strips {lower + 1} to {len(strips)} in their order, the same "
            "way. Cover each joint when it is finished.",
        ),
    )


def _balance_leads(plan: PackPlan) -> Stage:
    pack, cell = plan.pack, plan.pack.cell
    return Stage(
        title="Balance leads before the BMS",
        steps=(
            "Before fitting any lead: measure every group against pack minus and write it in "
            f"the table: tap k reads k times a cell's voltage ({cell.nominal_v:g} V nominal, "
            f"{cell.full_v:g} full), the last {pack.series * cell.nominal_v:.1f} V nominal. If "
            f"one differs by more than {BALANCE_LEAD_WITHIN_MV:g} mV from the sum of its cells, "
            f"stop and "
            "find the cause.",
            _lead_step(plan),
            "At the open balance connector, with the BMS disconnected: measure each contact "
            "against B0, in order. Each reads the next line of the table; two swapped leads "
            "destroy the BMS and may start a fire.",
            "Only then connect the BMS, its main lead to pack minus first where its maker says "
            f"so, and measure again: it is for {pack.series} cells in series, {cell.chemistry}.",
        ),
    )


def _lead_step(plan: PackPlan) -> str:
    if plan.interconnect.plates:
        return crimped_one_by_one(plan)
    return (
        f"Solder a balance lead to each of the {plan.pack.series + 1} joints, B0 first and then "
        "upwards, clear of the vent path over the can ends and through the notches; fuse or "
        "protect each at its source end. Heat the strip beside the can, never the can."
    )


def _insulation(plan: PackPlan) -> Stage:
    volts = plan.pack.series * plan.pack.cell.full_v
    what = "tub, brackets and every screw" if plan.enclosure_set else "case and every screw"
    return Stage(
        title="Insulation test",
        steps=(
            f"BMS disconnected: measure from each terminal to {what}: no voltage, and "
            f"{LEAST_MOHM:g} megohm or more, with an insulation tester at its lowest range above "
            f"{volts:.0f} V.",
            (
                "Repeat it when the pack is closed. If any voltage is measured, open it and "
                "find the fault."
            ),
        ),
    )


def _closing(plan: PackPlan) -> Stage:
    face = plan.interconnect.minus_face.value, plan.interconnect.plus_face.value
    tails = f"the {face[0]} face" if face[0] == face[1] else "one on each face"
    closing = (
        (
            "Lower the cell block straight into the tub, leads out through the glands; check "
            "that nothing lies under a clamping pad"
            + (" and that drains and slots are clear." if plan.enclosure.seal is None else "."),
            *plan.enclosure.closing_steps,
            "Fit the lid and tighten its screws to 0.5 N m (judgement, no source): more may "
            f"pull the inserts out. {onto_frame(plan)}",
        )
        if plan.enclosure_set
        else (
            "Line the case with insulating sheet, lower the cell block in, and hold it so that "
            "neither cells nor strips carry a load: foam or blocks against the holders only. "
            "Keep the vent space over both faces and the case's openings clear.",
        )
    )
    return Stage(
        title="Leads, fuse, closing",
        steps=(
            f"Main leads ({tails}): solder or bolt them to the strip tails, sleeve the tails, and "
            "keep both far ends insulated until the pack is closed. Pack minus first, and never "
            "both bare at once.",
            f"Main fuse ({fuse_size(plan.electrical.fuse_protection)}) within "
            f"{FUSE_WITHIN_MM:.0f} mm of pack plus. A switch or plug within reach disconnects "
            "the pack by hand.",
            *closing,
        ),
    )


def _first_charge(plan: PackPlan) -> Stage:
    pack, cell = plan.pack, plan.pack.cell
    hours = pack.parallel * cell.capacity_ah
    return Stage(
        title="First charge, attended",
        steps=(
            "First charge outdoors or where a fire can be left to burn out, at "
            f"{FIRST_RATE * hours:.1f} A or less, never unattended, at 10 to 30 °C.",
            f"Every 15 minutes: all group voltages within {BALANCE_LEAD_WITHIN_MV:g} mV of each "
            f"other, no "
            f"cell above {cell.full_v:g} V, no spot warmer than {WARM_C:g} °C. Otherwise "
            "disconnect and keep away.",
            f"It ends at {pack.series * cell.full_v:.1f} V. Let it rest for a day and measure "
            "again: a group whose voltage has dropped has a bad cell. Then a first discharge at "
            "a small load, also attended.",
        ),
    )


def _label(plan: PackPlan) -> Stage:
    pack, cell = plan.pack, plan.pack.cell
    volts = pack.series * cell.nominal_v
    energy = volts * pack.parallel * cell.capacity_ah
    return Stage(
        title="Label",
        steps=(
            "On the pack, legible without opening it (drawings/label.svg has it at true size): "
            f"{pack.name}, {volts:.1f} V nominal, "
            f"{pack.series * cell.full_v:.1f} V full, {energy:.0f} Wh, {cell.chemistry}, "
            f"{pack.series}S{pack.parallel}P of {cell.format}, build date, builder, plus and "
            "minus at the leads, fuse and charger to be used.",
            "And: home-made, not certified. Do not open, crush, wet, heat or charge below 0 °C.",
        ),
    )


def after_building(plan: PackPlan) -> tuple[Stage, ...]:
    """Notes when the pack is done: nothing here is ticked."""
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
            plate_rework(plan)
            if plan.interconnect.plates
            else "Remove a strip cold: cut it between the cells first, cover both sides, then roll "
            "each end up with flat pliers, spot by spot; never lever against a can's rim, never "
            "pull it straight up, never grind on a cell while other potentials are bare.",
            "File spot residue flat by hand, not with a power tool, and wipe the dust off; "
            "place new spots beside the old ones.",
            "A cell is scrap if a weld has perforated or dented it, its ring or sleeve is cut, "
            f"it was shorted, it was below {cell.empty_v - 0.5:.1f} V, it was heated above "
            f"{cell.max_c:g} °C, or its voltage drops at rest. In doubt it is scrap. Measure its "
            "whole group again, and first bring a new cell to the group's voltage within "
            f"{ALIKE_MV:g} mV.",
        ),
    )


def _storage() -> Stage:
    return Stage(
        title="Storage",
        ticked=False,
        steps=(
            f"At {STORED} state of charge, 5 to 25 °C, dry, away from combustibles and exits; "
            "charger and load disconnected. Measure the voltage every three months: the BMS "
            "draws a small current all the time.",
        ),
    )


def _transport(plan: PackPlan) -> Stage:
    pack, cell = plan.pack, plan.pack.cell
    energy = pack.series * cell.nominal_v * pack.parallel * cell.capacity_ah
    return Stage(
        title="Transport",
        ticked=False,
        steps=(
            f"{energy:.0f} Wh. Lithium batteries are dangerous goods. Carriers accept them only "
            "when their type has passed the tests of the UN Manual of Tests and Criteria, part "
            "III, section 38.3; a home-made pack has not, so normally it can't be sent by post, "
            "courier or air, nor taken onto an aircraft. Ask the carrier and your authority "
            "before transporting it other than in its own machine.",
            "A damaged pack must not be transported without the authority's approval.",
        ),
    )


def _accident() -> Stage:
    return Stage(
        title="After a crash, a fall or wetting",
        ticked=False,
        steps=(
            "Disconnect it by hand if that is safe, do not charge it, and place it outdoors, 5 "
            "m from anything combustible, for a day or more: cells may catch fire hours later. "
            "At smoke, hissing, smell or heat, move away and call the fire service.",
            "Afterwards open it as live equipment. Every cell that is dented or was wet is "
            "scrap; salt water is the worst.",
        ),
    )


def _end_of_life(plan: PackPlan) -> Stage:
    pack, cell = plan.pack, plan.pack.cell
    return Stage(
        title="End of life",
        ticked=False,
        steps=(
            "When a group's capacity is below 70 to 80 % of its original value, or it "
            "self-discharges. Discharge the pack through a lamp to "
            f"{pack.series * cell.empty_v:.1f} V, tape both terminals and every balance lead, "
            "and take it whole to a collection point for lithium batteries: never into the bin, "
            "never cut up.",
        ),
    )


def _uncertified() -> Stage:
    return Stage(
        title="Certification",
        ticked=False,
        steps=(
            "None. Not UN 38.3 (transport), not IEC 62133-2 (cells and batteries in portable "
            "use), not IEC 62619 (in industrial use), not EN 50604-1 (in light electric "
            "vehicles), no protection class of IEC 60529, no mark of conformity. Spacings are "
            "compared with IEC 60664-1, which is no test of this pack.",
            "Installing it in a vehicle, a boat or a building, lending or selling it may need "
            "approval: local rules and licensed practice take precedence over this sheet.",
        ),
    )
