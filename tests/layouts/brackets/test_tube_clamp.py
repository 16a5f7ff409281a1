"""Clamps for tubes: sound parts, screws with their nuts, strength, and what is refused."""

from __future__ import annotations

import math
from itertools import islice, pairwise
from types import SimpleNamespace

import manifold3d
import numpy as np
import pytest
import trimesh

from generators.dummy.card_parts import drill_plans
from generators.fixes.strength import STRENGTH
from generators.meshes.drilled import drilled_mesh
from generators.meshes.mesh import mesh
from generators.packfile.faults import PackFileError
from generators.packfile.resolve import parse_pack
from layouts.brackets.clamp_checks import slip_n, tightened_n
from layouts.brackets.clamp_sizes import THICKNESSES_MM, ClampSizes
from layouts.brackets.kind import MountingPad
from layouts.brackets.loads import bracket_loads
from layouts.brackets.registry import kind_named
from layouts.brackets.strength import strength_limit_mpa
from layouts.brackets.tube_clamp import ClampBracket
from layouts.errors import PlanError
from layouts.formats import screws
from layouts.pack import Load, Mount, Pack, Side
from layouts.parts.fasteners import Into
from layouts.parts.part import Part
from layouts.parts.screw import PlacedScrew
from layouts.planning.clearances import pack_clearances
from layouts.planning.pack_plan import plan_pack
from tests.generators.fixes.failing_packs import text_of
from tests.layouts.enclosed import enclosed
from tests.layouts.parts.sound_parts import assert_every_feature_counts, assert_sound, manifold
from tests.samples import sample_pack

LOAD = Load(continuous_a=20.0, acceleration_g=(4.0, 4.0, 6.0))
PADS = tuple(
    MountingPad(side=side, face_mm=face, along_mm=along, underside_mm=-8.1)
    for side, face, along in ((Side.PLUS_X, 130.0, 45.0), (Side.MINUS_X, 80.0, -20.0))
)
SIZES = {
    "usual round": ("round_clamp", 25.0, "M5", 1.0, True),
    "thin round, no rubber": ("round_clamp", 12.0, "M4", 0.0, True),
    "thick round by friction": ("round_clamp", 60.0, "M6", 2.0, False),
    "usual square": ("square_clamp", 30.0, "M5", 1.0, True),
    "small square": ("square_clamp", 16.0, "M3", 0.5, False),
}
EACH = pytest.mark.parametrize("name", SIZES)


def pack_of(name: str) -> Pack:
    """The sample pack on one of the clamps."""
    kind, tube, screw, liner, cross = SIZES[name]
    mount = Mount(
        kind=kind, screw=screw, holes_mm=((0.0, 0.0), (20.0, 0.0)), tube_mm=tube, liner_mm=liner,
        cross_bolt=cross,
    )  # fmt: skip
    return sample_pack(mount=mount, load=LOAD)


def made(name: str, *, mass_kg: float | None = None) -> ClampBracket:
    """Clamps for two pads."""
    pack = pack_of(name)
    bracket = kind_named(pack.mount.kind).design(pack, PADS, mass_kg=mass_kg)
    assert isinstance(bracket, ClampBracket)
    return bracket


def profile_mm2(sizes: ClampSizes) -> tuple[float, float]:
    """Areas of block with leg, and of the cap, seen from their side, without trough."""
    corner = 1.0 - math.pi / 4
    split = sizes.tube_x_mm - 0.75
    block = split * sizes.block_y_mm + sizes.thick_mm * (sizes.top_mm - sizes.block_y_mm)
    block += corner * (3.0**2 - 2.0**2 - 2 * 1.0**2)
    return block, sizes.cap_mm * sizes.block_y_mm - 2 * corner * 2.0**2


def trough_mm2(sizes: ClampSizes) -> float:
    """Area that either half of the trough takes, by the formula of a circle's segment or a square
    with round corners, and the flats beside the cross bolt."""
    half, gap = sizes.hollow_mm, 0.75
    if sizes.square:
        return 2 * half * (half - gap) - 2 * (1.0 - math.pi / 4) * 1.5**2
    angle = math.acos(gap / half)
    area = half**2 * angle - gap * math.sqrt(half**2 - gap**2)
    if sizes.flat_mm:
        wide = screws()[sizes.screw].clearance_diameter_mm / 2 + sizes.flat_mm
        inner = wide * math.sqrt(half**2 - wide**2) + half**2 * math.asin(wide / half)
        area += 2 * wide * (half + sizes.flat_mm) - inner
    return area


