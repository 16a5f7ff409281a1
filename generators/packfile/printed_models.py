"""The form of what is printed, and of the printer: holders, enclosure.

The models check each value alone; ``rules`` checks them against each other.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from generators.packfile.section import Section
from layouts.pack import EnclosureStyle, Surroundings

__all__ = ["EnclosureSection", "HolderSection", "PrinterSection"]

# closed choices: the word becomes the enum here, once
StyleWord = Annotated[EnclosureStyle, Field(strict=False)]
SurroundingsWord = Annotated[Surroundings, Field(strict=False)]

BedMm = Annotated[float, Field(ge=100, le=2000)]


class HolderSection(Section):
    """The holder at each end of the cells. From outside in: outer face, lip, can end, pocket."""

    clearance_mm: float | None = Field(
        default=None,
        ge=0.05,
        le=1,
        description="Pocket diameter less can diameter, mm. Default {default}: pockets print a "
        "little small, and a sleeve must not tear.",
    )
    web_mm: float | None = Field(
        default=None,
        gt=0,
        le=10,
        description="Plastic between two pockets where they are nearest, mm; at least the nozzle. "
        "Default {default}: three lines of a 0.4 nozzle and their overlap.",
    )
    lip_mm: float | None = Field(
        default=None,
        ge=1,
        le=4,
        description="Thickness of the rim that cans rest on, mm. Default {default}: 1.2, six "
        "layers of 0.2, are left behind a ring seat.",
    )
    depth_mm: float | None = Field(
        default=None,
        ge=4,
        le=40,
        description="How deep a can stands in its pocket, mm. Default {default}: holds the can "
        "upright and leaves most of it open to the air.",
    )
    window_mm: float | None = Field(
        default=None,
        ge=5,
        le=43,
        description="Diameter of the opening that the strip is welded through, mm; at least 2 less "
        "than the can. Default {default}: room for two weld probes, and a lip of about 2 all "
        "round.",
    )
    wall_mm: float | None = Field(
        default=None,
        ge=0.8,
        le=6,
        description="Plastic outside the outermost pockets, mm. Default {default}: four lines of a "
        "0.4 nozzle and their overlap, stiff enough to handle.",
    )
    ring_mm: float | None = Field(
        default=None,
        ge=0,
        le=1,
        description="Thickness of the insulating ring on each positive end, mm; 0 for none. "
        "Default {default}: a usual paper ring with its glue.",
    )
    seat_mm: float | None = Field(
        default=None,
        ge=0,
        le=2,
        description="Depth of the recess for that ring in the lip, positive ends only, mm. Default "
        "{default}: two layers of 0.2, room for a ring of 0.2 to 0.3.",
    )
    web_recess_mm: float | None = Field(
        default=None,
        ge=0.2,
        le=0.6,
        description="How far a web's floor under a strip lies behind the can ends, mm. Default "
        "{default}: a floor that sags a little must not lift the strip off the can.",
    )
    bar_mm: float | None = Field(
        default=None,
        ge=0.2,
        le=2,
        description="Height of the straight bar in a web over a strip channel, mm. Default "
        "{default}: three layers that bridge the channel in a straight line.",
    )
    channel_play_mm: float | None = Field(
        default=None,
        ge=0.2,
        le=2,
        description="Channel width less strip width, mm. Default {default}: strips go in by hand, "
        "and a wider channel would take the lip away.",
    )
    post_mm: float | None = Field(
        default=None,
        ge=7.6,
        le=10,
        description="Diameter of a tie post, mm. Default {default}: an M3 head sunk in it and "
        "a wall of 0.9 round that.",
    )
    screw: Literal["M3"] | None = Field(
        default=None,
        description="Screw through the tie posts. Default {default}: the largest whose post fits "
        "between cells.",
    )


class EnclosureSection(Section):
    """The tub and lid round the held cells."""

    style: StyleWord | None = Field(
        default=None,
        description="tub: a tub open at the top, a lid screwed on, and brackets. none: nothing "
        "but the holders, where the space itself is the case: its cells are then placed in the "
        "space's outline, whatever its shape. Default {default}: the pack is whole by itself.",
    )
    wall_mm: float | None = Field(
        default=None,
        ge=1.2,
        le=10,
        description="Thickness of the tub's walls, mm. Default {default}: between 2.4 and 3.0 a "
        "wall stands a knock and still prints in reasonable time.",
    )
    floor_mm: float | None = Field(
        default=None,
        ge=1.2,
        le=10,
        description="Thickness of the floor, mm. Default {default}: carries the cells' weight.",
    )
    lid_mm: float | None = Field(
        default=None,
        ge=1.2,
        le=10,
        description="Thickness of the lid, mm. Default {default}: presses the stack down between "
        "screws up to 70 apart.",
    )
    vent: Literal["open"] | None = Field(
        default=None,
        description="Default {default}: splash-shielded slots, drained, no claim to be tight. A "
        "closed enclosure can burst when a cell vents, so it is refused until a vent is computed.",
    )
    surroundings: SurroundingsWord | None = Field(
        default=None,
        description="dry or splashed: wet hands are cautioned from 30 V instead of 60 V. Default "
        "{default}: say splashed where water reaches it.",
    )
    side_gap_mm: float | None = Field(
        default=None,
        ge=0.5,
        le=20,
        description="Room between holders and walls, mm. Default {default}: 1 of air or foam and "
        "0.25 of insulating paper.",
    )
    gas_gap_mm: float | None = Field(
        default=None,
        ge=3,
        le=30,
        description="Room kept free over both faces for gas, mm. Default {default}: 3 free and an "
        "insulating sheet of up to 0.5.",
    )
    screw: Literal["M3"] | None = Field(
        default=None,
        description="Lid screws. Default {default}: one every 70 or so holds a lid of this size.",
    )
    insert_mm: float | None = Field(
        default=None,
        ge=3,
        le=15,
        description="Length of the heat-set inserts in the bosses, mm. Default {default}: the "
        "usual long one; its hole is 0.5 deeper.",
    )


class PrinterSection(Section):
    """The printer on the bench."""

    bed_mm: tuple[BedMm, BedMm, BedMm] | None = Field(
        default=None,
        description="Room that the printer prints in, along x, y and z, mm. Default "
        "[220, 220, 250]: a common size.",
    )
    nozzle_mm: float | None = Field(
        default=None,
        ge=0.1,
        le=1.2,
        description="Nozzle diameter, mm: no wall is thinner. Default {default}: fitted to nearly "
        "every printer.",
    )
    layer_mm: float | None = Field(
        default=None,
        ge=0.04,
        le=0.9,
        description="Layer height, mm: at most 0.8 of the nozzle. Default {default}: half the "
        "usual nozzle.",
    )
    material: Literal["petg", "abs", "asa", "pla", "pc", "pa12"] | None = Field(
        default=None,
        description="What is printed. Default {default}: tough, bears 70 C or so, prints on any "
        "printer.",
    )
