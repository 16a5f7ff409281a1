"""Checks on what the short check found."""

from __future__ import annotations

from layouts.checks import Check
from layouts.shorts.spacing_table import CLEARANCE_SOURCE, CREEPAGE_SOURCE
from layouts.shorts.values import Kind, ShortReport, Spot

__all__ = ["failing_spots", "short_checks"]

LEVEL_MM = 1e-6  # float noise in sums of millimetres
TOLD_MOST = 5  # wrong or missing joins named one by one
PRACTICE = "common practice, no source"
TABLE_ENDS = "the table ends at 1000 V: fewer groups in series"

_MEASURED = (
    (
        Kind.STRIPS,
        "short_strips",
        "clearance between bare strips of different potential on one face",
        CLEARANCE_SOURCE,
        "narrower strips (strip.row_width_mm, strip.link_width_mm) or a larger holder.web_mm",
    ),
    (
        Kind.CANS,
        "short_cans",
        "clearance between strips and cans or can ends of another potential",
        CLEARANCE_SOURCE,
        "strips clear of cells that they do not join: narrower strips, or a larger holder.web_mm",
    ),
    (
        Kind.METAL,
        "short_metal",
        "clearance between strips or can ends and screws, nuts and inserts",
        CLEARANCE_SOURCE,
        "narrower strips",
    ),
    (
        Kind.SURFACE,
        "short_surface",
        "creepage distance between bare parts of different potential along the plastic",
        CREEPAGE_SOURCE,
        "narrower strips, or a larger holder.web_mm",
    ),
)


def short_checks(report: ShortReport) -> tuple[Check, ...]:
    """All of them, always in this order; each holds where nothing of its kind is near."""
    spots = {
        Kind.STRIPS: report.strips,
        Kind.CANS: report.cans,
        Kind.METAL: report.metal,
        Kind.SURFACE: report.surface,
    }
    measured = (
        _measured(report, spots[kind], id, about, source, remedy)
        for kind, id, about, source, remedy in _MEASURED
    )
    return (*measured, _ring_check(report.ring), *_join_checks(report))


def _ring_check(ring: Spot) -> Check:
    holds = _holds(ring)
    return Check(
        id="ring_present",
        about="insulating ring under the strips on every positive end, thick and wide enough to "
        "cover the can's rim",
        holds=holds,
        value=ring.gap_mm,
        limit=ring.need_mm,
        unit="mm",
        source=PRACTICE,
        remedy=""
        if holds
        else "holder.ring_mm 0.2 or 0.3, with holder.window_mm narrow "
        "enough that the ring covers the rim",
        where=f"{ring.parts[0]} on {ring.parts[1]}, {ring.volts:.1f} V",
    )


def _join_checks(report: ShortReport) -> tuple[Check, ...]:
    """Strips that join what they must not, and what no strip joins though it must."""
    return (
        _spots_check(
            "wrong_join",
            "strips over or welded to cells of two potentials",
            report.wrong_joins,
            "strips may join groups k and k + 1 only, on their own face",
        ),
        _spots_check(
            "links_present",
            "missing connections between consecutive groups or between cells of one potential",
            report.missing_links,
            "add the missing strip, or move it over the cells that it joins",
        ),
    )


def _spots_check(id: str, about: str, wrong: tuple[Spot, ...], remedy: str) -> Check:
    """Holds where there are none of these spots; the first few are named."""
    told = [f"{spot.face.value} face: {', '.join(spot.parts)}" for spot in wrong]
    more = len(told) - TOLD_MOST
    return Check(
        id=id,
        about=about,
        holds=not wrong,
        value=float(len(wrong)),
        limit=0.0,
        unit="",
        source="geometry",
        remedy=remedy if wrong else "",
        at_least=False,
        where="; ".join(told[:TOLD_MOST]) + (f"; and {more} more" if more > 0 else ""),
    )


def failing_spots(report: ShortReport) -> tuple[Spot, ...]:
    """One spot for each check that fails, in the checks' order: what a picture is drawn of."""
    measured = (report.strips, report.cans, report.metal, report.surface, report.ring)
    found = [spot for spot in measured if spot is not None and not _holds(spot)]
    found += [spots[0] for spots in (report.wrong_joins, report.missing_links) if spots]
    return tuple(found)


def _holds(spot: Spot) -> bool:
    return spot.margin_mm >= -LEVEL_MM


def _measured(
    report: ShortReport, spot: Spot | None, id: str, about: str, source: str, remedy: str
) -> Check:
    conditions = f"pollution degree {report.pollution_degree}, worst-case tolerances"
    if report.floor_mm > 0:
        source += f"; at least {report.floor_mm:g} mm as required in the pack file"
    if spot is None:
        return Check(
            id=id,
            about=about,
            holds=True,
            value=None,
            limit=None,
            unit="mm",
            source=source,
            remedy="",
            where="no other potential within three pitches",
        )
    holds = _holds(spot)
    return Check(
        id=id,
        about=about,
        holds=holds,
        value=spot.gap_mm,
        limit=spot.need_mm,
        unit="mm",
        source=source,
        remedy="" if holds else remedy if spot.need_mm is not None else TABLE_ENDS,
        where=f"{spot.face.value} face, {spot.parts[0]} and {spot.parts[1]}, "
        f"{spot.volts:.1f} V, {conditions}",
    )