@EACH
def test_block_and_cap_are_sound_solids(name: str) -> None:
    """Valid, one body each, volume by the formula of profile, trough, pockets and holes."""
    bracket = made(name)
    sizes, (block, cap) = bracket.sizes, bracket.parts
    size, small = screws()[sizes.screw], screws()[sizes.pad_screw]
    hole, pad_hole = (math.pi / 4 * one.clearance_diameter_mm**2 for one in (size, small))
    block_mm2, cap_mm2 = profile_mm2(sizes)
    flats = size.nut_flats_mm + 2 * 0.2
    pockets = next(f for f in block.drawing.features if f.name == "nut pockets")  # type: ignore[union-attr]
    count = 3 if sizes.cross_bolt else 2
    pocket = flats * (pockets.z1_mm - pockets.z0_mm) * sizes.nut_mm * count
    split = sizes.tube_x_mm - 0.75
    ways = 2 * (split - sizes.nut_mm)
    cap_ways = 2 * sizes.cap_mm
    if sizes.cross_bolt:
        ways += sizes.back_mm - sizes.flat_mm - sizes.nut_mm
        cap_ways += sizes.crown_mm - sizes.flat_mm
    trough = trough_mm2(sizes)
    volume = (block_mm2 - trough) * sizes.wide_mm - pocket - ways * hole
    assert_sound(block, volume - 2 * pad_hole * sizes.thick_mm, fine=1e-9)
    assert_sound(cap, (cap_mm2 - trough) * sizes.wide_mm - cap_ways * hole, fine=1e-9)
    assert_every_feature_counts(block.drawing.features)  # type: ignore[union-attr]


def solid_of(part: Part) -> manifold3d.Manifold:
    """A part of the first bracket in its place."""
    drilled = drilled_mesh(mesh(part.drawing.body), part.drawing.bores)  # type: ignore[union-attr]
    body = trimesh.Trimesh(drilled.vertices_mm, drilled.faces, process=False)
    return manifold(body.apply_transform(part.placed[0]))


def along(
    screw: PlacedScrew, low_mm: float, high_mm: float, radius_mm: float
) -> manifold3d.Manifold:
    """A rod about a screw's axis between two distances outside of its face."""
    points = np.array(screw.bar(low_mm, high_mm, radius_mm).vertices_mm)
    return manifold3d.Manifold.hull_points(points)


@EACH
def test_screws_go_through_and_end_in_their_nuts(name: str) -> None:
    """Each clamp screw's rod meets no plastic from head to tip, its nut lies in a pocket with its
    flats held, a thread's length comes out of it, and it ends before the pad's face; a tool 12 mm
    broad and 80 long reaches every head."""
    bracket = made(name)
    sizes, mine = bracket.sizes, [one for one in bracket.screws if one.on == 1]
    solid = manifold3d.Manifold.batch_boolean(
        [solid_of(part) for part in bracket.parts], manifold3d.OpType.Add
    )
    heads = [one.bar(0.0, one.top_mm, one.size.washer_diameter_mm / 2) for one in mine]
    for one in mine:
        thread = float(one.screw.removeprefix("M"))
        assert one.length_mm is not None
        tip = one.length_mm - one.lift_mm
        assert (solid ^ along(one, -tip, 0.1, thread / 2)).volume() < 1e-6
        assert (solid ^ along(one, one.top_mm, one.top_mm + 80.0, 6.0)).volume() < 1e-6
        if one.into is Into.NUT:
            seat = one.through_mm + one.gap_mm
            assert tip - seat - one.size.nut_high_mm == pytest.approx(1.0)
            assert sizes.face_mm - tip == pytest.approx(0.5)
            flats = one.size.nut_flats_mm / 2
            inside = along(one, -seat - one.size.nut_high_mm, -seat - 0.05, flats)
            assert (solid ^ inside).volume() < 1e-6
            # under the nut lies plastic all round its hole
            ring = along(one, -seat + 0.05, -seat + 1.0, flats) - along(
                one, -seat, -seat + 2.0, one.size.clearance_diameter_mm / 2 + 0.1
            )
            assert (solid ^ ring).volume() > 0.99 * ring.volume()
    assert len(heads) == 4 + sizes.cross_bolt


