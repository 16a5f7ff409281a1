"""A pack from the few facts that must be known, every other value at its default.

One place for the defaults, so that the pack file, the tests and the tool agree.
Each reason stands beside its value; all are common practice, no source, unless said.
"""

from __future__ import annotations

from math import floor, pi, sin, sqrt

from layouts.formats import CellFormat
from layouts.pack import (
    Bay,
    Bms,
    Cooling,
    EnclosureSpec,
    EnclosureStyle,
    Holder,
    Lattice,
    Leads,
    Mount,
    Printer,
    Side,
    StripSpec,
)
from layouts.spaces.space import Space

USUAL_NOZZLE_MM = 0.4
WALL_LINES = 3  # of a wall that carries something: public design rules of filament printing


def holder(size: CellFormat, nozzle_mm: float = USUAL_NOZZLE_MM) -> Holder:
    """Holder of a can size; webs, and the lip over the can's edge, are three lines of a nozzle
    wide at least."""
    lines_mm = round(WALL_LINES * nozzle_mm, 6)
    return Holder(
        clearance_mm=size.clearance_mm,
        web_mm=max(size.web_mm, lines_mm),
        lip_mm=1.6,  # 1.2 left behind a ring seat: six layers of 0.2
        depth_mm=size.depth_mm,
        window_mm=min(
            size.window_mm, round(size.diameter_mm - size.clearance_mm - 2.0 * lines_mm, 6)
        ),
        wall_mm=2.2,  # four lines of a 0.4 nozzle and their overlap
        ring_mm=0.3,
        ring_hole_mm=size.ring_hole_mm,
        seat_mm=0.4,  # two layers: for a ring of 0.2 to 0.3
        web_recess_mm=0.4,  # a web's floor that sags must not lift the strip off the can
        bar_mm=0.6,  # three layers bridging a channel in a straight line
        channel_play_mm=0.5,  # parts that move in each other: public printing guides
        post_mm=8.0,
        screw="M3",
        support_pins=True,
    )


def strip(size: CellFormat, lattice: Lattice) -> StripSpec:
    """Strips of a can size: on a honeycomb narrow rows, so that the lip keeps its tabs."""
    wide = size.wide_width_mm
    honeycomb = lattice is Lattice.HONEYCOMB
    return StripSpec(
        material="nickel",
        row_width_mm=size.row_width_mm if honeycomb else wide,
        link_width_mm=size.link_width_mm if honeycomb else wide,
        lead_width_mm=wide,
        thickness_mm=0.2,
        layers=1,
    )


def leads(wire_mm2: float = 8.0) -> Leads:
    """Main leads to the right; 8 mm2 carries the 40 A or so of a small machine."""
    return Leads(
        side=Side.PLUS_X,
        wire_mm2=wire_mm2,
        outside_mm=wire_outside_mm(wire_mm2),
        length_mm=400.0,  # the pack's side to a controller nearby
    )


def wire_outside_mm(wire_mm2: float) -> float:
    """Outside diameter of a fine-stranded wire: copper fills 0.6, 1.2 mm of insulation round it."""
    return round(sqrt(4 * wire_mm2 / (pi * 0.6)) + 2 * 1.2, 1)


def bms(series: int) -> Bms:
    """Board of a usual size for so many cells in series."""
    if series <= 4:
        return Bms(board_mm=(60.0, 25.0, 8.0))
    if series <= 7:
        return Bms(board_mm=(80.0, 50.0, 10.0))
    return Bms(board_mm=(110.0, 60.0, 12.0))


def enclosure(
    style: EnclosureStyle = EnclosureStyle.TUB, *, flank_posts: bool = True
) -> EnclosureSpec:
    """An open tub with a lid. One whose walls follow cells and rooms has thinner ones, which their
    scallops stiffen, a lid with a lip, walls that locate the held cells, and a floor and a lid as
    thick as the load needs. A lid that clamps them, where flank posts are left out, is stiffer."""
    follows = style is EnclosureStyle.FITTED
    return EnclosureSpec(
        style=style,
        wall_mm=1.68 if follows else 2.6,  # four lines of a 0.4 nozzle
        floor_mm=3.0,
        lid_mm=2.0 if follows and flank_posts else 3.0,
        vent="open",
        side_gap_mm=0.8 if follows else 1.25,  # 1 mm of air or foam and 0.25 of insulating paper
        gas_gap_mm=3.5,  # 3 free and an insulating sheet of up to 0.5
        screw="M3",
        insert_mm=5.7,
        by_load=("floor_mm", "lid_mm") if follows else (),
    )


