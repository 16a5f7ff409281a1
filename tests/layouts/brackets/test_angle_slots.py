"""Slotted feet of angle brackets: their slots, and the screw that locks them."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from generators.dummy.card_parts import drill_plans
from generators.packfile.faults import PackFileError
from generators.packfile.resolve import parse_pack
from layouts.brackets.angle import KIND, BracketDesign
from layouts.brackets.angle_slots import LOCK_SCREWS
from layouts.brackets.frame_holes import TOOL_GAP_MM
from layouts.brackets.kind import MountingPad
from layouts.brackets.loads import bracket_loads
from layouts.brackets.strength import SAFETY
from layouts.errors import PlanError
from layouts.formats import materials, screws
from layouts.pack import Load, Mount, Pack, Side
from layouts.parts.fasteners import Into
from tests.generators.fixes.failing_packs import text_of
from tests.layouts.enclosed import enclosed
from tests.layouts.parts.sound_parts import assert_sound
from tests.samples import sample_pack

LOAD = Load(continuous_a=20.0, acceleration_g=(4.0, 4.0, 6.0))
PAIR = ((0.0, 0.0), (20.0, 0.0))
PADS = tuple(
    MountingPad(side=side, face_mm=face, along_mm=along, underside_mm=-8.1)
    for side, face, along in ((Side.PLUS_X, 130.0, 45.0), (Side.MINUS_X, 80.0, -20.0))
)


def pack_with(slot_mm: float, screw: str = "M5", holes: object = PAIR) -> Pack:
    """The sample pack on angles with slotted feet."""
    assert isinstance(holes, tuple)
    mount = Mount(kind="angle", screw=screw, holes_mm=holes, slot_mm=slot_mm)
    return sample_pack(mount=mount, load=LOAD)


def made(slot_mm: float, screw: str = "M5", holes: object = PAIR) -> BracketDesign:
    """Brackets for two pads."""
    return KIND.design(pack_with(slot_mm, screw, holes), PADS)


@pytest.mark.parametrize(("screw", "apart", "slot_mm"), [("M3", 20.0, 2.0), ("M8", 30.0, 4.0)])
def test_a_slotted_foot_is_one_sound_solid(screw: str, apart: float, slot_mm: float) -> None:
    """Its volume is that of a bracket without foot holes, less each slot's section, which lies
    within a layer's corners of a rectangle with two round corners, and the locking hole."""
    design = made(slot_mm, screw, ((0.0, 0.0), (apart, 0.0)))
    (part,) = design.parts
    whole = replace(design, foot_holes=(), slot_mm=0.0, lock_screw=None, lock_holes=())
    radius = screws()[screw].clearance_diameter_mm / 2
    assert design.lock_screw is not None
    lock = math.pi / 4 * screws()[design.lock_screw].clearance_diameter_mm ** 2
    slots = whole.parts[0].drawing.volume_mm3() - part.drawing.volume_mm3()
    each = (slots / design.thickness_mm - lock) / 2
    upper = 2 * slot_mm * radius + math.pi / 2 * radius**2
    lower = 2 * (slot_mm + radius) * radius
    most = (upper + lower) + 2 * (slot_mm + radius) * 2 * design.layer_mm
    assert 0.98 * (upper + lower) <= each <= most
    assert_sound(part, part.drawing.volume_mm3())


