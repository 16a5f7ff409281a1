"""The flat bracket: holes where pad and frame have theirs, strength, and what is read of it."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from generators.dummy.card_parts import drill_plans
from layouts.brackets.flat import (
    EDGE_MM,
    KIND,
    FlatBracket,
    bending_mpa,
)
from layouts.brackets.kind import MountingPad
from layouts.brackets.loads import bracket_loads
from layouts.brackets.registry import KINDS, kind_named
from layouts.brackets.strength import SAFETY
from layouts.errors import PlanError
from layouts.formats import materials, screws
from layouts.pack import Load, Mount, Pack, Side
from layouts.parts.clearance import ClearanceKind
from layouts.parts.fasteners import Into
from layouts.planning.clearances import pack_clearances
from layouts.planning.pack_plan import PackPlan, plan_checks, plan_pack
from tests.layouts.parts.sound_parts import assert_every_feature_counts, assert_sound
from tests.samples import sample_pack

LOAD = Load(continuous_a=10.0, acceleration_g=(4.0, 4.0, 6.0))
HOLES = {
    "one": ((0.0, 0.0),),
    "a row": ((0.0, 0.0), (20.0, 0.0)),
    "wide": ((0.0, 0.0), (80.0, 0.0)),
    "two rows": ((0.0, 0.0), (30.0, 0.0), (0.0, 25.0), (30.0, 25.0)),
}
PADS = (
    MountingPad(side=Side.PLUS_X, face_mm=90.0, along_mm=10.0, underside_mm=-8.1),
    MountingPad(side=Side.MINUS_X, face_mm=60.0, along_mm=-5.0, underside_mm=-8.1),
)


def pack_with(holes: tuple[tuple[float, float], ...], screw: str = "M5") -> Pack:
    """A small pack on flat brackets."""
    mount = Mount(kind="flat", screw=screw, holes_mm=holes)
    return sample_pack(4, 2, format="18650", mount=mount, load=LOAD)


def made(holes: str, screw: str = "M5", *, mass_kg: float | None = None) -> FlatBracket:
    """The brackets for two pads."""
    bracket = KIND.design(pack_with(HOLES[holes], screw), PADS, mass_kg=mass_kg)
    assert isinstance(bracket, FlatBracket)
    return bracket


@pytest.fixture(scope="module")
def plan() -> PackPlan:
    """A whole plan with flat brackets."""
    return plan_pack(pack_with(HOLES["a row"]))


def test_every_word_names_its_own_kind() -> None:
    """A word of the registry is the name of the kind that it loads."""
    assert [kind_named(word).name for word in KINDS] == list(KINDS)


@pytest.mark.parametrize("holes", HOLES)
@pytest.mark.parametrize("screw", ["M4", "M8"])
def test_the_plate_is_one_sound_solid(holes: str, screw: str) -> None:
    """Valid, one body, volume by width x height less corners and holes, on z = 0."""
    bracket = made(holes, screw)
    (part,) = bracket.parts
    small, large = screws()[bracket.pad_screw], screws()[screw]
    round_mm2 = (4 - math.pi) * 3.0**2
    holes_mm2 = (
        math.pi
        / 4
        * (
            len(bracket.pad_holes) * small.clearance_diameter_mm**2
            + len(bracket.frame_holes) * large.clearance_diameter_mm**2
        )
    )
    plate_mm2 = bracket.wide_mm * bracket.high_mm - round_mm2 - holes_mm2
    assert_sound(part, plate_mm2 * bracket.thickness_mm)
    assert_every_feature_counts(part.drawing.features)


@pytest.mark.parametrize("holes", HOLES)
def test_washers_lie_on_the_plate_and_clear_the_tub(holes: str) -> None:
    """All washers within the plate, those of the frame's screws below the tub's underside."""
    bracket = made(holes)
    reach = screws()["M5"].washer_diameter_mm / 2
    for x, y in bracket.frame_holes:
        assert reach + EDGE_MM <= x + 1e-9 <= bracket.wide_mm - reach - EDGE_MM + 2e-9
        assert y - reach >= EDGE_MM - 1e-9
        assert y + reach < bracket.below_mm
    for x, y in bracket.pad_holes:
        assert reach < x < bracket.wide_mm - reach and y > bracket.below_mm


def test_copies_stand_on_their_pads() -> None:
    """Each placed copy's back lies on its pad's face, nothing is mirrored, holes meet holes."""
    bracket = made("a row")
    for pad, matrix in zip(PADS, bracket.placed, strict=True):
        assert np.linalg.det(matrix[:3, :3]) == pytest.approx(1.0)
        assert matrix[0, 3] == pytest.approx(pad.normal[0] * pad.face_mm)
    into_pads = [one for one in bracket.screws if one.into is Into.INSERT]
    for one, pad in zip(into_pads[::2], PADS, strict=True):
        assert one.at_mm[2] == pytest.approx(pad.underside_mm + pad.up_mm)
        assert abs(one.at_mm[1] - pad.along_mm) == pytest.approx(pad.apart_mm / 2)
        assert one.at_mm[0] == pytest.approx(pad.normal[0] * (pad.face_mm + bracket.thickness_mm))


def test_bending_is_the_beam_formula_s() -> None:
    """By hand, from the forces of the worst jolt on the worst bracket: 2 kg, 4 g and 6 g."""
    bracket, pack = made("a row"), pack_with(HOLES["a row"])
    arm = bracket.pad_holes[0][1] - bracket.frame_holes[0][1]
    broad = bracket.wide_mm - 2 * screws()["M5"].clearance_diameter_mm
    stresses = [
        6 * abs(off) * arm / (broad * 6.0**2)
        + 6 * abs(along) * arm / (6.0 * broad**2)
        + abs(up) / (broad * 6.0)
        for load in bracket_loads(pack, PADS, bracket.hold, mass_kg=2.0)
        for off, along, up in load.jolts_n()
    ]
    # jolts in steps of 3 degrees
    assert bending_mpa(pack, bracket, PADS, mass_kg=2.0) == pytest.approx(max(stresses), rel=2e-3)


def test_a_heavier_pack_gets_a_thicker_plate_and_at_last_fails(plan: PackPlan) -> None:
    """The least thickness that holds; where none does the check says so."""
    light, heavy = made("a row", mass_kg=0.5), made("a row", mass_kg=400.0)
    assert (light.thickness_mm, heavy.thickness_mm) == (6.0, 8.0)
    holds = {one.id: one.holds for one in plan_checks(plan, mass_kg=1.0)}
    fails = {one.id: one for one in plan_checks(plan, mass_kg=400.0)}
    assert holds["bracket_bending"]
    assert not fails["bracket_bending"].holds
    limit = materials()[plan.pack.printer.material].strength_mpa / SAFETY
    assert fails["bracket_bending"].limit == pytest.approx(limit)


def test_no_load_no_check() -> None:
    """Nothing is judged where nothing is asked of it."""
    pack = replace(pack_with(HOLES["one"]), load=None)
    assert made("one").checks(pack, PADS, mass_kg=2.0) == ()
    with pytest.raises(ValueError, match="load"):
        bending_mpa(pack, made("one"), PADS, mass_kg=2.0)


def test_holes_too_close_are_refused() -> None:
    """The field is named and the remedy is said."""
    with pytest.raises(PlanError, match=r"mount\.holes_mm.*washers of M5"):
        KIND.design(pack_with(((0.0, 0.0), (4.0, 0.0))), PADS, mass_kg=None)
    with pytest.raises(PlanError, match="no frame hole"):
        KIND.design(pack_with(()), PADS, mass_kg=None)


def test_the_estimate_holds_the_design(plan: PackPlan) -> None:
    """Reach beyond the pad and below the tub, and the wall that is reserved, are enough."""
    out, below = KIND.reach_mm(plan.pack)
    under = plan.enclosure.shell.z_under_mm
    for one in plan.bracket.screws:
        pad = plan.enclosure.pads[one.on - 1]
        assert abs(one.point(one.top_mm)[0]) <= pad.face_mm + out + 1e-9
    (part,) = plan.bracket.parts
    (_, _, _), (wide, _, _) = part.drawing.box_mm()
    assert wide <= KIND.wall_mm(plan.pack) + 1e-9
    assert plan.bracket.stand_mm <= below + 1e-9
    assert all(matrix[2, 3] == pytest.approx(under - below) for matrix in part.placed)


def test_heads_keys_and_drilling_plans_follow(plan: PackPlan) -> None:
    """Clearances over heads and for keys; one drilling plan for each face, with its holes."""
    kinds = [one.kind for one in pack_clearances(plan)]
    assert ClearanceKind.SCREW_HEAD in kinds and ClearanceKind.DRIVER_SERVICE in kinds
    plans = drill_plans(plan.enclosure.shell, plan.bracket)
    assert {one.name for one in plans} == {"drill-face-left", "drill-face-right"}
    into_frame = [one for one in plan.bracket.screws if one.into is Into.FRAME]
    assert sum(len(one.drills) for one in plans) == len(into_frame)
    heights = {round(drill.y_mm, 6) for one in plans for drill in one.drills}
    assert heights == {round(float(one.at_mm[2]), 6) for one in into_frame}
