"""Tub and lid as numbers: nothing in each other's way, and every check able to fail."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
import shapely

from layouts.brackets.registry import kind_of
from layouts.enclosures.box.checks import (
    cell_block_held,
    enclosure_checks,
    enclosure_room,
    lid_screw_spacing,
    outlet_bend,
)
from layouts.enclosures.box.design import design_enclosure
from layouts.enclosures.box.shapes import boss_shape, standing_shape
from layouts.enclosures.box.tub import tub_drawing
from layouts.enclosures.support_pads import SupportPad, support_pads_clear
from layouts.errors import PlanError
from layouts.holders.shape import cell_block_shape
from layouts.pack import Side
from layouts.parts.outlet import GLANDS, gland_for
from layouts.parts.screw import screw_uses
from layouts.parts.shell import box, disc, shifted
from tests.layouts.enclosed import PACKS, Enclosed, enclosed, enclosed_pack
from tests.samples import sample_pack


@pytest.fixture(params=PACKS)
def one(request: pytest.FixtureRequest) -> Enclosed:
    """Each invented pack in turn."""
    return enclosed(request.param)


def test_every_check_of_a_plain_pack_holds(one: Enclosed) -> None:
    """The design meets its own checks, small packs too."""
    checks = enclosure_checks(
        one.pack, one.cell_layout, one.interconnect, one.cell_block, one.design
    )
    assert [c.id for c in checks if not c.holds] == []
    cut = one.design.tub_seams.pieces + one.design.lid_seams.pieces > 2
    assert len({c.id for c in checks}) == (7 if cut else 5)


def test_core_goes_straight_down(one: Enclosed) -> None:
    """Nothing that stands in the tub lies under the held cells or the strips that run out."""
    tails = [shapely.Polygon(s.outline_mm) for s in one.interconnect.strips if s.runs_out]
    way = shapely.union_all([cell_block_shape(one.cell_block.outline), *tails])
    standing = standing_shape(one.design).union(box(one.design.bay.board))
    assert way.intersection(standing).area == 0.0
    assert shapely.distance(way, standing) > 0.25


def test_core_meets_a_column_when_pushed(one: Enclosed) -> None:
    """The bosses hold the cell block: 1.6 mm any of eight ways runs into one or a wall."""
    cell_block, standing = cell_block_shape(one.cell_block.outline), standing_shape(one.design)
    for k in range(8):
        way = shifted(cell_block, 2.3 * math.cos(k * math.pi / 4), 2.3 * math.sin(k * math.pi / 4))
        assert way.intersects(standing), f"free to slide at {45 * k} degrees"


def test_columns_stay_clear_of_each_other_board_glands_and_lug_bores(one: Enclosed) -> None:
    """No boss meets another, the board, a gland's nut; no lid insert meets a pad's bore."""
    d = one.design
    for k, boss in enumerate(d.bosses):
        for other in d.bosses[:k]:
            apart = math.dist((boss.x_mm, boss.y_mm), (other.x_mm, other.y_mm))
            assert apart > boss.radius_mm + other.radius_mm
        assert not boss_shape(boss).intersects(box(d.bay.board))
        if boss.x_mm > d.cavity.x1 - 14.0:
            for gland in d.glands:
                assert abs(gland.y_mm - boss.y_mm) > gland.keep_radius_mm + boss.radius_mm
    pad_top = max(pad.underside_mm + pad.up_mm + d.pad_hole_radius_mm for pad in d.pads)
    assert d.z_rim_mm - d.insert_deep_mm > pad_top


def test_every_column_is_one_with_a_wall(one: Enclosed) -> None:
    """Each boss, with its web, overlaps the walls by more than a thin line."""
    d = one.design
    walls = box(d.outer).difference(box(d.cavity))
    for boss in d.bosses:
        assert boss_shape(boss).intersection(walls).area > 4.0


def test_glands_find_a_flat_free_wall(one: Enclosed) -> None:
    """Glands' nuts clear mounting pads with their brackets, slots, drip skirts, floor, board and
    each other.
    """
    d, half = one.design, kind_of(one.pack).wall_mm(one.pack) / 2
    for k, gland in enumerate(d.glands):
        assert gland.z_mm + gland.keep_radius_mm < d.z_rim_mm - d.skirt_deep_mm
        assert gland.z_mm - gland.keep_radius_mm > d.z_floor_mm
        for other in d.glands[:k]:
            apart = math.dist((gland.y_mm, gland.z_mm), (other.y_mm, other.z_mm))
            assert apart > gland.keep_radius_mm + other.keep_radius_mm
        for pad in (pad for pad in d.pads if pad.side is Side.PLUS_X):
            above = gland.z_mm - gland.keep_radius_mm > pad.underside_mm + pad.high_mm
            assert above or abs(gland.y_mm - pad.along_mm) > half + gland.keep_radius_mm
        board = d.bay.board
        beside = (
            gland.y_mm + gland.keep_radius_mm < board.y0
            or gland.y_mm - gland.keep_radius_mm > board.y1
        )
        assert beside or gland.z_mm - gland.keep_radius_mm > d.bay.z1_mm
    assert [g.purpose for g in d.glands[:2]] == ["pack minus", "pack plus"]


def test_gland_of_a_thicker_wire_is_larger_and_a_monster_is_refused() -> None:
    """The gland follows the wire, and none is invented where none is known."""
    sizes = [gland_for(one.wire_mm).size for one in GLANDS]
    assert sizes == ["M12", "M16", "M20", "M25", "M32"]
    with pytest.raises(PlanError, match=r"leads\.outside_mm: is above 21.*\(22\)"):
        gland_for(22.0)


def test_slots_lie_behind_skirts_and_skirts_cover_their_lower_edge(one: Enclosed) -> None:
    """Splash from the side or above never sees a slot."""
    d = one.design
    assert d.skirt_deep_mm >= d.z_rim_mm - d.slot_z0_mm + 4.0
    for slot in d.slots:
        cover = [s for s in d.skirts if s.side == slot.side and s.y0_mm < slot.y0_mm < s.y1_mm]
        assert len(cover) == 1
        assert cover[0].y0_mm + d.skirt_mm < slot.y0_mm and slot.y1_mm < cover[0].y1_mm - d.skirt_mm
    assert {slot.side for slot in d.slots} == {-1, 1}


def test_board_never_stands_before_the_slots_however_high() -> None:
    """A higher board makes the tub higher, and the lid's pads still reach the stack."""
    pack = sample_pack(5, 1)
    high = replace(pack, bms=replace(pack.bms, board_mm=(80.0, 95.0, 10.0)))
    d = enclosed_pack(high).design
    assert d.bay.z1_mm < d.slot_z0_mm
    upper = high.lip_to_lip_mm + high.holder.lip_mm
    assert d.z_rim_mm - d.support_pad_lid_mm == pytest.approx(upper + 0.1)
    assert d.z_rim_mm > enclosed("5S1P").design.z_rim_mm + 25.0


