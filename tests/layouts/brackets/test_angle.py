"""The bracket's sizes: holes that match mounting pad and frame, tool clearance, strength."""

from __future__ import annotations

import dataclasses
import itertools
import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from layouts.brackets.angle import (
    KIND,
    BracketDesign,
    design_bracket,
)
from layouts.brackets.angle_sizes import bracket_width_mm
from layouts.brackets.angle_strength import STAND_MM, bracket_root_stress
from layouts.brackets.frame_holes import TOOL_GAP_MM
from layouts.brackets.kind import MountingPad
from layouts.brackets.loads import bracket_loads
from layouts.brackets.strength import SAFETY
from layouts.errors import PlanError
from layouts.formats import materials, screws
from layouts.pack import Load, Mount, Pack, Side
from layouts.parts.fasteners import Into
from layouts.parts.screw import screw_uses
from layouts.parts.whole_layers import whole_layers
from tests.layouts.planned import frame_holes_mm
from tests.samples import sample_pack

LOAD = Load(continuous_a=20.0, acceleration_g=(4.0, 4.0, 6.0))
HOLES = {
    "two along the wall": ((0.0, 0.0), (20.0, 0.0)),
    "wide": ((0.0, 0.0), (80.0, 0.0)),
    "one": ((0.0, 0.0),),
    "two away from the wall": ((0.0, 0.0), (0.0, 25.0)),
    "slanted, any order": ((30.0, 18.0), (0.0, 0.0), (-15.0, 12.0)),
}
EACH_MOUNT = pytest.mark.parametrize("holes", HOLES.values(), ids=HOLES)
EACH_SCREW = pytest.mark.parametrize("screw", ["M4", "M5", "M6", "M8"])


def four_mounting_pads(**changes: Any) -> list[MountingPad]:
    """Two mounting pads on each wall; the walls are not equally far from the middle."""
    walls = ((Side.PLUS_X, 130.0), (Side.MINUS_X, 80.0))
    return [
        MountingPad(side=side, face_mm=face, along_mm=y, underside_mm=-8.1, **changes)
        for side, face in walls
        for y in (-50.0, 50.0)
    ]


def pack_with(**changes: Any) -> Pack:
    """The sample pack with a load."""
    return sample_pack(load=LOAD, **changes)


def mount(screw: str, holes: tuple[tuple[float, float], ...]) -> Mount:
    """A plate with holes."""
    return Mount(kind="angle", screw=screw, holes_mm=holes)


def washers_mm(design: BracketDesign) -> list[tuple[str, float, float, float]]:
    """(plate, place across, place along z, washer radius + gap) of each screw."""
    pad = screws()[design.pad_screw].washer_diameter_mm / 2.0 + TOOL_GAP_MM
    foot = screws()[design.mount_screw].washer_diameter_mm / 2.0 + TOOL_GAP_MM
    return [("leg", up, z, pad) for up, z in design.leg_holes] + [
        ("foot", out, z, foot) for out, z in design.foot_holes
    ]


@EACH_MOUNT
@EACH_SCREW
def test_the_wall_that_is_reserved_takes_the_bracket(
    screw: str, holes: tuple[tuple[float, float], ...]
) -> None:
    """No bracket is wider than what glands and seams keep clear of."""
    pack = pack_with(mount=mount(screw, holes))
    assert design_bracket(pack, four_mounting_pads()).width_mm <= KIND.wall_mm(pack) + 1e-9


@EACH_MOUNT
@EACH_SCREW
def test_washers_lie_flat_between_the_ribs(
    screw: str, holes: tuple[tuple[float, float], ...]
) -> None:
    """Every washer lies clear of ribs, fillet and the plate's end, with the gap for a tool."""
    design = design_bracket(pack_with(mount=mount(screw, holes)), four_mounting_pads())
    past_fillet = design.thickness_mm + design.fillet_mm
    for plate, across, z, radius in washers_mm(design):
        assert design.rib_mm < z - radius
        assert z + radius < design.width_mm - design.rib_mm
        assert across - (radius - TOOL_GAP_MM) >= past_fillet - 1e-9
        end = design.leg_mm if plate == "leg" else design.foot_mm
        assert across + radius <= end


@EACH_MOUNT
@EACH_SCREW
def test_a_foot_screw_comes_down_past_the_lug_screws_heads(
    screw: str, holes: tuple[tuple[float, float], ...]
) -> None:
    """Seen from above, no foot screw's head touches a pad screw's head and washer."""
    design = design_bracket(pack_with(mount=mount(screw, holes)), four_mounting_pads())
    pad_screw = screws()[design.pad_screw]
    heads_end = design.thickness_mm + pad_screw.washer_high_mm + pad_screw.head_high_mm
    for out, _ in design.foot_holes:
        assert out - screws()[screw].head_diameter_mm / 2.0 >= heads_end + TOOL_GAP_MM - 1e-9


