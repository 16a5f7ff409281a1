"""Sheet metal brackets: solid, flat pattern, rules of bending, stress. Values are invented."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from generators.packfile.faults import PackFileError
from generators.packfile.resolve import ReadPack, parse_pack
from layouts.brackets.angle_strength import STAND_MM
from layouts.brackets.kind import MountingPad
from layouts.brackets.loads import bracket_loads
from layouts.brackets.sheet import KIND, SheetBracket
from layouts.brackets.sheet_flat import CORNER_MM
from layouts.brackets.sheet_strength import METAL_SAFETY, sheet_bend, sheet_stress
from layouts.checks import Check
from layouts.errors import PlanError
from layouts.formats import screws, sheet_metals
from layouts.pack import Load, Mount, Pack, Side
from layouts.parts.fasteners import Into
from layouts.parts.metal_piece import MetalPiece
from layouts.planning.mass import parts_mass
from layouts.planning.mounting import mounting_checks
from layouts.planning.steps import (
    BlockPlan,
    bracketed,
    enclosed,
    fastened,
    interconnected,
    laid_out,
)
from tests.layouts.parts.sound_parts import assert_sound
from tests.samples import sample_pack

LOAD = Load(continuous_a=10.0, acceleration_g=(4.0, 4.0, 6.0))
UNEVEN = ((0.0, 0.0), (30.0, 0.0), (10.0, 18.0))  # in the mirror these are others
PADS = tuple(
    MountingPad(side=side, face_mm=80.0, along_mm=along, underside_mm=-8.1)
    for side in (Side.PLUS_X, Side.MINUS_X)
    for along in (-30.0, 30.0)
)
FILE = """\
name: small
cell: {format: "18650", capacity_ah: 2.5, continuous_a: 8, internal_resistance_mohm: 25, mass_g: 47}
series: 3
parallel: 2
"""


def pack_with(**mount: object) -> Pack:
    """A small pack on sheet metal."""
    given = Mount(kind="sheet", screw="M5", holes_mm=((0.0, 0.0), (20.0, 0.0)))
    return sample_pack(
        4, 2, format="18650", mount=replace(given, **mount), load=LOAD  # type: ignore[arg-type]
    )  # fmt: skip


def made(*, mass_kg: float | None = None, **mount: object) -> SheetBracket:
    """The brackets of four pads."""
    bracket = KIND.design(pack_with(**mount), PADS, mass_kg=mass_kg)
    assert isinstance(bracket, SheetBracket)
    return bracket


def piece_of(bracket: SheetBracket) -> MetalPiece:
    """Its flat pattern."""
    piece = bracket.parts[0].sheet
    assert piece is not None
    return piece


def read(load: str, mount: str) -> ReadPack:
    """The small pack's file with a load and a mounting."""
    return parse_pack(f"{FILE}load: {load}\nmount: {mount}\n".encode(), "p.yaml")


@cache
def block() -> BlockPlan:
    """Its held cells, which no mounting changes."""
    return fastened(interconnected(laid_out(read("{continuous_a: 6}", "{kind: sheet}").pack)))


def judged(load: str, mount: str, *, mass_kg: float = 1.0) -> dict[str, Check]:
    """What is judged of its mounting, from the file on."""
    plan = bracketed(enclosed(replace(block(), pack=read(load, mount).pack)))
    return {one.id: one for one in mounting_checks(plan, mass_kg=mass_kg)}


@pytest.mark.parametrize("metal", ["steel-S235", "aluminium-5754-H22"])
@pytest.mark.parametrize("holes", [((0.0, 0.0),), UNEVEN])
def test_the_bent_sheet_is_one_sound_solid(
    metal: str, holes: tuple[tuple[float, float], ...]
) -> None:
    """Two flats and a quarter of a ring; the flat pattern has its volume but for what is told:
    the line that keeps its length lies off the middle, and the corners are round."""
    bracket = made(metal=metal, holes_mm=holes, thickness_mm=2.0)
    sizes, (part,) = bracket.sizes, bracket.parts
    thick, radius, wide = sizes.thickness_mm, sizes.radius_mm, sizes.wide_mm
    setback = radius + thick
    small, large = screws()[sizes.pad_screw], screws()[sizes.mount_screw]
    holes_mm2 = 2 * small.clearance_diameter_mm**2 + len(holes) * large.clearance_diameter_mm**2
    flats = thick * (sizes.leg_mm + sizes.foot_mm - 2 * setback)
    ring = math.pi / 4 * (setback**2 - radius**2)
    assert_sound(part, wide * (flats + ring) - math.pi / 4 * holes_mm2 * thick)
    piece = piece_of(bracket)
    off_middle = math.pi / 2 * (0.5 - bracket.k_factor) * thick**2 * wide
    corners = (4 - math.pi) * CORNER_MM**2 * thick
    flat_mm3 = piece.area_mm2 * piece.thickness_mm
    assert part.drawing.volume_mm3() - flat_mm3 == pytest.approx(off_middle + corners, rel=1e-6)
    assert off_middle + corners < 0.015 * flat_mm3
    density = {"steel-S235": 7.85, "aluminium-5754-H22": 2.67}[metal]
    assert piece.mass_g == pytest.approx(flat_mm3 / 1000 * density)
    assert parts_mass(bracket.parts) == ([], pytest.approx(4 * piece.mass_g))