def test_long_board_makes_the_tub_longer_and_says_so() -> None:
    """One cell with a 60 mm board: the compartment decides, the cell block stays held."""
    d = enclosed("1S1P").design
    assert d.cavity.size_mm[1] > 60.0
    assert any("longer than the held cells need" in note for note in d.notes)


def test_drains_go_through_bare_floor(one: Enclosed) -> None:
    """No drain meets a boss, pad or rest, and each corner of the floor has one or two do."""
    d = one.design
    assert len(d.drains) >= 3
    for drain in d.drains:
        hole = disc(drain.x_mm, drain.y_mm, drain.radius_mm)
        assert box(d.cavity).contains(hole)
        for boss in d.bosses:
            assert not hole.intersects(boss_shape(boss))
        for support_pad in d.support_pads_floor:
            assert not hole.intersects(
                disc(support_pad.x_mm, support_pad.y_mm, support_pad.radius_mm)
            )
        for rest in d.bay.rests:
            assert not hole.intersects(box(rest))


def test_long_sides_carry_two_lugs_and_short_ones_one() -> None:
    """The number of brackets follows the tub's length."""
    assert len(enclosed("10S4P").design.pads) == 4
    assert len(enclosed("1S1P").design.pads) == 2


def test_closed_enclosure_is_refused_with_the_reason() -> None:
    """No vent is promised that nobody has computed."""
    e = enclosed("5S1P")
    closed = replace(e.pack, enclosure=replace(e.pack.enclosure, vent="closed"))
    with pytest.raises(PlanError, match=r"enclosure\.vent: can't be made"):
        design_enclosure(closed, e.cell_layout, e.interconnect, e.cell_block)


def test_two_runs_are_equal() -> None:
    """Same pack, same numbers."""
    e = enclosed("5S1P")
    again = design_enclosure(e.pack, e.cell_layout, e.interconnect, e.cell_block)
    assert again == e.design


def test_lid_screw_spacing_fails_without_one_screw() -> None:
    """Taking one screw out leaves a gap above 70 mm."""
    d = enclosed("10S4P").design
    corner = min((b for b in d.bosses if b.screw), key=lambda b: b.x_mm + b.y_mm)
    fewer = tuple(b for b in d.bosses if b is not corner)
    assert not lid_screw_spacing(replace(d, bosses=fewer)).holds
    assert not lid_screw_spacing(replace(d, bosses=fewer[:2])).holds