@EACH_MOUNT
@EACH_SCREW
def test_no_bridge_is_long_and_no_rib_swallows_the_fillet(
    screw: str, holes: tuple[tuple[float, float], ...]
) -> None:
    """The upper rib begins over nothing with 10 mm at most, and each layer of it lies no more than
    45 degrees beyond the one before; slopes pass the fillet and end within leg and foot."""
    for layer_mm in (0.15, 0.2, 0.28, 0.3):
        pack = pack_with(mount=mount(screw, holes))
        pack = replace(pack, printer=replace(pack.printer, layer_mm=layer_mm))
        design = design_bracket(pack, four_mounting_pads())
        assert design.rib.bridge_mm <= 10.0
        assert whole_layers(design.rib_mm, layer_mm) and design.rib_mm >= 4.0
        assert whole_layers(design.width_mm, layer_mm)
        ways = []
        for share in design.rib.upper_shares:
            _, start, end = np.array(design.rib.profile_mm(share))
            (ax, ay), at = end - start, design.thickness_mm
            corner = np.array([at, at])
            ways.append(abs(ax * (at - start[1]) - ay * (at - start[0])) / math.hypot(ax, ay))
            for x, y in ((design.fillet_mm, 0.0), (0.0, design.fillet_mm)):
                bx, by = corner + (x, y) - start
                assert ax * by - ay * bx > 0.0  # the fillet lies on the rib's side of the slope
            assert start[0] < design.foot_mm and end[1] < design.leg_mm
        assert all(0.0 <= b - a <= layer_mm + 1e-9 for a, b in itertools.pairwise(ways))


@EACH_MOUNT
@EACH_SCREW
def test_width_known_beforehand_is_the_width_made(
    screw: str, holes: tuple[tuple[float, float], ...]
) -> None:
    """The clearance reserved for the bracket before it is designed is exactly sufficient."""
    plate = mount(screw, holes)
    design = design_bracket(pack_with(mount=plate), four_mounting_pads())
    assert bracket_width_mm(plate, layer_mm=0.2) == pytest.approx(design.width_mm)


@EACH_MOUNT
def test_frame_holes_are_the_frames_own_pattern_on_both_sides(
    holes: tuple[tuple[float, float], ...],
) -> None:
    """Placed holes, read from outside as (right, away from the wall), are mount.holes_mm."""
    pads = four_mounting_pads()
    design = design_bracket(pack_with(mount=mount("M5", holes)), pads)
    drilled = frame_holes_mm(design.screws).reshape(len(pads), -1, 3)
    for pad, found in zip(pads, drilled, strict=True):
        # who stands outside and looks at the +x wall has +y at the right hand; at -x, -y
        pattern = np.column_stack([found[:, :2] @ pad.right, found[:, :2] @ pad.normal])
        assert pattern - pattern[0] == pytest.approx(np.asarray(holes) - np.asarray(holes[0]))
        assert found[:, 2] == pytest.approx(pad.underside_mm - STAND_MM)
        middle = (found[:, 1].min() + found[:, 1].max()) / 2.0
        assert middle == pytest.approx(pad.along_mm)
        assert (found[:, :2] @ pad.normal).min() == pytest.approx(
            pad.face_mm + design.thickness_mm + design.near_mm
        )


def test_leg_holes_meet_the_lugs_holes() -> None:
    """Placed by its matrix, each leg hole's axis is the pad's hole, nothing is mirrored."""
    pads = four_mounting_pads(apart_mm=22.0, up_mm=15.0)
    design = design_bracket(pack_with(), pads)
    for pad, matrix in zip(pads, design.placed, strict=True):
        assert np.linalg.det(matrix[:3, :3]) == pytest.approx(1.0)
        found = {tuple(np.round(matrix @ (0.0, up, z, 1.0), 9)[:3]) for up, z in design.leg_holes}
        assert found == {
            (pad.normal[0] * pad.face_mm, pad.along_mm + half, pad.underside_mm + 15.0)
            for half in (-11.0, 11.0)
        }
        away = matrix[:3, :3] @ (1.0, 0.0, 0.0)
        assert tuple(away) == (*pad.normal, 0.0)


def test_holes_are_the_table_s_clearance_holes() -> None:
    """Each hole fits its own screw; the leg is at least 6 thick."""
    design = design_bracket(pack_with(mount=mount("M6", HOLES["wide"])), four_mounting_pads())
    assert design.leg_hole_diameter_mm == screws()["M4"].clearance_diameter_mm
    assert design.foot_hole_diameter_mm == screws()["M6"].clearance_diameter_mm
    assert design.thickness_mm >= 6.0


def test_screws_of_four_brackets_are_counted() -> None:
    """Two pad screws and two frame screws a bracket, with washers; the pad's go into inserts."""
    pad_screw, frame = screw_uses(design_bracket(pack_with(), four_mounting_pads()).screws)
    assert (pad_screw.screw, pad_screw.count, pad_screw.into, pad_screw.washer) == (
        "M4",
        8,
        Into.INSERT,
        True,
    )
    assert pad_screw.length_mm == 12.0  # 6 + 0.8 and at least 4 of thread
    assert (frame.screw, frame.count, frame.into, frame.length_mm) == ("M5", 8, Into.FRAME, None)