def test_the_flat_pattern_folds_onto_the_screws() -> None:
    """Seen on the faces of the heads and bent towards the viewer, every hole comes to its screw:
    nothing is mirrored, also where the frame's holes are uneven."""
    bracket = made(holes_mm=UNEVEN, thickness_mm=2.0)
    sizes, piece = bracket.sizes, piece_of(bracket)
    long, wide = piece.size_mm
    (bend,) = piece.bends
    half = bend.allowance_mm(sizes.thickness_mm) / 2
    begins, ends = bend.start[0] - half, bend.start[0] + half
    for number, matrix in enumerate(bracket.placed, start=1):
        mine = [one for one in bracket.screws if one.on == number]
        for hole, screw in zip(piece.holes, mine, strict=True):
            u, v = hole[0].centre  # type: ignore[union-attr]
            assert not begins < u < ends
            on_leg = (sizes.thickness_mm, sizes.leg_mm - u, wide - v)
            on_foot = (sizes.foot_mm - (long - u), sizes.thickness_mm, wide - v)
            at = np.array(on_leg if u < begins else on_foot)
            assert matrix[:3, :3] @ at + matrix[:3, 3] == pytest.approx(screw.at_mm)
    assert sum(one.into is Into.FRAME for one in bracket.screws) == 3 * len(PADS)


def test_screws_stand_nearer_to_the_wall_than_those_of_a_printed_one() -> None:
    """Washers on the flat, holes off the bend, the driver past the heads; feet below the tub."""
    bracket = made(thickness_mm=2.0)
    assert bracket.hold.out_mm == 12.0  # 2 + 10 past the heads of M4
    assert bracket.hold.below_mm == bracket.stand_mm == STAND_MM
    sizes, size = bracket.sizes, screws()["M5"]
    assert sizes.near_mm - size.washer_diameter_mm / 2 >= sizes.radius_mm
    assert sizes.near_mm - size.clearance_diameter_mm / 2 >= 2.5 * 2.0 + sizes.radius_mm


def test_estimates_cover_what_is_made() -> None:
    """Out of the pad in every thickness, on both pad screws; along the wall."""
    for metal in sheet_metals():
        pack = pack_with(metal=metal)
        for screw in ("M4", "M5"):
            pads = tuple(replace(pad, screw=screw, high_mm=44.0, up_mm=21.0) for pad in PADS)
            for mass_kg in (None, 1.0, 30.0):
                bracket = KIND.design(pack, pads, mass_kg=mass_kg)
                (x0, _, _), (x1, _, z1) = bracket.parts[0].drawing.box_mm()
                assert KIND.reach_mm(pack)[0] - 1e-9 <= x1 - x0 <= KIND.most_out_mm(pack) + 1e-9
                assert z1 <= KIND.wall_mm(pack)


def test_the_thickness_follows_the_load() -> None:
    """The least in stock that holds; the thickest that can be bent where none does."""
    chosen = [made(mass_kg=mass_kg) for mass_kg in (1.0, 4.0, 60.0)]
    thick = [one.sizes.thickness_mm for one in chosen]
    assert thick == sorted(set(thick)) and thick[0] == 1.5
    for one, mass_kg in zip(chosen[:2], (1.0, 4.0), strict=True):
        assert sheet_stress(pack_with(), one.sizes, PADS, one.hold, mass_kg=mass_kg).holds
    assert all(sheet_bend(one.sizes).holds for one in chosen)
    last = chosen[-1]
    assert not sheet_stress(pack_with(), last.sizes, PADS, last.hold, mass_kg=60.0).holds


def test_stress_is_the_beam_formula_s() -> None:
    """By hand in jolts from all sides: bending, twist of the foot as two halves bent against each
    other (or free to warp), and pull over the section."""
    bracket = made(thickness_mm=2.0)
    sizes, mass_kg = bracket.sizes, 2.0
    t, b = 2.0, min(sizes.wide_mm, 20.0 + 9.0 + 2 * 17.0)
    up, out = 17.0 - t / 2, sizes.near_mm + t / 2
    twist = up * max(24 * out / (b * t) ** 2, 3 * math.sqrt(3) / (b * t**2))
    each = (
        6 * up / (b * t**2) + 1 / (b * t),
        6 * math.hypot(up, out) / (t * b**2) + twist,
        6 * out / (b * t**2) + 1 / (b * t),
    )
    loads = bracket_loads(pack_with(), PADS, bracket.hold, mass_kg=mass_kg)
    found = max(float((np.abs(one.jolts_n()) @ each).max()) for one in loads)
    check = sheet_stress(pack_with(), sizes, PADS, bracket.hold, mass_kg=mass_kg)
    assert check.value == pytest.approx(found, rel=2e-3)  # steps of 3 degrees between jolts
    assert check.limit == pytest.approx(235 / METAL_SAFETY)
    assert "bend of" in check.where


