"""Packs joined by plates as far as the cell block, and which checks of their joints fail."""

from __future__ import annotations

from generators.packfile.resolve import parse_pack
from layouts.enclosures.gas_way import free_windows_mm2
from layouts.holders.fastening import fastening_checks
from layouts.pack import Face
from layouts.planning.steps import BlockPlan, fastened, interconnected, laid_out
from layouts.strips.checks import strip_checks
from layouts.strips.free_window import LEAST_FREE_MM2
from layouts.strips.lip import positive_end, seat_checks
from layouts.strips.lip_checks import lip_checks

__all__ = ["block_of", "failing"]

CHORDS_MM2 = 0.1  # that chords in place of arcs take off a free opening


def block_of(series: int, parallel: int, lattice: str, cell_format: str) -> BlockPlan:
    """A pack of that size, all else by default but a bed that any holder fits."""
    text = (
        f'name: seed-drill\ncell: {{format: "{cell_format}"}}\nseries: {series}\n'
        f"parallel: {parallel}\nlattice: {lattice}\nstrip: {{joints: plates}}\n"
        "printer: {bed_mm: [400, 400, 300]}\n"
    )
    return fastened(interconnected(laid_out(parse_pack(text.encode(), "x.yaml").pack)))


def failing(block: BlockPlan) -> list[str]:
    """Ids and values of the checks of joints, lip and posts that do not hold."""
    joined = (block.pack, block.cell_layout, block.interconnect)
    checks = [
        *strip_checks(*joined),
        *lip_checks(*joined),
        *seat_checks(*joined),
        *fastening_checks(*joined, block.cell_block),
    ]
    found = [f"{one.id}: {one.value} {one.where}" for one in checks if not one.holds]
    for face in (Face.LOWER, Face.UPPER):
        free = free_windows_mm2(*joined, face)[positive_end(block.cell_layout, face)]
        if free.min(initial=LEAST_FREE_MM2) < LEAST_FREE_MM2 - CHORDS_MM2:
            found.append(f"free opening: {free.min():.1f} mm2 on the {face.value} face")
    return found
