"""Screws of straps across seams: as placed, as the gas sees their nuts, and the steps to join
pieces."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from layouts.enclosures.fitted.sizes import FittedSizes
from layouts.enclosures.fitted.splices import PartCuts
from layouts.formats import screws
from layouts.pack import Face
from layouts.parts.fasteners import Into
from layouts.parts.screw import PlacedScrew

__all__ = ["nut_discs", "splice_screws", "splice_steps"]


def splice_screws(sizes: FittedSizes) -> tuple[PlacedScrew, ...]:
    """From outside through strap and floor (lid) into nuts inside."""
    levels, splices = sizes.shell.levels, sizes.splices
    return (
        *_placed(splices.tub, "tub", splices.screw, levels.under_mm, -1.0,
                 levels.floor_mm - levels.under_mm),
        *_placed(splices.lid, "lid", splices.screw, levels.lid_mm, 1.0,
                 levels.lid_mm - levels.rim_mm),
    )  # fmt: skip


def _placed(
    cuts: PartCuts, part: str, screw: str, face_mm: float, up: float, plate_mm: float
) -> Iterator[PlacedScrew]:
    """``face_mm``: outer face of floor or lid, ``up``: outwards, 1 or -1."""
    number = 0
    for strap in cuts.straps:
        for one in strap.screws:
            number += 1
            at = (one.x_mm, one.y_mm, face_mm + up * strap.under_head_mm)
            yield PlacedScrew(
                where=f"pieces of the {part}",
                name=f"strap screw {number} of the {part}",
                heads=f"strap screw heads of the {part}",
                screw=screw,
                at_mm=np.array(at),
                out=np.array((0.0, 0.0, up)),
                through_mm=strap.under_head_mm + plate_mm - strap.nut_deep_mm,
                into=Into.NUT,
                length_mm=strap.screw_long_mm,
                low_head=True,
            )


def nut_discs(sizes: FittedSizes, face: Face) -> list[tuple[float, float, float]]:
    """Nuts in the gap over a face: x, y, radius."""
    splices = sizes.splices
    radius = screws()[splices.screw].nut_flats_mm / math.sqrt(3.0)
    straps = splices.tub.straps if face is Face.LOWER else splices.lid.straps
    return [(one.x_mm, one.y_mm, radius) for strap in straps for one in strap.screws]


def splice_steps(sizes: FittedSizes) -> tuple[str, ...]:
    """How pieces of tub and lid are joined; none where both are whole."""
    splices, steps = sizes.splices, []
    for part, cuts, inner, outer in (
        ("tub", splices.tub, "floor", "beneath it"), ("lid", splices.lid, "lid", "on top of it"),
    ):  # fmt: skip
        if not cuts.straps:
            continue
        count = sum(len(strap.screws) for strap in cuts.straps)
        long = cuts.straps[0].screw_long_mm
        pocket = "in their pockets " if cuts.straps[0].nut_deep_mm > 0.0 else ""
        laps = "its walls' and floor's laps" if part == "tub" else "the steps of its plate"
        steps.append(
            f"Join the pieces of the {part} on a flat table: {laps} into each other, neutral-cure "
            f"silicone in them, the strap {outer}, and {count} screws {splices.screw} x {long:g} "
            f"from outside into nuts {pocket}on the inside of the {inner}. Tighten to 0.5 N m "
            "(judgement, no source), let the silicone set, and lay the insulating sheet over all "
            "nuts."
        )
    return tuple(steps)
