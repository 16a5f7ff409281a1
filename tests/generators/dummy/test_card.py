"""Sheets of card: lengths of the outside, card's thickness taken off, and the holes in place."""

from __future__ import annotations

import itertools
import math
from functools import cache

import numpy as np
import pytest
import shapely

from generators.dummy.card import CardLabel, CardPiece, Drill, layers_for, rectangle, with_tab
from generators.dummy.card_parts import drill_plans
from generators.dummy.guide import card_guide
from generators.dummy.making import CardSet, card_set
from generators.dummy.outside import MockupOutside, outside_of
from generators.dummy.sections import closed
from generators.dummy.unfold import walls_of
from generators.making import made_part
from generators.packfile.examples import FIRST, example_text
from generators.packfile.resolve import parse_pack
from layouts.pack import Side
from layouts.planning.pack_plan import PackPlan, plan_pack
from layouts.planning.parts_list import parts_of
from tests.generators.dummy.small import SMALL, dummied
from tests.layouts.planned import frame_holes_mm

CARD = 3.0


def cards(card_mm: float = CARD) -> dict[str, CardPiece]:
    """The small pack's card pieces by name."""
    return {one.name: one for one in whole(card_mm).pieces}


def whole(card_mm: float = CARD, text: str = SMALL) -> CardSet:
    """The same with its blocks."""
    return card_set(dummied(text).plan, dummied(text).outside, card_mm)


@cache
def example() -> tuple[PackPlan, MockupOutside]:
    """The first example's plan and outside."""
    plan = plan_pack(parse_pack(example_text(FIRST).encode(), "pack.yaml").pack)
    parts = [made_part(p) for p in parts_of(plan) if p.role in ("tub", "lid")]
    return plan, outside_of(plan, parts)


@pytest.mark.slow
@pytest.mark.parametrize("card", [0.5, 3.0, 5.0])
def test_walls_floor_and_roof_make_the_outer_box(card: float) -> None:
    """Each wall begins one card inside its corner; floor and lid lie within the walls."""
    shell, found = dummied().plan.enclosure.shell, cards(card)
    x0, y0, x1, y1 = shell.outer.bounds
    for wall in walls_of(shell):
        piece = found[f"wall-{wall.left}"]
        ((ax, ay), (bx, by)) = piece.folds[0]
        right = max(x for x, _ in piece.cuts[0])
        assert ax == bx == pytest.approx(card)
        assert right == pytest.approx(wall.long_mm, abs=1e-9)
        assert by - ay == pytest.approx(shell.z_lid_mm - shell.z_under_mm, abs=1e-9)
    for name in ("floor", "lid"):
        lengths = sorted(math.dist(*fold) for fold in found[name].folds)
        wide, deep = sorted((x1 - x0, y1 - y0))
        expected = [wide - 2 * card, wide - 2 * card, deep - 2 * card, deep - 2 * card]
        assert lengths == pytest.approx(expected)


def test_box_and_blocks_together_are_the_outside() -> None:
    """At every height the box with its blocks is the pack's plan, gaps of 3.5 mm closed."""
    it, set_ = dummied(), whole()
    outer = it.plan.enclosure.sizes.outer
    box = shapely.box(outer.x0, outer.y0, outer.x1, outer.y1)
    slabs = [*it.outside.base_slabs, *it.outside.cap_slabs]
    for z in sorted({(s.z0_mm + s.z1_mm) / 2 for s in slabs}):
        here = [s.plan for s in slabs if s.z0_mm < z < s.z1_mm]
        plan = closed(shapely.union_all([box, *here]), 3.5)
        made = shapely.union_all([box, *(b.plan for b in set_.blocks if b.z0_mm < z < b.z1_mm)])
        # blocks that stand out less than 0.4 mm are none; rounding in gaps makes up the rest
        assert plan.symmetric_difference(made).area < 6.0
        assert plan.area > box.area + 50.0


@pytest.mark.slow
def test_lugs_are_blocks_of_their_own_size() -> None:
    """Where nothing else is near, a pad's block is 34 by 10 and as high as the pad, its strip goes
    round it with tabs. In the first example those on -x; on +x a boss stands beside each."""
    set_ = card_set(*example(), CARD)
    pads = [pad for pad in example()[0].enclosure.pads if pad.side is Side.MINUS_X]
    (high,) = {pad.high_mm for pad in pads}
    found = [
        b for b in set_.blocks
        if np.array(b.spans_mm) @ (-1, 1, 0) == pytest.approx(34.0, abs=0.01)
    ]  # fmt: skip
    assert len(found) == len(pads) == 2
    for block in found:
        assert block.spans_mm[2] == pytest.approx(10.0, abs=0.01)
        assert block.z1_mm - block.z0_mm == pytest.approx(high, abs=0.01)
    around = (34 + 2 * 10 + 2 * 8, high)
    (strip,) = [
        p
        for p in set_.pieces
        if "strip" in p.title and p.size_mm == pytest.approx(around, abs=0.02)
    ]
    assert strip.count == 2
    # set in by one card on its three free sides; against the wall it is cut one card short
    end = (34 - 2 * CARD, 10 - 2 * CARD)
    (ends,) = [
        p for p in set_.pieces if "end" in p.title and p.size_mm == pytest.approx(end, abs=0.02)
    ]
    assert ends.count == 4


