"""Checks of a tub or lid in pieces: seams found, clear of all else, strong, no piece loose."""

from __future__ import annotations

import math
from collections.abc import Iterator

import shapely
from shapely.geometry.base import BaseGeometry

from layouts.brackets.strength import SAFETY, strength_limit_mpa
from layouts.checks import Check, worst_of
from layouts.enclosures.fitted.cut_sites import (
    CLEAR_MM,
    CutSite,
    fewest_screws,
    lid_site,
    pieces_of,
    seam_mm,
    tub_site,
)
from layouts.enclosures.fitted.cutting import (
    LARGER_BED,
    LEAST_SCREWS,
    part_loads,
)
from layouts.enclosures.fitted.sizes import FittedSizes
from layouts.enclosures.fitted.splice_load import screw_limit_n, screw_n, strap_stress_mpa
from layouts.enclosures.fitted.splices import BedSeam, PartCuts, strip_of
from layouts.enclosures.laps import SEAM_GAP_MM, STEP_MM, WALL_LAP_MM
from layouts.holders.fastening import CellBlock
from layouts.holders.shape import cell_block_shape
from layouts.pack import Pack

__all__ = ["splice_checks"]

PRACTICE = "common practice, no source"
LEAST_CLEAR_MM = 0.8 * CLEAR_MM  # two lines of a 0.4 nozzle
LIGHTER = "a lower load.acceleration_g, a stronger printer.material, or a larger printer.bed_mm"


def splice_checks(pack: Pack, cell_block: CellBlock, sizes: FittedSizes) -> tuple[Check, ...]:
    """All of them; none where tub and lid fit the bed as they are."""
    held = cell_block_shape(cell_block.outline)
    splices, found = sizes.splices, list[Check]()
    for cuts, site_of in ((splices.tub, tub_site), (splices.lid, lid_site)):
        if cuts.over_mm <= 0.0:
            continue
        site = site_of(sizes)
        found.append(_seams_found(site, cuts))
        if cuts.seams:
            found += [_seams_clear(site, cuts), _pieces_held(site, cuts)]
            if pack.load is not None and cuts.straps:
                found += _strong(pack, sizes, held, site, cuts)
    return worst_of(found)


def _seams_found(site: CutSite, cuts: PartCuts) -> Check:
    """A part larger than the bed has seams between which every piece lies within it."""
    return Check(
        id="seams_found", about="size over the bed of a tub or lid that finds no seams",
        holds=not cuts.why, value=cuts.over_mm if cuts.why else 0.0, limit=0.0, unit="mm",
        source="geometry", at_least=False, where=cuts.why or site.part,
        remedy="a larger printer.bed_mm, another space or another number of cells in parallel",
    )  # fmt: skip


def _seams_clear(site: CutSite, cuts: PartCuts) -> Check:
    """No seam runs through another feature (boss, pad, opening), nor a wall's lap."""
    least, where = math.inf, ""
    for seam in cuts.seams:
        for name, gap in _gaps(site, seam):
            if gap < least:
                least, where = gap, f"{site.part}'s seam at {seam.told}, {name}"
    return Check(
        id="seams_clear", about="clearance from a seam to a boss, pad or opening",
        holds=least >= LEAST_CLEAR_MM, value=least, limit=LEAST_CLEAR_MM, unit="mm",
        source="geometry", where=where, remedy=LARGER_BED,
    )  # fmt: skip


def _gaps(site: CutSite, seam: BedSeam) -> Iterator[tuple[str, float]]:
    """What lies near a seam, and how near."""
    line = STEP_MM + SEAM_GAP_MM / 2
    lap = (WALL_LAP_MM if site.walls else STEP_MM) + SEAM_GAP_MM / 2
    drains = site.drains.drains if site.drains is not None else ()
    rounds = [shapely.Point(d.x_mm, d.y_mm).buffer(d.radius_mm) for d in drains]
    for half, shapes in (
        (line, (*site.lines, *(("drain", one) for one in rounds))),
        (lap, (*site.laps, *site.rather_no_laps)),
    ):
        strip = strip_of(seam.axis, seam.at_mm - half, seam.at_mm + half)
        for name, shape in shapes:
            if not shape.is_empty:
                yield name, float(shapely.distance(strip, shape))


def _pieces_held(site: CutSite, cuts: PartCuts) -> Check:
    """Straps' screws hold each piece."""
    fewest, piece = fewest_screws(pieces_of(site, cuts.seams), cuts.straps)
    middle = piece.representative_point()
    where = f"piece of the {site.part} at ({middle.x:.0f}, {middle.y:.0f})"
    return Check(
        id="pieces_held", about="screws through straps that hold a piece of tub or lid",
        holds=fewest >= LEAST_SCREWS, value=float(fewest), limit=float(LEAST_SCREWS), unit="",
        source=PRACTICE, where=f"{where}: {cuts.loose}" if cuts.loose else where,
        remedy=cuts.loose_remedy or LARGER_BED,
    )  # fmt: skip


def _strong(
    pack: Pack, sizes: FittedSizes, held: BaseGeometry, site: CutSite, cuts: PartCuts
) -> list[Check]:
    """Bending of straps and of floor (lid) beside them; load of the straps' screws."""
    limit, found = strength_limit_mpa(pack), list[Check]()
    for seam in cuts.seams:
        straps = [strap for strap in cuts.straps if strap.seam == seam]
        (load,) = part_loads(pack, sizes, held, site, seam.axis, [seam.at_mm])
        long = seam_mm(site, seam)
        stress = strap_stress_mpa(load, straps, site.plate_mm, long)
        pull = screw_n(load, straps, long)
        most = screw_limit_n(pack, sizes.splices.screw, straps, site.plate_mm)
        where = f"{site.part}'s seam at {seam.told}"
        thick = max(strap.thick_mm for strap in straps)
        found += [
            Check(
                id="splice_stress",
                about="bending stress of the straps across a seam, and of floor or lid beside them",
                holds=stress <= limit, value=stress, limit=limit, unit="MPa",
                source="moment of the simply supported plate across the seam, and of the whole "
                "enclosure between its brackets; half laps of floor or lid are not counted, "
                f"straps of {thick:g} mm carry all; lowest printed tensile strength along the "
                f"layers (materials table) divided by {SAFETY:g}, {PRACTICE}",
                at_least=False, where=where, remedy=LIGHTER,
            ),
            Check(
                id="splice_screw_n", about="load on a screw of the straps across a seam",
                holds=pull <= most, value=pull, limit=most, unit="N",
                source="the plate's moment over the distance of the screws from the seam, its "
                "shear, and the row's share of the pull along it; printed plastic under nut and "
                f"head and at the hole at the allowed stress, {PRACTICE}",
                at_least=False, where=where, remedy=LIGHTER,
            ),
        ]  # fmt: skip
    return found