def test_enclosure_room_fails_when_a_wall_moves_in() -> None:
    """A cavity 1.2 mm narrower at -x touches the cell block."""
    e = enclosed("10S4P")
    c = e.design.cavity
    check = enclosure_room(
        e.pack, e.interconnect, e.cell_block, replace(e.design, cavity=replace(c, x0=c.x0 + 1.2))
    )
    assert not check.holds and check.value is not None and check.value < 0.27


def test_enclosure_room_fails_when_a_column_stands_in_the_core() -> None:
    """A boss 2 mm off its hollow is met on the way down."""
    e = enclosed("10S4P")
    seat = next(b for b in e.design.bosses if b.seat)
    moved = tuple(
        replace(b, y_mm=b.y_mm + 3.0, x_mm=b.x_mm + 3.0) if b is seat else b
        for b in e.design.bosses
    )
    assert not enclosure_room(
        e.pack, e.interconnect, e.cell_block, replace(e.design, bosses=moved)
    ).holds


def test_core_held_fails_without_columns() -> None:
    """Without bosses the cell block slides into the board's compartment."""
    e = enclosed("10S4P")
    check = cell_block_held(e.cell_block, replace(e.design, bosses=()))
    assert not check.holds and check.where == "towards +x"


def test_pads_clear_fails_for_a_pad_over_a_can_and_for_too_few() -> None:
    """A pad over a can end is found, and so is a lid with hardly any."""
    e = enclosed("10S4P")
    x, y = e.cell_layout.xy_mm[7]
    bad = SupportPad(x_mm=float(x) + 8.0, y_mm=float(y), radius_mm=2.0, hole_radius_mm=0.0)
    over = replace(e.design, support_pads_floor=(*e.design.support_pads_floor, bad))
    assert not support_pads_clear(e.pack, e.cell_layout, e.interconnect, over.support_pads).holds
    few = replace(e.design, support_pads_lid=e.design.support_pads_lid[:2])
    assert not support_pads_clear(e.pack, e.cell_layout, e.interconnect, few.support_pads).holds


def test_outlet_bend_fails_in_a_shallow_room() -> None:
    """A compartment shallower than four outside diameters is reported."""
    e = enclosed("10S4P")
    assert not outlet_bend(e.pack, replace(e.design, bend_room_mm=25.0)).holds


@pytest.mark.parametrize("insert_mm", [3.0, 8.0])
def test_inserts_of_another_length_change_holes_screws_and_bill(insert_mm: float) -> None:
    """Holes in bosses are 0.5 deeper than the insert, in the tub and among its metal."""
    usual = enclosed("5S1P")
    case = replace(usual.pack.enclosure, insert_mm=insert_mm)
    other = enclosed_pack(replace(usual.pack, enclosure=case))
    assert usual.design.insert_deep_mm == 6.2
    assert other.design.insert_deep_mm == insert_mm + 0.5
    screws = sum(boss.screw for boss in usual.design.bosses)
    changed_mm3 = tub_drawing(usual.design).body.volume_mm3() - (
        tub_drawing(other.design).body.volume_mm3()
    )
    hole_mm2 = math.pi * usual.design.insert_radius_mm**2
    assert changed_mm3 == pytest.approx(screws * hole_mm2 * (insert_mm - 5.7), rel=1e-6)
    lid = [one for one in other.enclosure.screws if one.where == "lid to tub"]
    assert {one.hole_deep_mm for one in lid} == {insert_mm + 0.5}
    assert {use.insert_hole_deep_mm for use in screw_uses(lid)} == {insert_mm + 0.5}
    pad_top = max(p.underside_mm + p.up_mm + other.design.pad_hole_radius_mm
                  for p in other.design.pads)  # fmt: skip
    assert other.design.z_rim_mm - other.design.insert_deep_mm > pad_top


def test_a_lid_that_no_screw_suits_is_refused_with_one_that_is_suited() -> None:
    """A short insert takes one length alone; the remedy is a thinner lid that has its screw."""
    usual = enclosed("5S1P")
    case = replace(usual.pack.enclosure, insert_mm=3.0, lid_mm=3.5)
    with pytest.raises(PlanError, match="insert of 3 mm") as caught:
        enclosed_pack(replace(usual.pack, enclosure=case))
    lid_mm = float(caught.value.remedy.removeprefix("use "))
    enclosed_pack(replace(usual.pack, enclosure=replace(case, lid_mm=lid_mm)))
