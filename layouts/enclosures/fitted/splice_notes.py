"""What must be told of a tub or lid in pieces, and the sizes with their seams."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

import shapely

from layouts.enclosures.fitted.cut_sites import (
    CLEAR_MM,
    SEAM_HALF_MM,
    lid_site,
    pieces_of,
    tub_site,
)
from layouts.enclosures.fitted.cutting import STAND_PLAY_MM
from layouts.enclosures.fitted.sizes import Duct, FittedSizes
from layouts.enclosures.fitted.splices import BedSeam, Splices, strip_of
from layouts.enclosures.laps import SEAM_GAP_MM, WALL_LAP_MM

__all__ = ["cut_sizes", "splice_notes"]


def cut_sizes(sizes: FittedSizes, splices: Splices) -> FittedSizes:
    """The sizes with their seams: drains that a seam would meet lie beside it, slots that its laps
    would meet are left out."""
    drains = tub_site(sizes).drains
    beside = None if drains is None else drains.beside(splices.tub.seams)
    return replace(
        sizes,
        splices=splices,
        drains=sizes.drains if beside is None else beside,
        ducts=tuple(_off_laps(duct, splices.tub.seams) for duct in sizes.ducts),
        notes=(*sizes.notes, *splice_notes(sizes, splices)),
    )


def _off_laps(duct: Duct, seams: Sequence[BedSeam]) -> Duct:
    """A duct without the slots that laps of seams meet."""
    half = WALL_LAP_MM + SEAM_GAP_MM / 2 + CLEAR_MM
    laps = shapely.union_all(
        [strip_of(seam.axis, seam.at_mm - half, seam.at_mm + half) for seam in seams]
    )
    left = tuple(
        slot for slot in duct.slots if not laps.intersects(shapely.Polygon(slot.corners_mm))
    )
    return replace(duct, slots=left)


def splice_notes(sizes: FittedSizes, splices: Splices) -> Iterator[str]:
    """What must be told of parts in pieces."""
    for site, cuts in ((tub_site(sizes), splices.tub), (lid_site(sizes), splices.lid)):
        x0, y0, x1, y1 = site.whole.bounds
        size = f"the {site.part}, {x1 - x0:.0f} x {y1 - y0:.0f} mm,"
        if cuts.why:
            yield f"{size} is larger than the bed: {cuts.why}; print it on a larger printer"
        if not cuts.seams:
            continue
        at = ", ".join(seam.told for seam in cuts.seams)
        count = len(pieces_of(site, cuts.seams))
        yield f"{size} is printed in {count} pieces, seams at {at} mm"
        for seam in cuts.seams:
            half = strip_of(seam.axis, seam.at_mm - SEAM_HALF_MM, seam.at_mm + SEAM_HALF_MM)
            if any(shape.intersects(half) for _, shape in site.rather_not):
                yield f"the {site.part}'s seam at {seam.told} mm passes beneath the board"
        if cuts.straps and site.part == "tub":
            yield (
                f"straps beneath the tub end {STAND_PLAY_MM:g} mm or more above the level of the "
                "brackets' feet: where the frame is flat there they rest on it under jolts"
            )
