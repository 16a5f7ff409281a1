"""The pack file's form: every key with its unit, its bounds, its default and the reason for it.

The models check each value alone; ``resolve`` fills in defaults and checks values against each
other. A key left out is None here, since most defaults follow the can's size. In descriptions
``{default}`` stands for the default, which ``schema`` fills in from ``layouts.defaults``.
"""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field

from generators.packfile.electrical_models import (
    ChargerSection,
    ControllerSection,
    FuseSection,
    TapsSection,
)
from generators.packfile.section import Section
from generators.packfile.space_models import FileText, SpaceSection
from layouts.pack import EnclosureStyle, Side, Surroundings
from layouts.ratings.bms import Port
from layouts.ratings.wire import AmpacityTable

__all__ = ["PackFile"]

MOST_CELLS = 10_000
NAME_PATTERN = r"^[A-Za-z0-9][A-Za-z0-9_-]{0,63}$"


def _number_as_text(value: object) -> object:
    """A format is a name that looks like a number: take 21700 as "21700"."""
    return str(value) if isinstance(value, int) and not isinstance(value, bool) else value


def _or_a_file(form: dict[str, Any]) -> None:
    """A space may be a file of its own: the schema takes its path too."""
    form["anyOf"].append({"type": "string"})


# closed choices: the word becomes the enum here, once
LatticeWord = Literal["honeycomb", "grid", "free"]
SideWord = Annotated[Side, Field(strict=False)]
StyleWord = Annotated[EnclosureStyle, Field(strict=False)]
SurroundingsWord = Annotated[Surroundings, Field(strict=False)]
TableWord = Annotated[AmpacityTable, Field(strict=False)]
PortWord = Annotated[Port, Field(strict=False)]

FormatText = Annotated[
    str,
    Field(pattern=r"^[A-Za-z0-9][A-Za-z0-9 ._-]{0,23}$"),
    BeforeValidator(_number_as_text, json_schema_input_type=str | int),
]
BedMm = Annotated[float, Field(ge=100, le=2000)]
BoardMm = Annotated[float, Field(ge=1, le=400)]
CelsiusC = Annotated[float, Field(ge=-60, le=100)]
AccelerationG = Annotated[float, Field(ge=0, le=50)]
PlaceMm = Annotated[float, Field(ge=-10_000, le=10_000)]
OffsetMm = Annotated[float, Field(ge=-300, le=300)]
ScriptText = Annotated[str, Field(pattern=r"^\S.{0,395}\.py$")]


