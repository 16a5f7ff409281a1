"""The fitted enclosure from a pack file: rooms, walls, pads, and its place in a space."""

from __future__ import annotations

import re

import pytest
import shapely
from shapely.geometry.base import BaseGeometry

from layouts.brackets.registry import kind_of
from layouts.enclosures.fitted import design, form, stands
from layouts.enclosures.fitted.checks import standing_shape
from layouts.enclosures.fitted.choosing import GAS_OUT_MM
from layouts.enclosures.fitted.loops import loop_polygon
from layouts.enclosures.fitted.rooms import PARTITION_MM, PLAY_MM, RoomKind
from layouts.enclosures.fitted.sides import OUTWARD, axis_along, edge_mm, rect_at
from layouts.enclosures.fitted.sizes import FittedSizes
from layouts.enclosures.fitted.stands import side_after
from layouts.errors import NoPlaceError, PlanError
from layouts.holders.shape import cell_block_shape
from layouts.pack import Face, Pack, Side
from layouts.parts.outlet import BEND_RATIO
from layouts.parts.shell import box
from layouts.planning.pack_plan import plan_checks, plan_pack
from tests.layouts.enclosures.fitted.planned import NAMES, designed, pack_of, planned, sizes_of

OPPOSITE = {
    Side.PLUS_X: Side.MINUS_X, Side.MINUS_X: Side.PLUS_X,
    Side.PLUS_Y: Side.MINUS_Y, Side.MINUS_Y: Side.PLUS_Y,
}  # fmt: skip
ROUNDED_MM2 = 8.0  # four corners of radius 3 take 7.7 off a rectangle


def whole(pack: Pack, sizes: FittedSizes) -> BaseGeometry:
    """Lid, brackets, glands with their bent wires, and the way of the gas, from the sizes alone."""
    kind = kind_of(pack)
    half, out = kind.wall_mm(pack) / 2, kind.reach_mm(pack)[0]
    lid = sizes.shell.lid_plan
    parts = [lid]
    for pad in sizes.pads:
        ends = pad.face_mm, pad.face_mm + out, pad.along_mm - half, pad.along_mm + half
        parts.append(box(rect_at(pad.side, *ends)))
    for hole in sizes.holes:
        low, high = hole.along_mm - hole.gland.keep_radius_mm, hole.along_mm
        long = hole.gland.long_mm + (BEND_RATIO + 1) * hole.wire_mm
        inside = hole.face_mm - sizes.shell.wall_mm
        high += hole.gland.keep_radius_mm
        parts.append(box(rect_at(hole.side, inside, inside + long, low, high)))
    assert sizes.gas_side is not None
    edge = edge_mm(lid.bounds, sizes.gas_side)
    along = lid.bounds[axis_along(sizes.gas_side) :: 2]
    parts.append(box(rect_at(sizes.gas_side, edge, edge + GAS_OUT_MM, *along)))
    return shapely.union_all(parts)


def size_mm(shape: BaseGeometry) -> tuple[float, float]:
    """Of a shape's box."""
    x0, y0, x1, y1 = shape.bounds
    return x1 - x0, y1 - y0


@pytest.mark.parametrize("name", NAMES)
def test_every_check_of_the_plan_holds(name: str) -> None:
    """Those of the enclosure and all others."""
    checks = plan_checks(planned(name), mass_kg=1.0)
    assert [check.id for check in checks if not check.holds] == []
    assert {"partition_closed", "enclosure_radius", "gas_away", "gas_way"} <= {c.id for c in checks}


@pytest.mark.parametrize("name", NAMES)
def test_every_room_is_there_and_apart(name: str) -> None:
    """One each for board, fuse and charge port, inside of the walls and off each other."""
    sizes = sizes_of(name)
    kinds = [room.kind for room in sizes.shell.rooms]
    for kind in (RoomKind.BOARD, RoomKind.FUSE, RoomKind.CHARGE, RoomKind.TAILS, RoomKind.WAY):
        assert kinds.count(kind) == 1, kind
    landings = {room.name for room in sizes.shell.rooms if room.kind is RoomKind.LANDING}
    assert landings == {"pack minus", "pack plus"}
    inside = loop_polygon(sizes.shell.inner.loop)
    placed = [
        room
        for room in sizes.shell.rooms
        if room.kind in (RoomKind.BOARD, RoomKind.FUSE, RoomKind.CHARGE)
    ]
    for k, room in enumerate(placed):
        assert room.plan.difference(inside).area < ROUNDED_MM2
        for other in placed[:k]:
            assert box(room.rect.grown(-PLAY_MM)).disjoint(box(other.rect.grown(-PLAY_MM)))