@pytest.mark.parametrize("screw", ["M4", "M5", "M6"])
def test_washers_and_the_locking_screw_have_room_wherever_the_foot_stands(screw: str) -> None:
    """At both ends of the travel the foot screws clear the pad screws' heads, the fillet and the
    foot's end; the locking screw is no larger, its washer clear of theirs."""
    design = made(4.0, screw, ((0.0, 0.0), (24.0, 0.0)))
    plain = made(0.0, screw, ((0.0, 0.0), (24.0, 0.0)))
    washer = screws()[screw].washer_diameter_mm
    for (out, _), (before, _) in zip(design.foot_holes, plain.foot_holes, strict=True):
        assert out - 4.0 == pytest.approx(before)
        assert out + 4.0 + washer / 2 <= design.foot_mm
    assert design.foot_mm - plain.foot_mm == pytest.approx(8.0)
    assert design.hold.out_mm - plain.hold.out_mm == pytest.approx(8.0)
    assert design.lock_screw in LOCK_SCREWS
    ((out, along),) = design.lock_holes
    own = screws()[design.lock_screw].washer_diameter_mm
    assert float(design.lock_screw[1:]) <= float(screw[1:])
    for _, beside in design.foot_holes:
        assert abs(beside - along) >= (washer + own) / 2 + TOOL_GAP_MM - 1e-9
    assert KIND.most_out_mm(pack_with(4.0)) - KIND.most_out_mm(pack_with(0.0)) == 8.0


def test_screws_tell_their_travel_and_the_lock_is_on_no_plan() -> None:
    """Foot screws in slots travel away from the wall; the locking one is drilled last."""
    design = made(4.0)
    into_frame = [one for one in design.screws if one.into is Into.FRAME and one.on == 2]
    last = [one for one in into_frame if one.drilled_last]
    assert [one.screw for one in last] == ["M4"] and last[0].travel_mm is None
    for one in into_frame[:2]:
        assert one.travel_mm is not None
        assert np.abs(one.travel_mm) == pytest.approx((4.0, 0.0, 0.0))
    (plan,) = drill_plans(enclosed("1S1P").enclosure.shell, design)
    assert len(plan.drills) == 4


def test_the_locking_screw_takes_all_of_the_force_off_the_wall() -> None:
    """By hand: force over diameter times thickness, no friction counted; without slots none."""
    pack, design = pack_with(4.0), made(4.0)
    checks = {one.id: one for one in design.checks(pack, PADS, mass_kg=3.0)}
    most = max(
        abs(off)
        for load in bracket_loads(pack, PADS, design.hold, mass_kg=3.0)
        for off, _, _ in load.jolts_n()
    )
    lock = checks["foot_lock_bearing"]
    # jolts in steps of 3 degrees
    assert lock.value == pytest.approx(most / (4.0 * design.thickness_mm), rel=2e-3)
    assert lock.limit == materials()[pack.printer.material].strength_mpa / SAFETY
    assert lock.holds
    heavy = {one.id: one.holds for one in design.checks(pack, PADS, mass_kg=60.0)}
    assert not heavy["foot_lock_bearing"]
    plain = made(0.0).checks(pack_with(0.0), PADS, mass_kg=3.0)
    assert [one.id for one in plain] == ["bracket_root_stress"]
    # a foot that may stand farther out bends more
    assert checks["bracket_root_stress"].value > plain[0].value


def test_holes_that_slots_do_not_suit_are_refused() -> None:
    """One hole, two rows, a pair with no room for a lock; and any other kind of bracket."""
    with pytest.raises(PlanError, match=r"mount\.slot_mm.*equally far.*write holes_mm"):
        made(4.0, "M5", ((0.0, 0.0),))
    with pytest.raises(PlanError, match="equally far"):
        made(4.0, "M5", ((0.0, 0.0), (20.0, 5.0)))
    with pytest.raises(PlanError, match=r"no room .* M3 screw.*18\.0 mm apart"):
        made(4.0, "M5", ((0.0, 0.0), (12.0, 0.0)))
    with pytest.raises(PackFileError, match=r"mount\.slot_mm: goes with kind: angle alone"):
        parse_pack(text_of({"mount": {"kind": "flat", "slot_mm": 3.0}}).encode(), "p.yaml")
    with pytest.raises(PackFileError, match=r"mount\.slot_mm.*4"):
        parse_pack(text_of({"mount": {"slot_mm": 5.0}}).encode(), "p.yaml")
