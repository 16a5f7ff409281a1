"""Steps of the build sheet that a pack of plates has of its own.

All of it is common practice or judgement, no source.
"""

from __future__ import annotations

from generators.drawings.plate_plan import plate_numbers
from generators.report.page import Stage
from layouts.pack import Face
from layouts.planning.pack_plan import PackPlan
from layouts.plates.welding_order import WeldStep, weld_steps

__all__ = ["PLATE_REWORK", "crimped_one_by_one", "plates_and_test_welds", "welding_of_plates"]

COUPON_MM = 25.0  # least width of a test piece: a whole sheet asks for more current than a strip
OFF_RATIO = 0.2  # of the calculated reading that names a joint
TEST_A = 5.0  # current of the acceptance test
PLATE_REWORK = (
    "Remove a plate cold: cover its neighbours, cut it between two cells with snips, never over "
    "the "
    "rim of a positive end, and roll each part up from an edge with flat pliers, spot by spot; "
    "never "
    "lever against a can's rim. One rework of a can end: its spare places beside the first spots "
    "are "
    "used once, then the cell is scrap."
)


def plates_and_test_welds(plan: PackPlan) -> Stage:
    """Cutting, soldering on the bench and the welder's setting."""
    plates = plan.interconnect.plates
    layers = plates[0].layers
    metal = " and ".join(f"{one.material} {one.thickness_mm:g} mm" for one in layers)
    bars = any(plate.bar is not None for plate in plates)
    steps = [
        f"Cut the {len(plates)} plates from {metal} by the templates (print at 100 %, measure "
        f"their "
        "100 mm bar), burr up, deburr all edges, round the corners, write each plate's number on "
        "it. "
        "Fold each tail down over an edge outside the holder.",
        "Press the dish over each positive end into the sheet first, by the thickness of a ring: "
        "the "
        "sheet must lie on the can without being held.",
        f"Solder the balance leads to the tails {'and bars ' if bars else ''}now, on the bench, "
        f"each "
        "with its own fuse first, sleeve the joint, cap the far end unstripped and tie it down: no "
        "soldering iron comes near a cell.",
    ]
    if bars:
        steps.append(
            "Solder the copper bars onto the plates of the end groups. Under a bar insulate every "
            "positive end with tape or paper punched as the rings are. Bolt the lug directly onto "
            "the bar: screw, washer, lug, bar, washer, locking nut held against turning."
        )
    steps.append(
        "Set the welder on scrap: unfilled cans, otherwise dead cells discharged to 0 V, outdoors, "
        f"with test pieces at least {COUPON_MM:g} mm wide of the same sheet, both shots. Five in "
        "succession, each peeled to destruction. Good: every spot tears a hole in the sheet and "
        "leaves its metal on the can, and no can is dented, perforated or discoloured blue."
    )
    return Stage(title="Plates and test welds", steps=tuple(steps))


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
            f"Acceptance: with {TEST_A:g} A through the pack, measure between neighbouring balance "
            f"leads what their groups don't explain: all joints together are calculated at "
            f"{1e3 * _joints_ohm(plan):.2f} mohm, {1e3 * _joints_ohm(plan) * TEST_A:.1f} mV. A "
            f"joint "
            f"that reads {100 * OFF_RATIO:g} % more than its neighbours is bad: find its open "
            f"spot.",
        ),
    )


def crimped_one_by_one(plan: PackPlan) -> str:
    """The balance leads' plug, after the last weld."""
    return (
        f"After the last weld, strip, crimp and plug the {plan.pack.series + 1} balance leads one "
        f"at "
        "a time, B0 first and then upwards; no second end is bare meanwhile."
    )


def _listed(plan: PackPlan, steps: tuple[WeldStep, ...], face: Face) -> str:
    numbers = plate_numbers(plan.pack, plan.interconnect)
    return ", ".join(
        f"plate {numbers[step.plate]} (then {step.volts:.1f} V)"
        for step in steps
        if plan.interconnect.plates[step.plate].face is face
    )


def _joints_ohm(plan: PackPlan) -> float:
    """All sheets and bars in series."""
    lost = plan.electrical.reference
    return (lost.strip_w + lost.tail_w) / lost.load_a**2