@EACH
def test_the_tube_with_its_rubber_has_room_and_washers_do_not_meet(name: str) -> None:
    """The trough is as wide as the tube with its rubber; washers of pad and clamp screws, seen from
    outside, are clear of each other; the estimate before the design holds the design."""
    bracket, pack = made(name), pack_of(name)
    sizes, kind = bracket.sizes, kind_named(pack.mount.kind)
    assert 2 * sizes.hollow_mm == sizes.tube_mm + 2 * sizes.liner_mm
    lower, upper = sizes.clamp_ys_mm
    heights = sorted([lower, upper, sizes.pad_y_mm, *([sizes.tube_y_mm] * sizes.cross_bolt)])
    washer = max(screws()[one].washer_diameter_mm for one in (sizes.screw, sizes.pad_screw))
    assert all(high - low > washer for low, high in pairwise(heights))
    thickest = made(name, mass_kg=300.0)
    out, below = kind.reach_mm(pack)
    for one in (bracket, thickest):
        assert one.sizes.face_mm <= out and one.stand_mm <= below + 1e-9
        assert one.sizes.wide_mm <= kind.wall_mm(pack)
    assert thickest.sizes.thick_mm == THICKNESSES_MM[-1]


def test_strength_by_hand_and_each_check_fails_at_last() -> None:
    """Leg, cap and bolt from the forces of the worst jolt; a heavy pack breaks each."""
    pack, bracket = pack_of("usual round"), made("usual round")
    sizes = bracket.sizes
    checks = {one.id: one for one in bracket.checks(pack, PADS, mass_kg=3.0)}
    assert list(checks) == ["clamp_bending", "clamp_cap", "clamp_bolt"]
    jolts = [
        np.abs(jolt)
        for load in bracket_loads(pack, PADS, bracket.hold, mass_kg=3.0)
        for jolt in load.jolts_n()
    ]
    arm, out = sizes.pad_y_mm - sizes.tube_y_mm, sizes.tube_x_mm - sizes.thick_mm / 2
    net, t, b = sizes.wide_mm - 2 * 4.5, sizes.thick_mm, sizes.wide_mm
    leg = max(
        6 * (off * arm + up * out) / (net * t**2) + (off + up) / (net * t)
        + 6 * level * arm / (t * b**2) + math.sqrt(3) * 3 * level * out / (b * t**2)
        for off, level, up in jolts
    )  # fmt: skip
    assert checks["clamp_bending"].value == pytest.approx(leg, rel=3e-3)
    pull, level = (max(jolt[k] for jolt in jolts) for k in (0, 1))
    cap = 6 * pull / 2 * (sizes.clamp_off_mm - sizes.hollow_mm / 2) / ((b - 5.5) * 6.0**2)
    assert checks["clamp_cap"].value == pytest.approx(cap, rel=2e-3)
    bolt = level / (5.0 * (6.0 + sizes.back_mm - sizes.nut_mm))
    assert checks["clamp_bolt"].value == pytest.approx(bolt, rel=2e-3)
    heavy = bracket.checks(pack, PADS, mass_kg=900.0)
    assert not any(one.holds for one in heavy)


def test_friction_is_what_creep_leaves_of_the_screws() -> None:
    """Without a screw through the tube: two screws, both sides, friction 0.2, 0.3 of a force that
    the plastic under a washer bears; half of it allowed. That force lies far below a screw's proof
    load."""
    name = "thick round by friction"
    pack, bracket = pack_of(name), made(name)
    limit = strength_limit_mpa(pack)
    tight = math.pi / 4 * (12.0**2 - 6.6**2) * limit  # ISO 7089, ISO 273: the table of screws
    assert tightened_n("M6", limit) == pytest.approx(tight)
    assert slip_n(bracket.sizes, limit) == pytest.approx(0.2 * 2 * 2 * 0.3 * tight)
    # ISO 898-1, from memory: M6 has 20.1 mm2 of stress area, class 8.8 a proof stress of 580 MPa
    assert tight < 0.1 * 20.1 * 580.0
    checks = {one.id: one for one in bracket.checks(pack, PADS, mass_kg=1.0)}
    assert list(checks) == ["clamp_bending", "clamp_cap", "clamp_slip"]
    assert checks["clamp_slip"].limit == pytest.approx(0.12 * tight)
    assert checks["clamp_slip"].holds
    heavy = {one.id: one.holds for one in bracket.checks(pack, PADS, mass_kg=20.0)}
    assert not heavy["clamp_slip"]


