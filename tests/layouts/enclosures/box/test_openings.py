"""What the box leaves open and what stands before it: slots, skirts, drains, pads, board."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace

import pytest
import shapely

from layouts.brackets.registry import kind_of
from layouts.enclosures.box.checks import (
    enclosure_room,
    lid_screw_spacing,
    screws_round,
)
from layouts.enclosures.box.design import design_enclosure
from layouts.enclosures.box.gas import opening
from layouts.enclosures.support_pads import support_pads_clear
from layouts.holders.shape import cell_block_shape
from layouts.pack import Face, Side
from layouts.parts.outlet import gland_for
from layouts.parts.shell import box
from tests.layouts.enclosed import PACKS, Enclosed, enclosed


@pytest.fixture(params=PACKS)
def one(request: pytest.FixtureRequest) -> Enclosed:
    """Each of the packs."""
    return enclosed(request.param)


def test_the_board_s_bay_is_the_board(one: Enclosed) -> None:
    """As long, high and thick as the pack file says, on its rests, between its guides."""
    long, high, thick = one.pack.bms.board_mm
    bay = one.design.bay
    assert bay.board.size_mm == pytest.approx((thick, long))
    assert bay.z1_mm - bay.z0_mm == pytest.approx(high)
    assert one.design.z_floor_mm < bay.z0_mm and bay.z1_mm < one.design.z_rim_mm
    low, top = min(g.y0 for g in bay.guides), max(g.y1 for g in bay.guides)
    assert low < bay.board.y0 and bay.board.y1 < top
    for guide in bay.guides:
        assert not box(guide).contains(box(bay.board).centroid)


def test_slots_of_a_wall_are_cut_by_teeth_alone(one: Enclosed) -> None:
    """5 to 14 mm wide with 4 mm of wall between two, none before a boss, both walls alike used."""
    d = one.design
    for side in (-1, 1):
        slots = sorted((s for s in d.slots if s.side == side), key=lambda s: s.y0_mm)
        assert slots
        assert all(5.0 - 1e-9 <= s.y1_mm - s.y0_mm <= 14.0 + 1e-9 for s in slots)
        for a, b in itertools.pairwise(slots):
            assert b.y0_mm - a.y1_mm >= 4.0 - 1e-9
        face = d.cavity.x1 if side > 0 else d.cavity.x0
        for boss in d.bosses:
            if abs(boss.x_mm - face) < boss.radius_mm:
                for slot in slots:
                    off = max(slot.y0_mm - boss.y_mm, boss.y_mm - slot.y1_mm)
                    assert off >= boss.radius_mm + 1.5 - 1e-9


def test_gas_behind_skirts_passes_between_their_ends(one: Enclosed) -> None:
    """Each skirt's inner length, its two ends taken off, times the gap behind it."""
    d = one.design
    for side in (-1, 1):
        mine = [s for s in d.skirts if s.side == side]
        inner = sum(s.y1_mm - s.y0_mm - 2 * 2.0 for s in mine)
        assert opening(d, side).behind_mm2 == pytest.approx(inner * d.skirt_gap_mm)


def test_drains_and_pads_are_as_wide_as_they_need(one: Enclosed) -> None:
    """Drains 5 mm wide, 1 mm of floor round each; rings of pads at least three lines wide."""
    d = one.design
    for drain in d.drains:
        assert drain.radius_mm == 2.5
        assert box(d.cavity).exterior.distance(shapely.Point(drain.x_mm, drain.y_mm)) >= 3.5
    for pad in (*d.support_pads_floor, *d.support_pads_lid):
        assert pad.hole_radius_mm == 0.0 or pad.radius_mm - pad.hole_radius_mm >= 1.2 - 1e-3


def test_pads_press_on_plain_plastic_up_to_the_channels(one: Enclosed) -> None:
    """Clear of each strip's channel, its play on both sides, and as large as that leaves."""
    d, play = one.design, one.pack.holder.channel_play_mm / 2
    for face, pads in ((Face.LOWER, d.support_pads_floor), (Face.UPPER, d.support_pads_lid)):
        strips = shapely.union_all(
            [shapely.Polygon(s.outline_mm) for s in one.interconnect.strips if s.face is face]
        )
        for pad in pads:
            away = strips.distance(shapely.Point(pad.x_mm, pad.y_mm))
            assert away - pad.radius_mm >= play - 1e-3


def test_glands_stand_as_near_their_leads_as_the_wall_leaves(one: Enclosed) -> None:
    """Of two main leads each is nearer to its own strips' end than the other is, on free wall."""
    d = one.design
    minus, plus = d.glands[:2]
    half = kind_of(one.pack).wall_mm(one.pack) / 2
    for gland in (minus, plus):
        keep = gland_for(one.pack.leads.outside_mm).keep_radius_mm
        assert gland.keep_radius_mm == keep
        assert d.cavity.y0 + keep < gland.y_mm < d.cavity.y1 - keep
        for pad in (pad for pad in d.pads if pad.side is Side.PLUS_X):
            beside = abs(gland.y_mm - pad.along_mm) > half + keep + 1.0
            assert beside or gland.z_mm > pad.underside_mm + pad.high_mm + keep + 1.0
        board = d.bay
        guides_low = min(g.y0 for g in board.guides)
        guides_high = max(g.y1 for g in board.guides)
        beside = gland.y_mm < guides_low - keep - 1.0 or gland.y_mm > guides_high + keep + 1.0
        assert beside or gland.z_mm > board.z1_mm + keep + 1.0


