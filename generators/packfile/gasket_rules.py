"""A gasket and ways of wires checked against the rest of the enclosure; gas out of the space."""

from __future__ import annotations

from collections.abc import Iterator

from generators.packfile.rules import Finding
from layouts.enclosures.groove import LAND_MM, groove_of
from layouts.formats import CellFormat
from layouts.pack import EnclosureStyle, Pack

__all__ = ["GASKET_RULES"]

GASKET = ("enclosure", "gasket")
LEAST_MM = 0.4  # flange beyond the groove: one line of a nozzle
WIDEST_MM = 9.5  # of a flange: mounting pads reach past it, and brackets stand before them


def gasket_form(pack: Pack, size: CellFormat) -> Iterator[Finding]:
    """Only the fitted form has one; there tie posts alone hold the cells, and nothing drains."""
    case = pack.enclosure
    if case.gasket is None:
        return
    if case.style is not EnclosureStyle.FITTED:
        yield Finding(
            field=GASKET,
            reads=(("enclosure", "style"),),
            value=f"with style {case.style.value}",
            why="is only for the fitted form",
            remedy="write style: fitted, or delete gasket",
        )
    if case.has_drains:
        yield Finding(
            field=("enclosure", "drains"),
            reads=(GASKET,),
            why="let water and gas past the gasket",
            remedy="delete drains, or delete gasket",
        )
    if not pack.holder.flank_posts:
        yield Finding(
            field=("holder", "flank_posts"),
            reads=(GASKET,),
            why="needs a lid that clamps the holders, which one on a gasket does not",
            remedy="delete it, or delete enclosure.gasket",
        )


def ways_form(pack: Pack, size: CellFormat) -> Iterator[Finding]:
    """Ways of wires are decided in a tub alone, and only where the file asks for one."""
    case = pack.enclosure
    if case.wire_ways and (case.style is not EnclosureStyle.TUB or case.style_is_open):
        yield Finding(
            field=("enclosure", "wire_ways"),
            reads=(("enclosure", "style"),),
            value="true",
            why="goes with style: tub alone",
            remedy="write style: tub beside it, or delete it",
        )


def gasket_section(pack: Pack, size: CellFormat) -> Iterator[Finding]:
    """The cord's groove lies within the flange, and brackets get past that."""
    case, groove = pack.enclosure, groove_of(pack.enclosure)
    if groove is None or case.gasket is None:
        return
    cord, reads = case.gasket.cord_mm, ((*GASKET, "flange_mm"), ("enclosure", "wall_mm"))
    usual = case.wall_mm + groove.wide_mm + LAND_MM
    if groove.land_mm < LEAST_MM:
        wider = f"use a flange_mm of at least {usual:.1f}, or " if usual <= WIDEST_MM else "use "
        yield Finding(
            field=(*GASKET, "cord_mm"),
            reads=reads,
            value=f"{cord:g}",
            why=f"needs a groove {groove.wide_mm:g} mm wide beside a wall of {case.wall_mm:g} mm, "
            f"more than the flange of {groove.flange_mm:g} mm holds",
            remedy=f"{wider}a thinner cord",
        )
    elif groove.flange_mm > WIDEST_MM:
        yield Finding(
            field=("enclosure", "wall_mm"),
            reads=reads[:1],
            value=f"{case.wall_mm:g}",
            why=f"makes a flange of {groove.flange_mm:g} mm with the cord's groove, wider than the "
            f"{WIDEST_MM:g} mm that brackets get past",
            remedy=f"use at most {WIDEST_MM - groove.wide_mm - LAND_MM:.1f}",
        )


def gasket_vent(pack: Pack, size: CellFormat) -> Iterator[Finding]:
    """The vent's opening is no wider than plastic bridges."""
    gasket = pack.enclosure.gasket
    if gasket is None or gasket.vent_mm is None or gasket.vent_mm[0] <= BRIDGED_MM:
        return
    yield Finding(
        field=(*GASKET, "vent_mm"),
        reads=(),
        value=f"{gasket.vent_mm[0]:g} wide",
        why=f"is wider than the {BRIDGED_MM:g} mm that are printed without support",
        remedy=f"use at most {BRIDGED_MM:g} for the width, and more height",
    )


def closed_space(pack: Pack, size: CellFormat) -> Iterator[Finding]:
    """Gas that an enclosure vents must leave the space."""
    space = pack.space
    if space is None or space.open_sides != () or pack.enclosure.style is EnclosureStyle.NONE:
        return
    yield Finding(
        field=("space", "open_sides"),
        reads=(("enclosure", "style"),),
        value="[]",
        why="leaves the gas of a venting cell no way out: a closed space bursts, or fills the "
        "machine with it",
        remedy='open one side of the space to the air and name it, such as ["+z"]',
    )


BRIDGED_MM = 12.0  # that the upper edge of an opening bridges; common practice, no source

GASKET_RULES = (gasket_form, gasket_section, gasket_vent, closed_space, ways_form)
