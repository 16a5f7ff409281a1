"""What the builder is told: how the printed dummy and the one of card are put together."""

from __future__ import annotations

from collections.abc import Sequence

from generators.dummy.card import CardPiece, layers_for
from generators.dummy.card_parts import stack_of
from generators.dummy.pieces import Piece
from generators.dummy.shell import Lines
from generators.dummy.unfold import Block
from layouts.planning.pack_plan import PackPlan

SAME_MM = 1e-6

__all__ = ["card_guide", "print_guide"]


def print_guide(plan: PackPlan, pieces: Sequence[Piece], lines: Lines) -> list[str]:
    """Slicer settings, pieces, and the order of work."""
    return [
        f"{plan.pack.name}: dummy to print",
        "",
        f"Slicer: layers of {lines.layer_mm:g} mm, lines {lines.wall_mm:g} mm wide, one wall line, "
        "thin walls on, no infill, no top or bottom beyond what is drawn, no support.",
        "Every file lies as it is printed; plates.3mf has them all on the bed.",
        "",
        "Pieces:",
        *(f"  {one.count} x {one.name}: {one.note}" for one in pieces),
        "",
        "Order:",
        "  1. Put the cap into the base; its collar goes inside the wall. Tape it all round.",
        "  2. Press the long buttons through each bracket into the lug behind it.",
        "  3. Press the short buttons into the holes of the cap. Real screws do as well.",
        "  4. Put the outlets' crosses into the wall's holes, the bends into their slits, and turn "
        "them to where the wires will go.",
        "  5. Try the fit. Mark the frame through the brackets' holes.",
        "",
        f"The brackets reach {plan.bracket.stand_mm:g} mm below the base: stand the dummy on them.",
        "The frame's own screws are left out, so that their holes can be marked through; keep the "
        "room over them free for heads and key.",
        "Outside and inside voids: drains and gas slots are as deep as the wall that they go "
        "through; gaps under 3 mm are closed.",
    ]


def card_guide(
    plan: PackPlan, pieces: Sequence[CardPiece], blocks: Sequence[Block], card_mm: float
) -> list[str]:
    """Pieces, order of work, and what the card leaves out."""
    bracket, shell = plan.bracket, plan.enclosure.shell
    how, *off = bracket.card_words(stack_of(card_mm))
    left_out = [
        f"block {number} on the {block.wall.name} wall stands out {block.spans_mm[2]:.1f} mm"
        for number, block in enumerate(blocks, start=1)
        if min(block.spans_mm[2], block.z1_mm - block.z0_mm) <= 1.5 * card_mm
        and not layers_for(min(block.spans_mm[2], block.z1_mm - block.z0_mm), card_mm)
    ]
    text = [
        f"For card {card_mm:g} mm thick. Print at 100 %, measure the bar on a sheet, glue the "
        "sheets on the card (or trace them), cut, score and fold.",
        "Printed sides are outsides. Score folds half through from the inside, so that the outer "
        "skin stays whole: lengths are true on the outside.",
        "Order:",
        "1. Each wall's tab is glued inside the wall with the same number, its edge against that "
        "wall's inner face; the far end is flush with the outside of the next wall.",
        "2. Floor and roof go between the walls, flush with their edges, tabs inwards.",
        "3. Fold each block's strip, set its ends in, and glue it where its number is drawn on a "
        "wall. Of a block without ends only the strip is needed.",
        f"4. {how}",
        "5. Glue discs (or screws) on the rings of roof and blocks, and on the legs' crosses.",
        "6. Glue each outlet's tab on its ring, turned to where the wire goes: the dotted arc is "
        "the wire's inner side, what lies within it may be cut away.",
        "7. Lay the paper drilling plan on the frame, or mark through the feet: circles are the "
        "feet's own holes.",
        "What differs from the pack:",
        f"Upright corners are sharp; the pack's are rounded by {shell.corner_radius_mm:.1f} mm. "
        "Rounds of blocks are facets up to 0.3 mm inside the round.",
        "The gap behind the lid's skirts is closed; drains and slots are not cut.",
        "The frame's own screws are left out: keep the room over the feet free for heads and key.",
    ]
    text += off
    if left_out:
        text += ["Left out as thinner than half the card:", *left_out]
    text.append("Pieces:")
    text += [f"{one.count} x {one.title}" for one in pieces]
    return text