@pytest.mark.slow
def test_a_whole_plan_stands_on_its_tubes() -> None:
    """Clearances count all heads and the keys of the clamp screws; nothing is drilled into a face
    of the frame; rubber is in the bill, which names no more than there are clamps."""
    plan = plan_pack(pack_of("usual round"))
    names = [one.name for one in pack_clearances(plan)]
    assert any(name.startswith("service clearance: driver over the bracket") for name in names)
    assert drill_plans(enclosed("1S1P").enclosure.shell, plan.bracket) == ()
    (rubber,) = plan.bracket.bought
    assert rubber.count == 2 * len(plan.enclosure.pads) and "1 mm thick" in rubber.size
    for part in plan.bracket.parts:
        assert len(part.placed) == len(plan.enclosure.pads)
        assert all(np.linalg.det(one[:3, :3]) == pytest.approx(1.0) for one in part.placed)
    pads = {one.on: one for one in plan.bracket.screws if one.into is Into.INSERT}
    for number, pad in enumerate(plan.enclosure.pads, start=1):
        assert pads[number].at_mm[2] == pytest.approx(pad.underside_mm + pad.up_mm)


@pytest.mark.parametrize(
    ("mount", "told"),
    [
        ({"kind": "round_clamp"}, r"mount\.tube_mm: is not given \(round_clamp\)"),
        ({"kind": "round_clamp", "tube_mm": 4}, r"mount\.tube_mm"),
        ({"kind": "flat", "tube_mm": 25}, r"goes with kind: round_clamp or square_clamp"),
        ({"kind": "angle", "cross_bolt": False}, r"mount\.cross_bolt: goes with kind"),
        (
            {"kind": "square_clamp", "tube_mm": 25, "holes_mm": [[0, 0]]},
            r"mount\.holes_mm: has no meaning with kind: square_clamp",
        ),
    ],
)
def test_keys_that_do_not_go_together_are_told(mount: dict[str, object], told: str) -> None:
    """One line each, at the key."""
    with pytest.raises(PackFileError, match=told):
        parse_pack(text_of({"mount": mount}).encode(), "p.yaml")


def test_tubes_that_no_screw_suits_are_refused() -> None:
    """Too thin for the screw through it, too thick for any usual screw: the way out is said."""
    for tube, screw, told in (
        (10.0, "M5", r"mount\.tube_mm.*too thin for an M5 .*use 15 or more"),
        (80.0, "M5", r"mount\.tube_mm.*needs clamp screws of 1\d\d mm.*or less"),
    ):
        mount = Mount(kind="round_clamp", screw=screw, holes_mm=(), tube_mm=tube)
        with pytest.raises(PlanError, match=told):
            kind_named("round_clamp").design(sample_pack(mount=mount), PADS, mass_kg=None)


def test_a_heavy_pack_presses_too_hard_on_its_bolts_too() -> None:
    """From a pack file: 300 kg on the thinnest screw that suits the tube."""
    text = text_of(
        {
            "load": {"continuous_a": 9.0},
            "mount": {"kind": "round_clamp", "tube_mm": 12, "screw": "M3"},
        }
    )
    pack = parse_pack(text.encode(), "p.yaml").pack
    for mass_kg, holds in ((2.0, True), (300.0, False)):
        bracket = kind_named("round_clamp").design(pack, PADS, mass_kg=mass_kg)
        checks = {one.id: one.holds for one in bracket.checks(pack, PADS, mass_kg=mass_kg)}
        assert checks["clamp_bolt"] is holds and checks["clamp_cap"] is holds


def test_a_tube_is_offered_no_other_kind_and_no_holes() -> None:
    """Advice for clamps keeps to what holds a tube: other kinds refuse its keys."""
    plan = SimpleNamespace(pack=pack_of("usual round"))
    check = made("usual round").checks(plan.pack, PADS, mass_kg=60.0)[0]
    assert not check.holds
    for offer in (STRENGTH["insert_pull"], STRENGTH["wall_bending"], STRENGTH["bracket_bending"]):
        keys = {key for changes in islice(offer(check, plan), 8) for key in changes}
        assert keys and not keys & {"mount.kind", "mount.holes_mm"}