def test_few_screws_are_as_far_apart_as_the_rim_is_long() -> None:
    """Two screws hold no lid: the whole way round counts, and no place is told; three do."""
    d = enclosed("10S4P").design
    screws = screws_round(d)
    two = lid_screw_spacing(replace(d, bosses=tuple(screws[:2])))
    assert not two.holds and two.where == ""
    assert two.value == pytest.approx(2 * sum(d.cavity.size_mm))
    three = lid_screw_spacing(replace(d, bosses=tuple(screws[:3])))
    places = [(b.x_mm, b.y_mm) for b in screws[:3]]
    gaps = [math.dist(a, b) for a, b in itertools.combinations(places, 2)]
    assert three.value == pytest.approx(max(gaps)) and three.where


def test_two_pads_a_face_are_too_few() -> None:
    """Told as a fault with its own place, whatever room the two have."""
    e = enclosed("10S4P")
    few = replace(e.design, support_pads_lid=e.design.support_pads_lid[:2])
    check = support_pads_clear(e.pack, e.cell_layout, e.interconnect, few.support_pads)
    assert not check.holds and check.where == "upper face has 2 pads, 3 at least"
    assert check.value is not None and check.value < 0.0


@pytest.mark.parametrize("name", ["10S4P", "4S6P", "1S1P"])
def test_lid_bosses_are_listed_round_the_rim(name: str) -> None:
    """Counter-clockwise from the -x-y corner, as the report counts them."""
    d = enclosed(name).design
    assert [b for b in d.bosses if b.screw] == screws_round(d)


@pytest.mark.parametrize("name", ["10S4P", "4S6P"])
def test_hollows_on_both_long_sides_carry_lid_screws(name: str) -> None:
    """At -y and +y alike, and none at +x, where board and glands are."""
    d = enclosed(name).design
    seats = [b for b in d.bosses if b.seat and b.screw]
    low, high = (
        [b for b in seats if abs(b.y_mm - y) < 5.0 and b.x_mm > d.cavity.x0 + 8.0]
        for y in (d.cavity.y0, d.cavity.y1)
    )
    assert len(low) == len(high) >= 2
    assert not [b for b in seats if b.x_mm > d.cavity.x1 - 20.0]


def test_a_pad_s_ring_gives_way_to_a_strip_and_is_left_out_where_little_stays() -> None:
    """A strip beside a post: 1.3 mm of ring round the screw's 3.3 mm stay, 1.1 mm do not."""
    e = enclosed("10S4P")
    play = e.pack.holder.channel_play_mm / 2
    rings = [p for p in e.design.support_pads_floor if p.hole_radius_mm and p.radius_mm >= 4.65]
    pad = rings[0]
    some = next(s for s in e.interconnect.strips if s.face is Face.LOWER)
    for ring_mm, kept in ((1.3, True), (1.1, False)):
        radius = 3.3 + ring_mm
        x = pad.x_mm + radius + play + 0.05 + 4.0
        beside = replace(
            some, start_mm=(x, pad.y_mm - 1.0), end_mm=(x, pad.y_mm + 1.0), width_mm=8.0
        )
        strips = replace(e.interconnect, strips=(*e.interconnect.strips, beside))
        design = design_enclosure(e.pack, e.cell_layout, strips, e.cell_block)
        found = [
            p
            for p in design.support_pads_floor
            if math.dist((p.x_mm, p.y_mm), (pad.x_mm, pad.y_mm)) < 1e-6
        ]
        assert [p.radius_mm for p in found] == ([pytest.approx(radius, abs=2e-3)] if kept else [])


def test_mounting_pads_stand_out_alike_on_both_sides(one: Enclosed) -> None:
    """Of the walls at -x and +x, at the same places along them."""
    d = one.design
    out = {
        side: {
            (round(pad.along_mm, 6), round(pad.face_mm - (inside + d.wall_mm), 6))
            for pad in d.pads
            if pad.side is side
        }
        for side, inside in ((Side.PLUS_X, d.cavity.x1), (Side.MINUS_X, -d.cavity.x0))
    }
    assert out[Side.PLUS_X] == out[Side.MINUS_X] and out[Side.PLUS_X]
    assert all(mm > 1.0 for _, mm in out[Side.PLUS_X])


def test_the_cell_block_is_pressed_between_its_posts_too() -> None:
    """Pads in the hollows of a longer block, no nearer to each other than 24 mm."""
    block = enclosed("10S4P").cell_block
    for saddles in (block.saddles_lower, block.saddles_upper):
        assert len(saddles) >= 3
        for a, b in itertools.combinations(saddles.tolist(), 2):
            assert math.dist(a, b) >= 24.0 - 1e-9


@pytest.mark.parametrize(("gap_mm", "holds"), [(0.29, True), (0.25, False)])
def test_the_cell_block_goes_in_with_three_tenths_less_a_chord(gap_mm: float, holds: bool) -> None:
    """The -x wall moved up to it: just below 0.3 mm is a chord's error, 0.05 less is not."""
    e = enclosed("4S6P")
    edge = cell_block_shape(e.cell_block.outline).bounds[0]
    moved = replace(e.design, cavity=replace(e.design.cavity, x0=edge - gap_mm))
    check = enclosure_room(e.pack, e.interconnect, e.cell_block, moved)
    assert check.value == pytest.approx(gap_mm, abs=0.01) and check.holds is holds
