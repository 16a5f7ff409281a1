"""The form of what is printed: holders, enclosure.

The models check each value alone; ``rules`` checks them against each other.
"""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from generators.packfile.section import Section
from layouts.pack import EnclosureStyle, Surroundings

__all__ = ["EnclosureSection", "GasketSection", "HolderSection"]

# closed choices: the word becomes the enum here, once
StyleWord = Annotated[EnclosureStyle, Field(strict=False)]
SurroundingsWord = Annotated[Surroundings, Field(strict=False)]

VentMm = Annotated[float, Field(ge=4, le=60)]


class HolderSection(Section):
    """The holder at each end of the cells. From outside in: outer face, lip, can end, pocket."""

    clearance_mm: float | None = Field(
        default=None,
        ge=0.05,
        le=1,
        description="Pocket diameter minus cell diameter (diametral clearance), mm. Default "
        "{default}: printed pockets come out slightly small, and the sleeve must not tear.",
    )
    web_mm: float | None = Field(
        default=None,
        gt=0,
        le=10,
        description="Thinnest plastic between two pockets, mm; at least the nozzle diameter. "
        "Default {default}: three lines of a 0.4 nozzle with overlap, or of a coarser one.",
    )
    lip_mm: float | None = Field(
        default=None,
        ge=1,
        le=4,
        description="Thickness of the lip that the can ends rest on, mm. Default {default}: leaves "
        "1.2, six layers of 0.2, behind a ring seat.",
    )
    depth_mm: float | None = Field(
        default=None,
        ge=4,
        le=40,
        description="Depth of the pocket around the cell, mm. Default {default}: supports the cell "
        "upright and leaves most of it open to the air.",
    )
    window_mm: float | None = Field(
        default=None,
        ge=5,
        le=43,
        description="Diameter of the opening in the lip for welding, mm; at least 2 less than the "
        "can. Default {default}: room for two weld electrodes, and a lip of about 2 all round, "
        "three lines of the nozzle at least.",
    )
    wall_mm: float | None = Field(
        default=None,
        ge=0.8,
        le=6,
        description="Wall outside the outermost pockets, mm. Default {default}: four lines of a "
        "0.4 nozzle with overlap, stiff enough to handle.",
    )
    ring_mm: float | None = Field(
        default=None,
        ge=0,
        le=1,
        description="Thickness of the insulating ring on each positive end, mm; 0 for none. "
        "Default {default}: a usual paper ring with adhesive.",
    )
    ring_hole_mm: float | None = Field(
        default=None,
        ge=3,
        le=50,
        description="Hole of the insulating ring on each positive end, diameter, mm: a venting "
        "cell's gas passes through it. Default {default}: as wide as the crimp allows; measure it.",
    )
    seat_mm: float | None = Field(
        default=None,
        ge=0,
        le=2,
        description="Depth of the ring seat in the lip, positive ends only, mm. Default {default}: "
        "two layers of 0.2, room for a ring of 0.2 to 0.3.",
    )
    web_recess_mm: float | None = Field(
        default=None,
        ge=0.2,
        le=0.6,
        description="Recess of the web below the can ends where a strip crosses it, mm. Default "
        "{default}: a web that sags slightly in printing must not lift the strip off the can.",
    )
    bar_mm: float | None = Field(
        default=None,
        ge=0.2,
        le=2,
        description="Height of the bar that bridges a strip channel in the web, mm. Default "
        "{default}: three layers, enough to bridge the channel in a straight line.",
    )
    channel_play_mm: float | None = Field(
        default=None,
        ge=0.2,
        le=2,
        description="Width of a strip channel minus width of the strip, mm. Default {default}: "
        "strips are laid by hand, and a wider channel reduces the lip.",
    )
    post_mm: float | None = Field(
        default=None,
        ge=7.6,
        le=10,
        description="Diameter of a tie post, mm. Default {default}: the recessed head of its M3 "
        "screw and a wall of 0.9 around it.",
    )
    support_pins: bool | None = Field(
        default=None,
        description="Whether loose pins are printed with a holder, under webs that "
        "would hang too far over a channel; they are lifted off before use. Default {default}: a "
        "slicer's own support in a channel does the same where it is chosen instead.",
    )
    flank_posts: bool | None = Field(
        default=None,
        description="Whether tie posts may stand where they make the held cells wider or longer. "
        "false, in enclosure.style fitted alone: up to 7 mm less, and silicone cord under the lid "
        "clamps the upper holder where no post stands. Default {default}: posts set the distance "
        "of the holders without any gauging.",
    )