def test_root_stress_is_the_beam_formula_s() -> None:
    """By hand, from the forces of the worst jolt on the worst bracket: 4 kg, 4 g and 6 g."""
    pack, pads = pack_with(), four_mounting_pads()
    design = design_bracket(pack, pads)
    assert (design.thickness_mm, design.width_mm, design.near_mm) == (6.0, 40.0, 10.0)
    check = bracket_root_stress(pack, design, pads, mass_kg=4.0)
    # arms: 14 + 3 of stand - 3 up the leg, 10 + 3 along the foot; section 40 x 6
    stresses = [
        6.0 * abs(off * 14.0 + s * up * 13.0) / (40.0 * 6.0**2)
        + 6.0 * abs(along) * (14.0**2 + 13.0**2) ** 0.5 / (6.0 * 40.0**2)
        + abs(off + s * up) / (40.0 * 6.0)
        for load in bracket_loads(pack, pads, design.hold, mass_kg=4.0)
        for off, along, up in load.jolts_n()
        for s in (1.0, -1.0)
    ]
    assert check.value == pytest.approx(max(stresses), rel=2e-3)  # jolts in steps of 3 degrees
    assert check.limit == materials()["petg"].strength_mpa / SAFETY
    assert check.holds
    assert check.unit == "MPa"


def test_root_stress_fails_under_too_much_mass() -> None:
    """With ten times the mass the same bracket does not hold, and names the remedy."""
    pack, pads = pack_with(), four_mounting_pads()
    design = design_bracket(pack, pads)
    check = bracket_root_stress(pack, design, pads, mass_kg=40.0)
    assert not check.holds
    assert check.value is not None
    assert check.limit is not None
    assert check.value > check.limit
    assert "mount.holes_mm" in check.remedy


def test_a_turned_pack_is_held_as_well() -> None:
    """Both level jolts count at once, whichever way, so swapping x and y changes nothing."""
    pads = four_mounting_pads()
    values = []
    for level in ((9.0, 2.0), (2.0, 9.0)):
        pack = sample_pack(load=dataclasses.replace(LOAD, acceleration_g=(*level, 1.0)))
        values.append(
            bracket_root_stress(pack, design_bracket(pack, pads), pads, mass_kg=4.0).value
        )
    assert values[0] == values[1]


def test_thickness_grows_with_the_mass_until_it_holds() -> None:
    """The least thickness that holds is taken; the greatest where none does."""
    pack, pads = pack_with(), four_mounting_pads()
    thick = []
    for mass_kg in (2.0, 6.0, 7.0, 60.0):
        design = design_bracket(pack, pads, mass_kg=mass_kg)
        held = bracket_root_stress(pack, design, pads, mass_kg=mass_kg).holds
        assert held is (mass_kg < 60.0)
        thick.append(design.thickness_mm)
    assert thick == sorted(thick)
    assert thick[0] == 6.0
    assert thick[-1] == 8.0
    assert design_bracket(sample_pack(), pads, mass_kg=60.0).thickness_mm == 6.0  # nothing required


def test_without_a_load_there_is_nothing_to_check() -> None:
    """The check refuses a pack without a load."""
    pack, pads = sample_pack(), four_mounting_pads()
    with pytest.raises(ValueError, match="load: without one"):
        bracket_root_stress(pack, design_bracket(pack, pads), pads, mass_kg=4.0)


def test_bad_mounts_and_lugs_are_told() -> None:
    """Holes too close, no hole, no pad, unlike pads, a pad too low: field, value and remedy."""
    close = pack_with(mount=mount("M5", ((0.0, 0.0), (8.0, 0.0))))
    with pytest.raises(PlanError, match=r"\(holes 1 and 2: 8\.0 mm apart\), keep them 10\.5"):
        design_bracket(close, four_mounting_pads())
    with pytest.raises(PlanError, match=r"mount\.holes_mm: no frame hole is given"):
        design_bracket(pack_with(mount=mount("M5", ())), four_mounting_pads())
    with pytest.raises(ValueError, match="at least one mounting pad"):
        design_bracket(pack_with(), [])
    unlike = [*four_mounting_pads(), *four_mounting_pads(up_mm=16.0)]
    with pytest.raises(ValueError, match="all mounting pads must be equal"):
        design_bracket(pack_with(), unlike)
    with pytest.raises(ValueError, match=r"a mounting pad 21\.0 mm high is too low"):
        design_bracket(pack_with(), four_mounting_pads(high_mm=18.0))
    with pytest.raises(ValueError, match=r"leave 4\.5 mm for the bracket's foot"):
        design_bracket(pack_with(), four_mounting_pads(up_mm=7.0))


@EACH_MOUNT
@EACH_SCREW
def test_no_bracket_reaches_farther_than_told(
    screw: str, holes: tuple[tuple[float, float], ...]
) -> None:
    """The one of a pack far too heavy is the thickest: it reaches as far as is kept free at most,
    and farther than that of a light one."""
    pack = pack_with(mount=mount(screw, holes))
    light, heavy = (
        design_bracket(pack, four_mounting_pads(), mass_kg=mass_kg) for mass_kg in (0.1, 500.0)
    )
    assert light.foot_mm < heavy.foot_mm <= KIND.most_out_mm(pack) + 1e-9
