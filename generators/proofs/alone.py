"""Every part alone: its mesh against its solid and its drawing, and on the bed."""

from __future__ import annotations

from collections.abc import Sequence

from generators.made_part import MadePart, chord_bound_mm3
from generators.proofs.meshes import MeshFacts, mesh_checks
from layouts.checks import Check, worst_of
from layouts.parts.drawing import CHORD_MM

__all__ = ["alone_checks", "part_checks"]

# Sums of many faces' shares differ by float noise, also where no arc is.
SUM_NOISE = 1e-9


def alone_checks(
    made: Sequence[MadePart], facts: Sequence[MeshFacts], bed_mm: tuple[float, float, float]
) -> tuple[Check, ...]:
    """One check a kind stands for all parts, the worst of them named; ``facts``: as ``made``."""
    return worst_of(
        check
        for one, measured in zip(made, facts, strict=True)
        for check in part_checks(one, measured, bed_mm)
    )


def part_checks(
    made: MadePart, facts: MeshFacts, bed_mm: tuple[float, float, float]
) -> tuple[Check, ...]:
    """All proofs of one part."""
    return mesh_checks(
        facts,
        solid_mm3=made.solid_mm3,
        drawn_mm3=made.part.drawing.volume_mm3(),
        chord_bound_mm3=chord_bound_mm3(made.part.drawing, CHORD_MM) + SUM_NOISE * made.solid_mm3,
        bed_mm=bed_mm if made.part.is_printed else None,
    )