@pytest.mark.parametrize("name", NAMES)
def test_the_partition_stands_between_cells_and_placed_rooms(name: str) -> None:
    """No room for board, fuse or charge port, and neither board nor fuse, reaches into it or past
    it, and it is as thick all along as it is told."""
    sizes = sizes_of(name)
    shell = sizes.shell
    behind, gas = loop_polygon(shell.partition), loop_polygon(shell.cells)
    for room in shell.rooms:
        if room.kind in (RoomKind.BOARD, RoomKind.FUSE, RoomKind.CHARGE):
            assert box(room.rect.grown(-2 * PLAY_MM)).intersection(behind).area < 0.1
    assert box(sizes.board.board).disjoint(behind)
    assert box(sizes.fuse.plan).disjoint(behind)
    corners = shapely.points(shapely.get_coordinates(gas.exterior))
    apart = shapely.distance(behind.exterior, corners)
    assert apart.min() == pytest.approx(PARTITION_MM, abs=0.02)
    assert apart.max() == pytest.approx(PARTITION_MM, abs=0.02)
    held = cell_block_shape(planned(name).cell_block.outline)
    assert gas.contains(held)


@pytest.mark.parametrize("name", NAMES)
def test_held_cells_go_straight_down(name: str) -> None:
    """Nothing that stands in the tub lies under them."""
    held = cell_block_shape(planned(name).cell_block.outline)
    assert shapely.distance(held, standing_shape(sizes_of(name))) > 0.25


@pytest.mark.parametrize("name", NAMES)
def test_brackets_gas_and_glands_keep_to_sides_of_their_own(name: str) -> None:
    """Pads on two opposite sides, gas on another, glands on another than gas."""
    sizes = sizes_of(name)
    sides = {pad.side for pad in sizes.pads}
    assert len(sides) == 2 and {OPPOSITE[side] for side in sides} == sides
    assert sizes.gas_side is not None and sizes.gas_side not in sides
    assert {duct.side for duct in sizes.ducts} == {sizes.gas_side}
    assert {"pack plus", "pack minus"} <= {hole.purpose for hole in sizes.holes}
    assert sizes.gas_side not in {hole.side for hole in sizes.holes}


@pytest.mark.parametrize("name", NAMES)
def test_a_missing_charge_port_is_told(name: str) -> None:
    """A gland of its own in the walls of its room, or a note that there is none."""
    sizes = sizes_of(name)
    own = [hole for hole in sizes.holes if hole.purpose not in ("pack plus", "pack minus")]
    told = design.NO_CHARGE_PORT in sizes.notes
    assert form.NOT_CHECKED in planned(name).cautions
    assert (len(own), told) in ((1, False), (0, True))
    (room,) = (room for room in sizes.shell.rooms if room.kind is RoomKind.CHARGE)
    for hole in own:
        x, y, _ = hole.at_mm
        assert room.plan.distance(shapely.Point(x, y)) < 3 * sizes.shell.wall_mm


@pytest.mark.parametrize("name", NAMES)
def test_pads_stand_before_everything_on_their_side(name: str) -> None:
    """A bracket slides on to its pad past walls and lid."""
    pack, sizes = planned(name).pack, sizes_of(name)
    half, out = kind_of(pack).wall_mm(pack) / 2, kind_of(pack).reach_mm(pack)[0]
    for pad in sizes.pads:
        ends = pad.face_mm, pad.face_mm + out, pad.along_mm - half, pad.along_mm + half
        before = box(rect_at(pad.side, *ends))
        assert before.disjoint(sizes.shell.lid_plan)
        ux, uy = OUTWARD[pad.side]
        wall = shapely.get_coordinates(loop_polygon(sizes.shell.outer)) @ (ux, uy)
        assert pad.face_mm <= wall.max() + design.PAD_WIDE_MM


@pytest.mark.parametrize("name", NAMES)
def test_pads_of_floor_and_lid_clamp_the_stack(name: str) -> None:
    """Floor's pads carry the holders, those of the lid leave 0.1 mm."""
    pack, sizes = planned(name).pack, sizes_of(name)
    levels = sizes.shell.levels
    assert levels.floor_mm + sizes.support_pad_floor_mm == pytest.approx(-pack.holder.lip_mm)
    upper = pack.lip_to_lip_mm + pack.holder.lip_mm
    assert levels.rim_mm - sizes.support_pad_lid_mm == pytest.approx(upper + 0.1)
    assert all(len(sizes.support_pads[face]) >= 3 for face in Face)


@pytest.mark.slow
def test_two_runs_are_equal() -> None:
    """Same pack, same numbers."""
    first, again = sizes_of("3S2P"), designed("3S2P", planned("3S2P").pack)
    assert again.shell.outer == first.shell.outer
    assert again.shell.rooms == first.shell.rooms
    assert again.shell.screws == first.shell.screws
    assert (again.pads, again.ducts, again.holes) == (first.pads, first.ducts, first.holes)


@pytest.mark.slow
def test_a_box_just_large_enough_takes_the_whole(monkeypatch: pytest.MonkeyPatch) -> None:
    """One millimetre more than lid, brackets, wires and gas need. One turn is tried: this box is
    as wide as the pack stands without one."""
    monkeypatch.setattr(stands, "BOX_TURNS", (0,))
    wide, deep = size_mm(whole(planned("4S3P").pack, sizes_of("4S3P")))
    pack = pack_of("4S3P", f"space: {{box_mm: [{wide + 1:.2f}, {deep + 1:.2f}, 86]}}\n")
    sizes = designed("4S3P", pack)
    needs = size_mm(whole(pack, sizes))
    assert pack.space is not None
    assert needs[0] < pack.space.box_mm[0] and needs[1] < pack.space.box_mm[1]
    levels = sizes.shell.levels
    assert levels.lid_mm - levels.under_mm <= pack.space.box_mm[2]


