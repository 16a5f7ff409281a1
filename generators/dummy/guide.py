"""Instructions to the builder: how the printed mock-up and the one of card are put together."""

from __future__ import annotations

from collections.abc import Sequence

from generators.dummy.card import CardPiece, layers_for
from generators.dummy.card_parts import stack_of
from generators.dummy.pieces import PrintedPiece
from generators.dummy.shell import PrintLines
from generators.dummy.unfold import WallProjection
from layouts.planning.pack_plan import PackPlan

__all__ = ["card_guide", "print_guide"]


def print_guide(plan: PackPlan, pieces: Sequence[PrintedPiece], lines: PrintLines) -> list[str]:
    """Slicer settings, pieces, and the order of work."""
    return [
        f"{plan.pack.name}: fit-up mock-up to print",
        "",
        f"Slicer: layers of {lines.layer_mm:g} mm, lines {lines.wall_mm:g} mm wide, one wall line, "
        "thin walls on, no infill, no top or bottom beyond what is drawn, no support.",
        "Every file is in print orientation; plates/ has one file for each bed, all on their "
        "places.",
        "",
        "Pieces:",
        *(f"  {one.count} x {one.name}: {one.note}" for one in pieces),
        "",
        "Order:",
        "  1. Put the cap on the base, its collar inside the wall. Tape it all around.",
        "  2. Press the long plugs through each bracket into the mounting pad behind it.",
        "  3. Press the short plugs into the holes of the cap. Real screws work as well.",
        "  4. Put the crosses of the cable outlets into the holes of the wall, the bend gauges "
        "into their slots, and turn them to where the leads will go.",
        "  5. Try the fit. Mark the frame through the brackets' holes.",
        "",
        (
            f"The brackets reach {plan.bracket.stand_mm:g} mm below the base: stand the mock-up "
            "on them."
        ),
        "The frame screws are omitted, so that their holes can be marked through; keep the "
        "clearance above them free for screw heads and driver.",
        "Drains and gas slots are as deep as the wall that they pass through; gaps under 3 mm "
        "are closed.",
    ]


def card_guide(
    plan: PackPlan, pieces: Sequence[CardPiece], blocks: Sequence[WallProjection], card_mm: float
) -> list[str]:
    """Pieces, order of work, and what the card leaves out."""
    bracket, shell = plan.bracket, plan.enclosure.shell
    how, *off = bracket.card_words(stack_of(card_mm))
    left_out = [
        f"block {number} on the {block.wall.name} wall protrudes {block.spans_mm[2]:.1f} mm"
        for number, block in enumerate(blocks, start=1)
        if min(block.spans_mm[2], block.z1_mm - block.z0_mm) <= 1.5 * card_mm
        and not layers_for(min(block.spans_mm[2], block.z1_mm - block.z0_mm), card_mm)
    ]
    text = [
        f"For card {card_mm:g} mm thick. Print at 100 %, measure the bar on a sheet, glue the "
        "sheets on the card (or trace them), cut, score and fold.",
        "Printed sides are the outside. Score folds half through from the inside, so that the "
        "outer skin stays intact: lengths are exact on the outside.",
        "Order:",
        "1. Glue each wall's tab inside the wall with the same number, its edge against that "
        "wall's inner face; the far end is flush with the outside of the next wall.",
        "2. Glue floor and lid between the walls, flush with their edges, tabs inwards.",
        "3. Fold each block's strip, insert its ends, and glue it where its number is drawn on "
        "a wall. A block without ends needs only the strip.",
        f"4. {how}",
        "5. Glue discs (or screws) on the rings of lid and blocks, and on the crosses of the legs.",
        "6. Glue each cable outlet's tab on its ring, turned to where the lead goes: the dotted "
        "arc is the inner side of the lead, the card inside it may be cut away.",
        "7. Lay the paper drilling plan on the frame, or mark through the feet: circles are the "
        "holes of the feet.",
        "What differs from the pack:",
        f"Vertical corners are sharp; the pack's have a radius of {shell.corner_radius_mm:.1f} "
        "mm. Curves of blocks are facets up to 0.3 mm inside the curve.",
        "The gap behind the lid's drip skirts is closed; drains and slots are not cut.",
        (
            "The frame screws are omitted: keep the clearance above the feet free for screw "
            "heads and driver."
        ),
    ]
    text += off
    if left_out:
        text += ["Omitted, thinner than half the card:", *left_out]
    text.append("Pieces:")
    text += [f"{one.count} x {one.title}" for one in pieces]
    return text