class GasketSection(Section):
    """Sponge cord between lid and tub, and a vent for the gas of one cell that vents without
    ignition. For enclosure.style fitted."""

    gas_l: float = Field(
        gt=0,
        le=100,
        description="Gas of one venting cell, measured at 25 C, l. No default: of a cell alike it "
        "is in test reports, or ask the maker.",
    )
    within_s: float = Field(
        gt=0,
        le=60,
        description="Time within which that gas comes, s. No default: of a cell alike it is in "
        "test reports, or ask the maker.",
    )
    opens_at_kpa: float = Field(
        gt=0,
        le=20,
        description="Pressure inside, over the air outside, at which the vent opens, kPa. No "
        "default: it is set by what covers the vent; 2 to 5 is usual.",
    )
    gas_c: float = Field(
        default=300.0,
        ge=25,
        le=1200,
        description="Temperature of the gas as it leaves, C. Default 300: without ignition, from "
        "memory, no source.",
    )
    gas_kg_m3: float = Field(
        default=1.15,
        ge=0.3,
        le=2,
        description="Density of the gas at 25 C, kg/m3. Default 1.15: mostly CO2, CO and hydrogen, "
        "from memory, no source.",
    )
    cord_mm: float = Field(
        default=3.0,
        ge=2,
        le=4,
        description="Diameter of the closed-cell sponge cord, mm. Default 3: the groove is 2.3 "
        "deep and 3.7 wide, so that it is squeezed by 23 %.",
    )
    flange_mm: float | None = Field(
        default=None,
        ge=4,
        le=9.5,
        description="Width of the rim's flange from the walls' inner face, mm. Default: the wall, "
        "the cord's groove and 1.9 beyond it, 7.3 for a cord of 3.",
    )
    bend_radius_mm: float | None = Field(
        default=None,
        gt=0,
        le=50,
        description="Least inner bend radius of the cord by its data sheet, mm; the groove is "
        "drawn with up to 6. Default: 1.5 of its diameter.",
    )
    vent_mm: tuple[VentMm, VentMm] | None = Field(
        default=None,
        description="Width and height of the vent's opening in the wall, mm, for a cover that is "
        "bought. Default: as large as the gas needs.",
    )


class EnclosureSection(Section):
    """Tub and lid around the cell block: M3 screws, splash-shielded vent slots and drains."""

    style: StyleWord | None = Field(
        default=None,
        description="tub: a tub open at the top, with a screwed lid and brackets. fitted: the "
        "same, with walls along the cells and along rooms for the board, the fuse and the charge "
        "port. none: holders only, where the space itself is the case; cells are then placed in "
        "the outline of the space, whatever its shape. Default {default}: a pack that needs no "
        "other case; where it does not go into the space and fitted does, that is made.",
    )
    wall_mm: float | None = Field(
        default=None,
        ge=1.2,
        le=10,
        description="Wall thickness of the tub, mm. Default {default}: walls of 2.4 to 3.0 "
        "withstand knocks and print in reasonable time; a nozzle over 0.6 gets four of its widths "
        "and 0.2, so that the pieces of a cut tub overlap by two lines each.",
    )
    floor_mm: float | None = Field(
        default=None,
        ge=1.2,
        le=10,
        description="Floor thickness, mm. Default {default}: carries the mass of the cells. "
        "fitted, with a load: the least whole layers from 2 to 6 that carry them under "
        "load.acceleration_g.",
    )
    lid_mm: float | None = Field(
        default=None,
        ge=1.2,
        le=10,
        description="Lid thickness, mm. Default {default}: clamps the cell block between screws up "
        "to 70 apart. fitted: 2, with a load the least whole layers from 2 to 6 that carry the "
        "cells under load.acceleration_g.",
    )
    surroundings: SurroundingsWord | None = Field(
        default=None,
        description="dry or splashed; where splashed, touch voltage is cautioned from 30 V instead "
        "of 60 V. Default {default}: write splashed where water reaches the enclosure.",
    )
    side_gap_mm: float | None = Field(
        default=None,
        ge=0.5,
        le=20,
        description="Gap between holders and walls, mm. Default {default}: 1 of air or foam and "
        "0.25 of insulating paper.",
    )
    gas_gap_mm: float | None = Field(
        default=None,
        ge=3,
        le=30,
        description="Gap over both faces of the cell block for vent gas, mm. Default {default}: 3 "
        "free and an insulating sheet of up to 0.5.",
    )
    insert_mm: float | None = Field(
        default=None,
        ge=3,
        le=8,
        description="Length of the heat-set inserts in the bosses, mm. Default {default}: the "
        "usual long type; its hole is 0.5 deeper.",
    )
    drains: bool | None = Field(
        default=None,
        description="Whether the floor has holes that water leaves through. Default true, with a "
        "gasket false: what gets in must get out.",
    )
    wire_ways: bool | None = Field(
        default=None,
        description="true with style: tub: the tub is so wide that every wire has a way inside "
        "with bends of 4 outside diameters, and is told with its length; leads are tied to posts. "
        "Default false: a narrower tub, in which the ways of wires are not decided.",
    )
    gasket: GasketSection | None = Field(
        default=None,
        description="A cord between lid and tub, with a vent. Default none: the lid lies on the "
        "rim and gas leaves through slots.",
    )