class CellSection(Section):
    """One cell, as its data sheet and your calliper give it."""

    format: FormatText = Field(
        description="Trade name of the can's size, in quotes. 18650, 21700, 26650 and 32700 are "
        "built in; any other needs measured_diameter_mm and measured_length_mm. Required: "
        "everything that is printed follows from it.",
    )
    chemistry: str = Field(
        default="nmc",
        pattern=r"^[A-Za-z0-9][A-Za-z0-9_-]{0,23}$",
        description="nmc, nca, lfp or lto set the volts; another word needs empty_v, nominal_v and "
        "full_v. Default nmc: the usual chemistry of small power cells.",
    )
    measured_diameter_mm: float | None = Field(
        default=None,
        ge=12,
        le=45,
        description="Largest diameter of your cells over the sleeve, measured, mm. Wins over the "
        "format's. Default {size.diameter_mm}: the largest usual can of that format.",
    )
    measured_length_mm: float | None = Field(
        default=None,
        ge=25,
        le=150,
        description="Length of your longest cell, sleeve and button on, measured, mm. Wins over "
        "the format's. Default {size.longest_mm}: the longest usual can of that format.",
    )
    shortest_length_mm: float | None = Field(
        default=None,
        ge=25,
        le=150,
        description="Length of your shortest cell, measured, mm: a lot that differs much is "
        "cautioned, since short cells stand back from the strips. No default: nothing said of it.",
    )
    capacity_ah: float | None = Field(
        default=None,
        gt=0,
        le=200,
        description="Rated charge of one cell, Ah. Default: a plain cell of that size and "
        "chemistry, with a caution, since only the data sheet knows.",
    )
    continuous_a: float | None = Field(
        default=None,
        gt=0,
        le=500,
        description="Current that one cell may give without end, A. Default: the capacity in one "
        "hour, which nearly every cell bears, with a caution.",
    )
    peak_a: float | None = Field(
        default=None,
        gt=0,
        le=1000,
        description="Current that one cell may give for peak_s, A. No default: then no peaks are "
        "counted on.",
    )
    peak_s: float | None = Field(
        default=None,
        gt=0,
        le=3600,
        description="How long peak_a may last, s. Default 10 where peak_a is given: the time most "
        "data sheets mean.",
    )
    charge_a: float | None = Field(
        default=None,
        gt=0,
        le=500,
        description="Current that one cell may be charged with, A. No default: then no charge "
        "current is stated.",
    )
    internal_resistance_mohm: float | None = Field(
        default=None,
        gt=0,
        le=1000,
        description="Resistance to direct current, mohm: sets sag and heat, and is 1.5 to 3 times "
        "the 1 kHz value that many sheets print. Default: a plain cell of that capacity, with a "
        "caution.",
    )
    ac_resistance_mohm: float | None = Field(
        default=None,
        gt=0,
        le=1000,
        description="Resistance at 1 kHz, mohm: sets the short-circuit current. No default: a "
        "third of the other is taken for that, with a caution.",
    )
    mass_g: float | None = Field(
        default=None,
        gt=0,
        le=2000,
        description="Mass of one cell, g. Default {size.mass_g}: a usual cell of that format.",
    )
    max_c: float = Field(
        default=60.0,
        ge=30,
        le=100,
        description="Highest temperature of the can in use, C. Default 60: the usual limit for "
        "discharge.",
    )
    charge_c: tuple[CelsiusC, CelsiusC] | None = Field(
        default=None,
        description="Temperatures between which it may be charged, C. Default [0, 45], and never "
        "above max_c: usual.",
    )
    discharge_least_c: float | None = Field(
        default=None,
        ge=-60,
        le=60,
        description="Lowest temperature at which it may be discharged, C. Default -20: usual.",
    )
    empty_v: float | None = Field(
        default=None,
        ge=0.5,
        le=5,
        description="Volts of an empty cell. Default {volts.empty_v}: usual for the chemistry; "
        "the data sheet's wins.",
    )
    nominal_v: float | None = Field(
        default=None,
        ge=0.5,
        le=5,
        description="Volts on average. Default {volts.nominal_v}: usual for the chemistry; the "
        "data sheet's wins.",
    )
    full_v: float | None = Field(
        default=None,
        ge=0.5,
        le=5,
        description="Volts of a full cell. Default {volts.full_v}: usual for the chemistry; the "
        "data sheet's wins.",
    )


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
    floor_behind_mm: float | None = Field(
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


class StripSection(Section):
    """The weld strips on both faces."""

    material: Literal["nickel", "copper", "steel", "aluminium"] | None = Field(
        default=None,
        description="nickel (pure), copper, steel (nickel-plated) or aluminium; copper and "
        "aluminium ask for a strong welder or a laser. Default {default}: welds on a bench and "
        "does not rust.",
    )
    row_width_mm: float | None = Field(
        default=None,
        ge=2,
        le=30,
        description="Width of the strips along a group, mm. Default {default}: narrow on a "
        "honeycomb, as the links carry the current and the lip must keep its tabs.",
    )
    link_width_mm: float | None = Field(
        default=None,
        ge=2,
        le=30,
        description="Width of the strips from one group to the next, mm. Default {default}: the "
        "widest that leave tabs of lip between them.",
    )
    lead_width_mm: float | None = Field(
        default=None,
        ge=2,
        le=30,
        description="Width of the rows that carry a main lead, mm. Default {default}: they carry "
        "the current of all cells, and no links cross them.",
    )
    thickness_mm: float | None = Field(
        default=None,
        ge=0.05,
        le=0.5,
        description="Thickness of one layer, mm. Default {default}: about the most that a bench "
        "welder goes through.",
    )
    layers: int | None = Field(
        default=None,
        ge=1,
        le=4,
        description="Strips on top of each other. Default {default}: more only where the current "
        "asks.",
    )
    shape: Literal["single", "ladder", "sheet"] | None = Field(
        default=None,
        description="How the strips of a joint are cut for templates/pieces.dxf. single: every "
        "strip for itself; ladder: rows and links in one; sheet: all of a joint in one. Default "
        "{default}: from coil with scissors.",
    )
    stock_mm: float | None = Field(
        default=None,
        ge=100,
        le=100_000,
        description="Length that strip is bought in, mm, for the cutting list. Default 1000, or "
        "coils of 10 000 for a width with a longer strip: as sold.",
    )
    weld_spots: int | None = Field(
        default=None,
        ge=1,
        le=20,
        description="Weld spots on each cell end. Default {default}: two pairs.",
    )
    weld_spot_mohm: float | None = Field(
        default=None,
        gt=0,
        le=100,
        description="Resistance of one weld spot, mohm. Default {default}: a sound spot on "
        "nickel, on the high side.",
    )
    weld_spot_a: float | None = Field(
        default=None,
        gt=0,
        le=200,
        description="Current that one weld spot bears without end, A. Default {default}: some "
        "hundredths of a watt in each spot.",
    )
    density_a_mm2: float | None = Field(
        default=None,
        gt=0,
        le=50,
        description="Current that the strips bear without end, A per mm2 of their section. "
        "Default: nickel 7, steel 4, copper 15, aluminium 9, upper ends of what builders allow.",
    )


class LeadsSection(Section):
    """The two main leads."""

    side: SideWord | None = Field(
        default=None,
        description="Side of the space's plan where they leave. Default {default}: with no space "
        "given the pack's own long way.",
    )
    wire_mm2: float | None = Field(
        default=None,
        ge=0.2,
        le=95,
        description="Copper section of each lead, mm2. Default {default}: carries the 40 A or so "
        "of a small machine.",
    )
    outside_mm: float | None = Field(
        default=None,
        ge=1,
        le=25,
        description="Outside diameter of each lead, mm: sets the outlet. Default: follows from "
        "wire_mm2 for fine strands (copper 0.6 of the round) in 1.2 mm of insulation, 6.5 at 8 "
        "mm2.",
    )
    length_mm: float | None = Field(
        default=None,
        ge=20,
        le=10_000,
        description="Length of each lead from the outlet, mm. Default {default}: reaches a "
        "controller nearby.",
    )
    table: TableWord | None = Field(
        default=None,
        description="Which table the wire's current is taken from: free_air (one wire alone), "
        "bundled (many together), cable_60, cable_75 or cable_90 (up to three together, the "
        "conductor at those C), marine_105. Default {default}: insulation for 75 C, as common as "
        "any, and the fuse's terminals bear it.",
    )
    connector_a: float | None = Field(
        default=None,
        gt=0,
        le=2000,
        description="Current that the leads' connector bears without end, A. No default: then it "
        "limits nothing.",
    )


class BmsSection(Section):
    """The protection board; it gets a room of its own beside the cells."""

    board_mm: tuple[BoardMm, BoardMm, BoardMm] | None = Field(
        default=None,
        description="Length, width and thickness of the board, wires not counted, mm. Default "
        "[60, 25, 8] up to 4 in series, [80, 50, 10] up to 7, [110, 60, 12] above: usual boards.",
    )
    continuous_a: float | None = Field(
        default=None,
        gt=0,
        le=1000,
        description="Current that the board bears without end, A. No default: then the board "
        "limits nothing.",
    )
    series: int | None = Field(
        default=None,
        ge=1,
        le=1000,
        description="Cells in series that it counts. No default: then it is cautioned.",
    )
    charge_a: float | None = Field(
        default=None,
        gt=0,
        le=1000,
        description="Charge current that it bears, A. No default: on a common port continuous_a "
        "stands in for it.",
    )
    port: PortWord | None = Field(
        default=None,
        description="common: charger and load on one pair of poles; separate: on two. No default: "
        "then it is cautioned.",
    )
    cold_charge_stop: bool | None = Field(
        default=None,
        description="Whether it stops charge of cells below freezing. No default: then it is "
        "cautioned.",
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


class MountSection(Section):
    """What the frame offers for the brackets."""

    offers: Literal["plate", "script"] | None = Field(
        default=None,
        description="Default {default}: a flat face with holes under each bracket's foot. script: "
        "the same, and brackets that a script of your own draws.",
    )
    script: ScriptText | None = Field(
        default=None,
        description="Python file with a function bracket(sizes) that returns one bracket as a "
        "CadQuery Workplane; the path counts from this file's folder. It is run only with "
        "--allow-scripts. No default: required where offers is script.",
    )
    screw: Literal["M3", "M4", "M5", "M6", "M8"] | None = Field(
        default=None,
        description="Screw through a bracket's foot into the frame. Default {default}: usual on "
        "small frames.",
    )
    holes_mm: (
        Annotated[tuple[tuple[OffsetMm, OffsetMm], ...], Field(min_length=1, max_length=8)] | None
    ) = Field(
        default=None,
        description="Holes of one foot as [along the enclosure, away from it], mm, from the first "
        "hole, which is [0, 0]. Default [[0, 0], [20, 0]]: two, so that the foot can't turn.",
    )


class LoadSection(Section):
    """What the machine asks. Left out: ratings are reported and nothing about current fails."""

    continuous_a: float | None = Field(
        default=None,
        gt=0,
        le=2000,
        description="Current that the machine draws for long, A. No default: this or continuous_w "
        "is required in this section, since only you know it.",
    )
    continuous_w: float | None = Field(
        default=None,
        gt=0,
        le=200_000,
        description="The same in watts: most amps are drawn when the pack is empty. No default: "
        "give it instead of continuous_a.",
    )
    peak_a: float | None = Field(
        default=None,
        gt=0,
        le=5000,
        description="Highest current that it draws, A. No default: then there are no peaks.",
    )
    peak_w: float | None = Field(
        default=None,
        gt=0,
        le=500_000,
        description="The same in watts. No default: give it instead of peak_a.",
    )
    peak_s: float | None = Field(
        default=None,
        gt=0,
        le=3600,
        description="How long a peak lasts, s. Default 10 where a peak is given: a start or a "
        "short slope.",
    )
    regeneration_a: float | None = Field(
        default=None,
        gt=0,
        le=2000,
        description="Current that its motor gives back when it brakes, A. No default: then it "
        "gives none back.",
    )
    profile: FileText | None = Field(
        default=None,
        description="A CSV file of what it draws over time, its first line seconds,watts or "
        "seconds,watts,km_h; the path counts from this file's folder. Each row's watts last until "
        "the next row. No default: then no run time is worked out.",
    )
    cutoff_v: float | None = Field(
        default=None,
        gt=0,
        le=1000,
        description="Volts of the pack under load from which the machine stops, V: ends the run "
        "time. Default: the controller's cut-off, else none.",
    )
    ambient_c: float = Field(
        default=25.0,
        ge=-40,
        le=70,
        description="Warmest air round the pack in use, C. Default 25: a mild day.",
    )
    acceleration_g: tuple[AccelerationG, AccelerationG, AccelerationG] = Field(
        default=(4.0, 4.0, 6.0),
        description="Shocks along x, y, z that the mounting must hold, in g. Default [4, 4, 6]: "
        "small wheeled machines on rough ground.",
    )


class PinEntry(Section):
    """One cell that must belong to a group."""

    at_mm: tuple[PlaceMm, PlaceMm] = Field(
        description="A place in the space's plan: the cell nearest to it is meant, mm. Required.",
    )
    group: int = Field(ge=1, le=MOST_CELLS, description="Its group, from 1. Required.")


class GroupingSection(Section):
    """Groups of cells that are placed in the space's outline (enclosure.style none)."""

    voltage_weight: float = Field(
        default=0.2,
        ge=0,
        le=10,
        description="Share of the widest possible front that may be given up so that only "
        "consecutive groups touch. Default 0.2: a somewhat narrower front costs little, distant "
        "groups side by side need a barrier; 0 looks at fronts alone.",
    )
    volts_limit: float | None = Field(
        default=None,
        gt=0,
        le=10_000,
        description="Most volts between two touching cells, full. No default: then the highest is "
        "told, and can_spacing checks the gap.",
    )
    first_side: SideWord | None = Field(
        default=None,
        description="Side of the space's plan where group 1, pack minus, shall end. Default: the "
        "side of the leads.",
    )
    last_side: SideWord | None = Field(
        default=None,
        description="The same for the last group, pack plus. Default: the side of the leads.",
    )
    pins: tuple[PinEntry, ...] = Field(
        default=(),
        max_length=1000,
        description="Cells that must belong to a group. Default none: all are free.",
    )
    forbid_mm: tuple[tuple[PlaceMm, PlaceMm], ...] = Field(
        default=(),
        max_length=1000,
        description="Places in the space's plan where no cell may stand, mm: the cell nearest to "
        "each, within half a pitch, is left out. Default none.",
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


class PackFile(Section):
    """A battery pack of cylindrical cells: what it is made of, where it goes, how it is printed."""

    name: str = Field(
        pattern=NAME_PATTERN,
        description="The pack's name: letters, digits, - and _, up to 64. Names the folder of the "
        "result. Required.",
    )
    cell: CellSection = Field(description="One cell. Required.")
    series: int = Field(
        ge=1,
        le=MOST_CELLS,
        description="Groups in series. Required. Series times parallel is at most 10,000.",
    )
    parallel: int = Field(
        ge=1, le=MOST_CELLS, description="Cells side by side in a group. Required."
    )
    lattice: LatticeWord = Field(
        default="honeycomb",
        description="honeycomb, grid, or free: as many cells as go into an odd shape, on no "
        "lattice, so without straight strips. Default honeycomb: 13 % less room; a grid leaves "
        "more lip and has room for screws between cells.",
    )
    holder: HolderSection = Field(default=HolderSection(), description="The holders.")
    strip: StripSection = Field(default=StripSection(), description="The weld strips.")
    leads: LeadsSection = Field(default=LeadsSection(), description="The main leads.")
    fuse: FuseSection | None = Field(default=None, description="The main fuse that you have.")
    taps: TapsSection = Field(default=TapsSection(), description="The balance wires.")
    bms: BmsSection = Field(default=BmsSection(), description="The protection board.")
    disconnect: bool | None = Field(
        default=None,
        description="Whether there is a plug or switch within reach that disconnects the pack by "
        "hand, rated for its direct current and volts. No default: then it is cautioned.",
    )
    controller: ControllerSection | None = Field(
        default=None, description="What the pack feeds. Left out: its volts are not checked."
    )
    charger: ChargerSection | None = Field(
        default=None, description="The charger. Left out: nothing about charge is checked."
    )
    enclosure: EnclosureSection = Field(default=EnclosureSection(), description="Tub and lid.")
    mount: MountSection = Field(default=MountSection(), description="Where brackets bolt to.")
    space: SpaceSection | None = Field(
        default=None,
        json_schema_extra=_or_a_file,
        description="The room in the machine; or the path of a file with these keys at its top "
        "level. Left out: nothing checks whether the pack fits.",
    )
    grouping: GroupingSection = Field(
        default=GroupingSection(), description="Groups of cells placed in an outline."
    )
    load: LoadSection | None = Field(
        default=None,
        description="What the machine asks. Left out: nothing about current can fail.",
    )
    printer: PrinterSection = Field(default=PrinterSection(), description="The printer.")
    spacing_floor_mm: float = Field(
        default=0.0,
        ge=0,
        le=20,
        description="Least distance between bare parts of two potentials, mm, whatever the table "
        "of volts says. Default 0: the table alone.",
    )
