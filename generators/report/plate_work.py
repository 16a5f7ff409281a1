"""Steps of the build sheet that a pack of plates has of its own.

All of it is common practice or judgement, no source.
"""

from __future__ import annotations

from generators.drawings.plate_plan import plate_numbers
from generators.report.values import Stage, Table
from layouts.electrical.cell_fuses import cell_fuse_words
from layouts.electrical.joint_readings import TEST_A, joint_ohms, lead_pair_ohms
from layouts.pack import Face
from layouts.planning.pack_plan import PackPlan
from layouts.plates.bridge import BridgedJoint, bridged_joint
from layouts.plates.pierced import COPPER_HOLE_MM
from layouts.plates.rework import spare_shots
from layouts.plates.sizes import PLATE_GAP_MM
from layouts.plates.welding_order import WeldStep, weld_steps
from layouts.strips.lip import positive_end
from layouts.strips.plate import BusPlate, PlateBar

__all__ = [
    "crimped_one_by_one",
    "joint_table",
    "lead_pair_table",
    "pins_off",
    "plate_rework",
    "plates_and_test_welds",
    "welding_of_plates",
]

COUPON_MM = 25.0  # least width of a test piece: a whole sheet asks for more current than a strip
NECKS_FIRST = "Cut all fusible necks of a plate first; the pads are peeled off one by one. "
OFF_RATIO = 0.2  # of the calculated reading that names a joint
BRIDGE_SCREW = "M4"


def plates_and_test_welds(plan: PackPlan) -> Stage:
    """Cutting, soldering on the bench and the welder's setting."""
    plates = plan.interconnect.plates
    layers = dict.fromkeys(layer for plate in plates for layer in plate.layers)
    metal = " and ".join(f"{one.material} {one.thickness_mm:g} mm" for one in layers)
    copper = [plate.bar for plate in plates if plate.bar is not None]
    bars = len(copper) > 0
    lugs = any(bar.lugs for bar in copper)
    bars_words = "and bars " if bars else ""
    if lugs:
        bars_words = "(to the bars' ends: crimp a small ring lug) "
    pierced = [plate for plate in plates if plate.pierced is not None]
    steps = [
        f"Cut the {len(plates)} plates from {metal} by the templates (print at 100 %, measure "
        f"their "
        "100 mm bar), burr up, deburr all edges, round the corners, write each plate's number on "
        "it. "
        "Fold each tail down over an edge outside the holder.",
        "Press the dish over each positive end into the sheet first, by the thickness of a ring: "
        "the "
        "sheet must lie on the can without being held.",
        f"Solder the balance leads to the tails {bars_words}now, on the bench, each with its own "
        "fuse first, sleeve the joint, cap the far end unstripped and tie it down: no soldering "
        "iron comes near a cell.",
    ]
    if pierced:
        steps.append(
            f"The copper beneath has a hole of {COPPER_HOLE_MM:g} mm at each can end. Weld nickel "
            "and copper onto each other on the bench, one shot beside each hole as the template of "
            "the copper shows; on the cells, press the nickel down into the holes and weld it onto "
            "the cans there: no shot goes through copper."
        )
    if bars:
        steps.append(
            "Solder the copper bars onto their plates. Under a bar insulate every "
            "positive end with tape or paper punched as the rings are. Cut the bars to their "
            "outlines: no copper lies on a plate beyond what is drawn, weld probes and posts stand "
            "there."
        )
        steps.append(_lug_step([one.bar for one in plates if one.bar and one.is_end]))
    necks = cell_fuse_words(plan.electrical.cell_fuses)
    if necks:
        steps.append(
            f"{' '.join(necks)} Cut the necks to size, without notches: a narrower one melts "
            "sooner. Never bend or solder them; weld on the pads only, not on necks."
        )
    steps.append(
        "Set the welder on scrap: unfilled cans, otherwise dead cells discharged to 0 V, outdoors, "
        f"with test pieces at least {COUPON_MM:g} mm wide of the same sheet, both shots. Five in "
        "succession, each peeled to destruction. Good: every spot tears a hole in the sheet and "
        "leaves its metal on the can, and no can is dented, perforated or discoloured blue."
    )
    bridged = bridged_joint(plan.pack, plates)
    if bridged is not None:
        steps.append(_bridge_step(plan, bridged))
    return Stage(title="Plates and test welds", steps=tuple(steps))


def _lug_step(copper: list[PlateBar]) -> str:
    """How the main leads are joined to the bars."""
    screws = sorted({lug.screw for bar in copper for lug in bar.lugs})
    if not screws:
        return "Solder the main leads to the bars' ends now, on the bench."
    return (
        f"Drill each bar's end for the {' and '.join(screws)} of the main lead's ring lug and bend "
        "it as drawn. That lug lies directly on the bar and points where its wire goes, the small "
        "lug of the balance lead lies beneath the bar: screw, washer, lug, bar, small lug, washer, "
        "locking nut, held against turning while it is tightened."
    )