@pytest.mark.slow
def test_a_tight_box_is_planned_as_a_whole() -> None:
    """All poses and turns: the smallest plan stands in the box, turned where it must be."""
    wide, deep = size_mm(whole(planned("4S3P").pack, sizes_of("4S3P")))
    pack = pack_of("4S3P", f"space: {{box_mm: [{deep + 3:.2f}, {wide + 3:.2f}, 86]}}\n")
    sizes = designed("4S3P", pack)
    needs = size_mm(whole(pack, sizes))
    assert sorted(needs) < sorted((wide + 3, deep + 3))
    assert max(needs) < deep + 3 and min(needs) < wide + 3


def test_a_box_too_small_is_refused() -> None:
    """With field and reason."""
    with pytest.raises(PlanError) as caught:
        designed("4S3P", pack_of("4S3P", "space: {box_mm: [140, 76, 100]}\n"))
    assert caught.value.field == "enclosure.style"
    assert "the held cells with their walls, 96 x 84 mm, find none" in caught.value.why
    assert caught.value.remedy == "a larger space; or enclosure: {style: tub}"


@pytest.mark.slow
def test_what_would_do_is_told_and_does() -> None:
    """With every layout tried, how much more space it wants: so much more does."""
    with pytest.raises(PlanError) as caught:
        plan_pack(pack_of("4S3P", "space: {box_mm: [150, 140, 100]}\n"))
    found = re.match(r"by estimate it stands in a space (\d+) mm wider", caught.value.remedy)
    assert found
    more = 2 * int(found[1])
    assert plan_pack(pack_of("4S3P", f"space: {{box_mm: [{150 + more}, {140 + more}, 100]}}\n"))


@pytest.mark.slow
def test_a_body_in_the_way_is_named() -> None:
    """A post through the middle of a space that is large enough without it."""
    ends = "from_mm: [92, 92, 0], to_mm: [92, 92, 100]"
    post = f"{{name: seat post, cylinder: {{{ends}, radius_mm: 9}}}}"
    space = f"space: {{box_mm: [184, 184, 100], keep_out: [{post}]}}\n"
    with pytest.raises(NoPlaceError) as caught:
        designed("4S3P", pack_of("4S3P", space))
    assert "without seat post" in caught.value.advised().remedy


def test_a_box_too_low_is_refused() -> None:
    """By its height, however wide it is."""
    with pytest.raises(PlanError) as caught:
        designed("4S3P", pack_of("4S3P", "space: {box_mm: [300, 300, 85]}\n"))
    assert caught.value.field == "space"
    assert caught.value.why == "has no place for an enclosure 85.5 mm high"
    assert "higher space" in caught.value.remedy
    assert caught.value.value == "box of 300 x 300 x 85 mm, 0.5 mm too low"
    tank = "{name: tank, box_mm: [[-1, -1, 40], [301, 301, 60]]}"
    space = f"space: {{box_mm: [300, 300, 90], keep_out: [{tank}]}}\n"
    with pytest.raises(PlanError) as filled:
        designed("4S3P", pack_of("4S3P", space))
    assert str(filled.value.value).endswith("mm, filled by tank")


@pytest.mark.slow
def test_thick_walls_are_refused_with_the_place() -> None:
    """A wall thicker than its hollows are round closes them."""
    with pytest.raises(PlanError, match=r"the hollow at .* would have a radius of -?\d") as caught:
        designed("4S3P", pack_of("4S3P", enclosure="wall_mm: 4"))
    assert caught.value.field == "enclosure.style"


@pytest.mark.slow
def test_leads_leave_where_asked_or_it_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    """In a roomy box to each side; in one that is just wide enough, without quarter turns, they do
    not, and a note names the side that they leave to."""
    for word in ("+x", "-x", "+y", "-y"):
        side = f"leads: {{side: '{word}'}}\n"
        roomy = designed("4S3P", pack_of("4S3P", side + "space: {box_mm: [400, 400, 90]}\n"))
        assert roomy.stand is not None
        (at,) = {hole.side for hole in roomy.holes if hole.purpose.startswith("pack")}
        assert side_after(at, roomy.stand.turn_deg).value == word
        assert not any(note.startswith("leads.side") for note in roomy.notes)
    wide, deep = size_mm(whole(planned("4S3P").pack, sizes_of("4S3P")))
    monkeypatch.setattr(stands, "BOX_TURNS", (0,))
    told = []
    for word in ("+x", "-x", "+y", "-y"):
        box_mm = f"[{wide + 4:.1f}, {deep + 4:.1f}, 90]"
        text = f"leads: {{side: '{word}'}}\nspace: {{box_mm: {box_mm}}}\n"
        tight = designed("4S3P", pack_of("4S3P", text))
        told += [note for note in tight.notes if note.startswith(f"leads.side {word}: nothing")]
    assert 1 <= len(told) <= 3