def test_strips_have_the_lengths_of_their_blocks() -> None:
    """Between a strip's end folds lies the block's free outline, rounds up to 3 % shorter."""
    # with straight strips no block has a bump that its strip is too stiff to follow
    set_ = whole(text=f"{SMALL}strip: {{joints: links}}\n")
    for piece in set_.pieces:
        if "strip" not in piece.title:
            continue
        number = int(piece.name.split("-")[1])
        block = set_.blocks[number - 1]
        ends = [fold[0][0] for fold in piece.folds]
        left, right, _ = block.spans_mm
        outline = block.plan.exterior.length - (right - left)
        assert 0.95 * outline < max(ends) - min(ends) <= outline + 0.5
        assert max(y for fold in piece.folds for _, y in fold) == pytest.approx(
            block.z1_mm - block.z0_mm, abs=1e-6
        )


def test_holes_in_feet_and_on_the_plan_are_the_frames() -> None:
    """The drilling plan shows every hole of the frame where it is; feet keep their distances."""
    plan = dummied().plan
    (template,) = drill_plans(plan.enclosure.shell, plan.bracket)
    centre = np.array(plan.enclosure.sizes.outer.centre_mm)
    shown = np.array([(d.x_mm, d.y_mm) for d in template.drills]) + centre
    assert shown == pytest.approx(frame_holes_mm(plan.bracket.screws)[:, :2], abs=1e-9)
    foot = cards()["bracket-foot"]
    in_card = [(d.y_mm, d.x_mm) for d in foot.drills]
    assert np.array(in_card) == pytest.approx(np.array(plan.bracket.foot_holes))
    assert foot.size_mm == pytest.approx((plan.bracket.width_mm, plan.bracket.foot_mm))
    assert foot.count == 2 * len(plan.bracket.placed)


def test_a_foots_reach_does_not_hang_on_the_card() -> None:
    """With any card the leg ends at its height, the foot's layers counted."""
    bracket = dummied().plan.bracket
    for card in (0.7, 2.0, 3.0, 7.0):
        leg = cards(card)["bracket-leg"]
        stack = max(1, layers_for(bracket.thickness_mm, card)) * card
        assert leg.size_mm[1] + stack == pytest.approx(bracket.leg_mm)
        holes = [d.y_mm + stack for d in leg.drills]
        assert holes == pytest.approx([up for up, _ in bracket.leg_holes])


def test_outlet_cards_reach_as_far_as_the_wire_needs() -> None:
    """Cap, bend and half the wire before the wall."""
    outlet = dummied().outside.outlets[0]
    (piece,) = [p for name, p in cards().items() if name.startswith("outlet")]
    above = max(y for _, y in piece.cuts[0])
    assert above == pytest.approx(outlet.reach_mm, abs=0.01)
    assert piece.count == len(dummied().outside.outlets)


@pytest.mark.parametrize(
    ("thick", "card", "layers"), [(6, 3, 2), (1.4, 3, 0), (1.5, 3, 1), (4, 3, 1)]
)
def test_layers_come_nearest_to_a_thickness(thick: float, card: float, layers: int) -> None:
    """Less than half a card is left out."""
    assert layers_for(thick, card) == layers


def test_a_tab_stands_outside_a_counter_clockwise_outline() -> None:
    """Right of the way, with slanting ends."""
    (ax, ay), (bx, by) = with_tab((0.0, 0.0), (40.0, 0.0), 12.0)
    assert (ay, by) == (-12.0, -12.0) and (ax, bx) == (4.0, 36.0)


def test_turning_a_piece_keeps_its_lengths() -> None:
    """A quarter turn and a shift move everything alike."""
    piece = CardPiece(
        name="p", title="p", cuts=(rectangle(0, 0, 30, 10),), folds=(((5, 0), (5, 10)),),
        drills=(Drill(x_mm=20, y_mm=5, hole_diameter_mm=4),),
        labels=(CardLabel(x_mm=1, y_mm=2, text="t"),),
    )  # fmt: skip
    there = piece.moved(100.0, 50.0, turned=True)
    assert there.box_mm == (90.0, 50.0, 100.0, 80.0)
    assert (there.drills[0].x_mm, there.drills[0].y_mm) == (95.0, 70.0)
    assert there.labels[0].turned and there.folds[0] == ((100.0, 55.0), (90.0, 55.0))


def test_no_outline_crosses_itself() -> None:
    """Every piece can be cut: its outline is a simple polygon, its labels lie within its box."""
    for piece, card in itertools.product(whole().pieces, (CARD,)):
        assert shapely.Polygon(piece.cuts[0]).is_valid, (piece.name, card)
        x0, y0, x1, y1 = piece.box_mm
        assert all(x0 <= one.x_mm <= x1 and y0 <= one.y_mm <= y1 for one in piece.labels)


def test_the_guide_tells_what_thick_card_leaves_out() -> None:
    """Blocks thinner than half the card are named, and gone from the pieces."""
    it = dummied()
    set_ = whole(8.0)
    text = card_guide(it.plan, set_.pieces, set_.blocks, 8.0)
    named = {line.split()[1] for line in text if line.startswith("block ")}
    thin = {
        str(k)
        for k, b in enumerate(set_.blocks, start=1)
        if min(b.spans_mm[2], b.z1_mm - b.z0_mm) < 4.0
    }
    assert named == thin
    assert any("instead of" in line for line in text)