def _bridge_step(plan: PackPlan, bridged: BridgedJoint) -> str:
    """How the last joint is made where the pack's volts must not be touched."""
    number = plate_numbers(plan.pack, plan.interconnect)[bridged.plate]
    plate = plan.interconnect.plates[bridged.plate]
    low, high = sorted(plate.groups)
    over = f"Full charge is {bridged.full_v:.1f} V, above {bridged.limit_v:g} V: plate {number} "
    if plate.is_bridged and plate.bar is not None:
        lug = plate.bar.lugs[0]
        return (
            f"{over}is two sheets, one on group {low}, one on group {high}. Solder its bar to "
            f"each, drill and bend the bars' ends as drawn. The copper bridge lies across both "
            f"ends, on two {lug.screw} with washers and locking nuts, under an insulating cover; "
            "the small lug of the balance lead lies beneath the bar of the lower row."
        )
    return (
        f"{over}has to be made as two sheets, {PLATE_GAP_MM:g} mm apart along the heavy dashed "
        f"line of the weld plan, one on group {low}, one on group {high}. Solder to each a tail of "
        "flat copper that leaves the holder, and join the two tails outside it by a copper bridge, "
        f"screwed with {BRIDGE_SCREW}, washers and locking nuts, under an insulating cover. Both "
        "sheets are cut from the drawing of one: the templates show it whole."
    )


def _bridge_welding(plan: PackPlan) -> tuple[str, ...]:
    """When the bridge goes in, and that it comes out for any work."""
    bridged = bridged_joint(plan.pack, plan.interconnect.plates)
    if bridged is None:
        return ()
    number = plate_numbers(plan.pack, plan.interconnect)[bridged.plate]
    return (
        f"Screw in the bridge of plate {number} last of all, with an insulated tool, when the pack "
        f"is covered; until then no more than {bridged.open_v:.1f} V lie bare. Take it out before "
        "any work on the open pack.",
    )


def plate_rework(plan: PackPlan) -> str:
    """How a plate is taken off, and where it is welded again."""
    plates, cell_layout = plan.interconnect.plates, plan.cell_layout
    counts: dict[bool, set[int]] = {True: set(), False: set()}
    for plate in plates:
        positive = positive_end(cell_layout, plate.face)
        for cell, shots in zip(
            plate.cells, spare_shots(plan.pack, cell_layout, plate), strict=True
        ):
            counts[bool(positive[cell])].add(len(shots))
    necks = any(plate.cell_fuses for plate in plates)
    return (
        f"{NECKS_FIRST if necks else ''}"
        "Remove a plate cold: cover its neighbours, cut it with snips along the dotted lines of "
        "the weld plan, between two cells and never over the rim of a positive end, and roll each "
        "part up with flat pliers, spot by spot, from the edge that the triangle marks: the one "
        "along its negative ends, on an end plate the one opposite its bar or lead. Never lever "
        "against a can's rim. One rework of a can end, on its spare places, the open circles: "
        f"{_shots_words(counts[False])} on negative ends, {_shots_words(counts[True])} on positive "
        f"ends, where the first weld has {plates[0].spots // 2}. Then the cell is scrap, and so is "
        "one whose end has no spare place."
    )


def _shots_words(counts: set[int]) -> str:
    low, high = min(counts, default=0), max(counts, default=0)
    many = f"{low}" if low == high else f"{low} to {high}"
    return f"{many} {'shot' if many == '1' else 'shots'}"


def welding_of_plates(plan: PackPlan) -> Stage:
    """Plates in their order, with the volts that lie bare at each step."""
    pack, plates = plan.pack, plan.interconnect.plates
    steps = weld_steps(plates, series=pack.series, full_v=pack.cell.full_v)
    spots = f"{plates[0].spots} spots, {plates[0].spots // 2} shots, on each can end"
    return Stage(
        title="Weld",
        steps=(
            "Cover the upper face with insulating sheet. From now on the pack can't be switched "
            "off: never bridge two potentials with a plate, a tool or a probe.",
            f"Weld the lower face in order, {spots}: {_listed(plan, steps, Face.LOWER)}. Before "
            f"each "
            "plate, check polarity and group of every cell under it against the plan, and with the "
            "meter. All other joints stay covered.",
            "Pull at every plate by hand. Cover the lower face and its main lead's end, turn the "
            "pack over, uncover joint by joint.",
            f"Weld the upper face in order, the same way: {_listed(plan, steps, Face.UPPER)}. "
            f"Cover "
            "each joint when it is finished.",
            f"Acceptance: with {TEST_A:g} A through the pack, fill in both tables below. A joint "
            f"that reads {100 * OFF_RATIO:g} % more than calculated is bad: find its open spot. "
            "One that reads less is measured again.",
            *_bridge_welding(plan),
        ),
        tables=(joint_table(plan), lead_pair_table(plan)),
    )


