"""Every part of a plan, drawn; the kernel is not needed for it."""

from __future__ import annotations

from collections.abc import Iterable

from layouts.holders.barrier_drawing import barrier_part
from layouts.holders.drawing import holder_part
from layouts.parts.cut_plates import cut_plate_piece
from layouts.parts.metal_piece import MetalPiece
from layouts.parts.part import Part
from layouts.planning.steps import HolderPlan, OutsidePlan

__all__ = ["enclosure_set_parts", "metal_pieces", "parts_of"]


def parts_of(plan: HolderPlan) -> Iterable[Part]:
    """Every part of a plan, printed or bent from sheet metal, drawn on demand."""
    for tile in plan.tiles:
        yield holder_part(tile, lip_to_lip_mm=plan.pack.lip_to_lip_mm)
    for barrier in plan.barriers:
        yield barrier_part(barrier)
    yield from enclosure_set_parts(plan)


def enclosure_set_parts(plan: OutsidePlan) -> Iterable[Part]:
    """Tub, lid and brackets, likewise; none where the pack has no enclosure of its own."""
    if plan.enclosure_set is None:
        return
    yield from plan.enclosure.parts
    yield from plan.bracket.parts


def metal_pieces(plan: OutsidePlan) -> tuple[MetalPiece, ...]:
    """Every piece that is cut from sheet metal."""
    bent = (part.sheet for part in enclosure_set_parts(plan))
    flat = (cut_plate_piece(plate) for plate in plan.pack.plates_to_cut)
    return (*(one for one in bent if one is not None), *flat)
