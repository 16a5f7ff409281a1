"""Every printed part of a plan, drawn; the kernel is not needed for it."""

from __future__ import annotations

from collections.abc import Iterable

from generators.parts.barrier import barrier_part
from generators.parts.bracket import bracket_part
from generators.parts.holder import holder_part
from generators.parts.lid import lid_parts
from generators.parts.part import Part
from generators.parts.tub import tub_parts
from layouts.pack_plan import PackPlan

__all__ = ["CHORD_MM", "parts_of"]

# Chords stand off their arcs by at most this; polygons keep the arc's own area besides.
CHORD_MM = 0.02


def parts_of(plan: PackPlan) -> Iterable[Part]:
    """Every printed part of a plan, drawn when it is asked for."""
    for tile in plan.tiles:
        yield holder_part(tile, lip_to_lip_mm=plan.pack.lip_to_lip_mm)
    for barrier in plan.barriers:
        yield barrier_part(barrier)
    if plan.housing is None:
        return
    yield from tub_parts(plan.enclosure)
    yield from lid_parts(plan.enclosure)
    if plan.bracket.placed:
        yield bracket_part(plan.bracket)