def joint_table(plan: PackPlan) -> Table:
    """What each joint reads at the test current, with a blank beside it."""
    plates = plan.interconnect.plates
    ohms = joint_ohms(plates, plan.electrical.shares)
    numbers = plate_numbers(plan.pack, plan.interconnect)
    rows = []
    for lead in plan.interconnect.balance_leads:
        k = next(
            k
            for k, plate in enumerate(plates)
            if (plate.face, plate.groups) == (lead.face, lead.groups)
        )
        reads = 1e3 * TEST_A * float(ohms[k])
        rows.append(
            (
                f"plate {numbers[k]}",
                f"{lead.face.value} face, {_probes(plates[k])}",
                f"{reads:.2f}",
                f"{reads * (1.0 + OFF_RATIO):.2f}",
                "",
            )
        )
    total = float(ohms.sum())
    return Table(
        title=f"Voltage drop across each joint at {TEST_A:g} A",
        headings=("joint", "probes on the can ends", "calculated, mV", "bad from, mV", "measured"),
        rows=tuple(rows),
        note=f"Sheets, bars and weld spots at 20 \N{DEGREE SIGN}C, mean of the can ends; all "
        f"{len(rows)} joints together {1e3 * total:.2f} m\N{GREEK CAPITAL LETTER OMEGA}, "
        f"{1e3 * TEST_A * total:.1f} mV. The sheets' resistance is known to 7 %.",
    )


def lead_pair_table(plan: PackPlan) -> Table:
    """What neighbouring balance leads read less at the test current, with blanks beside it."""
    ohms = lead_pair_ohms(plan.cell_layout, plan.interconnect, plan.electrical.shares)
    total = float(ohms.sum())
    return Table(
        title=f"Voltage drop between neighbouring balance leads at {TEST_A:g} A",
        headings=("leads", "calculated, mV", "no load, V", f"at {TEST_A:g} A, V", "difference, mV"),
        rows=tuple(
            (f"B{k} to B{k + 1}", f"{1e3 * TEST_A * ohm:.1f}", "", "", "")
            for k, ohm in enumerate(ohms.tolist())
        ),
        note=f"Mostly the cells' own resistance ({plan.pack.cell.internal_resistance_mohm:g} "
        f"m\N{GREEK CAPITAL LETTER OMEGA} each); all together {1e3 * TEST_A * total:.0f} mV. Two "
        "neighbours that both read high point to the joint between them: measure across it.",
    )


def _probes(plate: BusPlate) -> str:
    """From where to where a joint is measured."""
    if plate.is_minus:
        return "from the main lead to minus of group 1"
    if plate.is_end:
        return f"from plus of group {plate.groups[0]} to the main lead"
    low, high = sorted(plate.groups)
    return f"from plus of group {low} to minus of group {high}"


def crimped_one_by_one(plan: PackPlan) -> str:
    """The balance leads' plug, after the last weld."""
    return (
        f"After the last weld, strip, crimp and plug the {plan.pack.series + 1} balance leads one "
        f"at "
        "a time, B0 first and then upwards; no second end is bare meanwhile."
    )


def _listed(plan: PackPlan, steps: tuple[WeldStep, ...], face: Face) -> str:
    numbers = plate_numbers(plan.pack, plan.interconnect)
    bridged = bridged_joint(plan.pack, plan.interconnect.plates)

    def then(step: WeldStep) -> str:
        if bridged is not None and bridged.plate == step.plate:
            return f"two sheets, still {bridged.open_v:.1f} V while the bridge is out"
        return f"then {step.volts:.1f} V"

    return ", ".join(
        f"plate {numbers[step.plate]} ({then(step)})"
        for step in steps
        if plan.interconnect.plates[step.plate].face is face
    )


def pins_off(plan: PackPlan) -> tuple[str, ...]:
    """What to take off a holder's print; nothing where no pins are printed."""
    counts = [(tile.name, len(tile.support_pins)) for tile in plan.tiles if tile.support_pins]
    if not counts:
        return ()
    each = ", ".join(f"{name} {count}" for name, count in counts)
    return (
        f"Lift or break the loose support pins off the holders, count them ({each}), and check "
        "that none stays in a channel: a plate would not lie on the can ends.",
    )