def test_a_screw_hole_governs_where_the_sheet_is_hardly_bent() -> None:
    """With wide feet close to the wall the force on one screw over d t is the most."""
    wide = made(thickness_mm=1.5, holes_mm=((0.0, 0.0), (300.0, 0.0)))
    sizes = replace(wide.sizes, pad_up_mm=5.0, near_mm=0.5, wide_mm=400.0)
    pads = tuple(replace(pad, up_mm=0.01, apart_mm=400.0) for pad in PADS)
    check = sheet_stress(pack_with(), sizes, pads, wide.hold, mass_kg=2.0)
    assert "beside a screw" in check.where
    loads = bracket_loads(pack_with(), pads, wide.hold, mass_kg=2.0)
    forces = np.vstack([one.jolts_n() for one in loads])
    by_hand = max(
        np.hypot(forces[:, 1], forces[:, 2]).max() / (4 * 1.5),
        np.hypot(forces[:, 0], forces[:, 1]).max() / (5 * 1.5),
    )
    assert check.value == pytest.approx(by_hand)


def test_rules_of_bending() -> None:
    """Each is the worst of them once, with what there is and what is asked."""
    plain = made(thickness_mm=2.0).sizes
    assert sheet_bend(plain).holds
    for changes, words in (
        ({"radius_mm": 1.5}, "inside radius: 1.50 of 2.00"),
        ({"leg_mm": 11.0}, "leg, from the foot's inside face: 9.00 of 10.00"),
        ({"foot_mm": 11.0}, "foot, from the leg's inside face: 9.00 of 10.00"),
        ({"pad_up_mm": 9.0}, "edge of the leg's holes to the foot: 4.75 of 7.00"),
        ({"near_mm": 9.0}, "edge of the foot's to the leg: 6.25 of 7.00"),
    ):
        check = sheet_bend(replace(plain, **changes))  # type: ignore[arg-type]
        assert not check.holds
        assert check.where.startswith(words), check.where


def test_from_the_pack_file_each_check_fails_and_holds() -> None:
    """Thick sheet whose holes come too near to the bend; thin sheet under strong jolts."""
    usual = judged("{continuous_a: 6}", "{kind: sheet}")
    assert usual["sheet_bend"].holds and usual["sheet_stress"].holds
    assert {"insert_pull", "wall_bending"} <= set(usual)  # the pad is printed all the same
    thick = judged("{continuous_a: 6}", "{kind: sheet, thickness_mm: 4}")
    assert not thick["sheet_bend"].holds
    assert thick["sheet_stress"].holds
    thin = judged(
        "{continuous_a: 6, acceleration_g: [30, 30, 30]}", "{kind: sheet, thickness_mm: 1.5}"
    )
    assert not thin["sheet_stress"].holds
    assert thin["sheet_bend"].holds


def test_a_shock_counts_metal_at_its_own_safety() -> None:
    """Its stress over yield / 1.5, not half of it as of a printed part."""
    shock = "{kind: sheet, thickness_mm: 1.5, metal: steel-DC01, shock: {g: 40, ms: 11}}"
    strong = f"{shock}\nprinter: {{material: pa12}}\nenclosure: {{wall_mm: 4}}"
    check = judged("{continuous_a: 6, acceleration_g: [1, 1, 1]}", strong)["mount_shock"]
    assert check.where == "sheet_stress"
    assert check.value is not None and check.value > 1.0


@pytest.mark.parametrize(
    ("mount", "words"),
    [
        ("{kind: sheet, thickness_mm: 2.2}", "take one of 1.5, 2, 2.5, 3, 4, 5, 6"),
        ("{thickness_mm: 2}", "write kind: sheet, or delete it"),
        ("{kind: flat, metal: steel-S235}", "write kind: sheet, or delete it"),
    ],
)
def test_keys_that_do_not_go_together_are_refused(mount: str, words: str) -> None:
    """By line, field and remedy."""
    with pytest.raises(PackFileError) as told:
        read("{continuous_a: 6}", mount)
    assert words in str(told.value)


def test_a_bend_that_reaches_into_the_holes_is_refused() -> None:
    """By the key that makes it so."""
    with pytest.raises(PlanError) as told:
        made(thickness_mm=2.0, bend_radius_mm=14.0)
    assert told.value.field == "mount.bend_radius_mm"
    assert "16.0 mm above the foot" in told.value.why