def mount() -> Mount:
    """Angles, each foot on two holes of the frame."""
    return Mount(kind="angle", screw="M5", holes_mm=((0.0, 0.0), (20.0, 0.0)))


def cooling(space: Space | None) -> Cooling:
    """Still air in a space with walls, whatever lies below takes no heat: the safe side."""
    walled = space is not None and space.room is not None
    return Cooling(bay=Bay.CLOSED if walled else Bay.OPEN)


def printer() -> Printer:
    """A printer of common size."""
    return Printer(bed_mm=(220.0, 220.0, 250.0), nozzle_mm=0.4, layer_mm=0.2, material="petg")


def can_size(format: str, *, diameter_mm: float, length_mm: float) -> CellFormat:
    """Starting values for a can that the table of sizes doesn't have, by rules that follow it.

    ``diameter_mm`` and ``length_mm`` as measured, sleeve on; from 10 mm diameter up.
    """
    reach = diameter_mm / 2 - 0.5  # a can is held by its rim, 0.5 within the edge
    # widest channel that leaves a tab of 2 mm between two channels 60 degrees apart (geometry)
    channel = 2 * reach * sin((pi / 3 - 2 / reach) / 2)
    row = float(min(max(floor(channel - 0.5), 2), 12))
    # the same between channels 90 degrees apart
    wide_channel = 2 * reach * sin((pi / 2 - 2 / reach) / 2)
    wide = float(min(max(floor(wide_channel - 0.5), 2), row + 2, 12))
    return CellFormat(
        format=format,
        diameter_mm=diameter_mm,
        longest_mm=length_mm,
        clearance_mm=0.25 if diameter_mm < 24 else 0.30 if diameter_mm < 30 else 0.40,
        web_mm=1.5,
        window_mm=round(2 * 0.77 * diameter_mm) / 2,  # the table's are 0.74 to 0.79 of the can
        depth_mm=round(min(12.0 if diameter_mm > 24 else 10.0, 0.2 * length_mm), 1),
        row_width_mm=row,
        link_width_mm=row,
        wide_width_mm=wide,
        ring_hole_mm=round(2 * 0.66 * diameter_mm) / 2,  # the table's are 0.66 to 0.76 of the can
        mass_g=round(CAN_DENSITY_G_CM3 * _volume_cm3(diameter_mm, length_mm), 1),
    )


# formats that are sold nearly always in one chemistry; common practice, from memory, no source
USUAL_CHEMISTRY = {"32700": "lfp"}
ASSUMED_CHEMISTRY = "nmc"  # of the others: the usual one of small power cells, with a caution


def chemistry(format: str) -> str:
    """Chemistry of a cell whose pack file doesn't give it."""
    return USUAL_CHEMISTRY.get(format, ASSUMED_CHEMISTRY)


CAN_DENSITY_G_CM3 = 2.7  # the table's cells lie between 2.4 and 2.75; common practice, no source
# a plain cell's charge by the volume of its can, Ah/cm3; common practice, no source
CHARGE_AH_CM3 = {"nmc": 0.14, "nca": 0.14, "lfp": 0.09, "lto": 0.05}
PLAIN_CHARGE_AH_CM3 = 0.05  # another chemistry: no more than the least of those
RESISTANCE_MOHM_AH = 80.0  # resistance x charge of a plain cell, direct current; no source


def capacity_ah(chemistry: str, *, diameter_mm: float, length_mm: float) -> float:
    """Charge of a plain cell of that size, for a file that doesn't give it: an assumption [Ah]."""
    density = CHARGE_AH_CM3.get(chemistry, PLAIN_CHARGE_AH_CM3)
    return round(density * _volume_cm3(diameter_mm, length_mm), 1)


def internal_resistance_mohm(capacity_ah: float) -> float:
    """Direct current resistance of a plain cell, for a file that doesn't give it [mohm]."""
    return round(RESISTANCE_MOHM_AH / capacity_ah, 1)


def _volume_cm3(diameter_mm: float, length_mm: float) -> float:
    return pi / 4 * diameter_mm**2 * length_mm / 1000
