"""The form of the copper and nickel that carries the current: weld strips and main leads.

The models check each value alone; ``rules`` checks them against each other.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from generators.packfile.section import Section, SideWord
from layouts.pack import JointForm
from layouts.ratings.wire import AmpacityTable

__all__ = ["LeadsSection", "StripSection"]

JointWord = Annotated[JointForm, Field(strict=False)]
TableWord = Annotated[AmpacityTable, Field(strict=False)]


NeckMm = Annotated[float, Field(ge=1, le=12)]


class StripSection(Section):
    """The weld strips on both faces."""

    joints: JointWord | None = Field(
        default=None,
        description="plates: one cut sheet for each joint, with holes in which the lip stands; "
        "its metal is chosen unless material, thickness_mm or layers is given; widths and shape of "
        "strips are not read. links: straight strips, as many as the lip allows, for those who "
        "have narrow strip only. A string of single cells is always joined by strips. Default "
        "{default}, a tenth of the pieces and a quarter of the weld spots; links where no plates "
        "hold, said in the report.",
    )
    material: Literal["nickel", "high_purity_nickel", "copper", "steel", "aluminium"] | None = (
        Field(
            default=None,
            description="nickel (commercially pure, 99.6 %), high_purity_nickel (99.9 % by "
            "its data sheet: a quarter less resistance), copper, steel (nickel-plated) or "
            "aluminium; copper and aluminium require a high-power or laser welder. Default "
            "{default}: suits a bench spot welder and does not rust.",
        )
    )
    row_width_mm: float | None = Field(
        default=None,
        ge=2,
        le=30,
        description="Width of the strips along a group, mm. Default {default}: narrow on a "
        "honeycomb, where the links carry the current and the lip must keep its tabs.",
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
        description="Width of the rows that a main lead is joined to, mm. Default {default}: they "
        "carry the full pack current, and no links cross them.",
    )
    thickness_mm: float | None = Field(
        default=None,
        ge=0.05,
        le=0.5,
        description="Thickness of one layer, mm. Default for strips {default}: about the most that "
        "a bench spot welder can weld; for plates it is chosen, 0.15 first.",
    )
    layers: int | None = Field(
        default=None,
        ge=1,
        le=4,
        description="Number of strips or plates on top of each other. Default {default}: more only "
        "where the current requires it.",
    )
    shape: Literal["single", "ladder", "sheet"] | None = Field(
        default=None,
        description="How the strips of a joint are cut for templates/pieces.dxf. single: each "
        "strip separately; ladder: rows and links in one piece; sheet: the whole joint in one "
        "piece. Default {default}: cut from coil with scissors.",
    )
    stock_mm: float | None = Field(
        default=None,
        ge=100,
        le=100_000,
        description="Length in which strip is bought, mm, for the cutting list. Default 1000, or "
        "coils of 10 000 for a width with a longer strip: usual stock.",
    )
    stock_width_mm: float | None = Field(
        default=None,
        ge=5,
        le=1000,
        description="Width of the sheet or roll that plates are cut from, mm. Default: what the "
        "widest plate needs, rounded up to whole 5 mm.",
    )
    cell_fuse_mm: tuple[NeckMm, NeckMm] | None = Field(
        default=None,
        description="Plates only: width and length of a fusible neck between every positive end "
        "and the rest of its plate, mm, [1, 4] for example, at least 1.5 times as long as wide. It "
        "separates one shorted cell from its group; it never breaks the pack's voltage and "
        "replaces no main fuse. No default: then there are no necks.",
    )
    weld_spots: int | None = Field(
        default=None,
        ge=1,
        le=20,
        description="Number of weld spots on each cell end. Default {default}, on plates more "
        "where the current requires it: two pairs, so that one bad pair opens nothing.",
    )
    weld_spot_mohm: float | None = Field(
        default=None,
        gt=0,
        le=100,
        description="Resistance of one weld spot, mohm. Default {default}: a sound spot on nickel, "
        "upper end of the range.",
    )
    weld_spot_a: float | None = Field(
        default=None,
        gt=0,
        le=200,
        description="Permitted continuous current of one weld spot, A. Default {default}: a few "
        "hundredths of a watt in each spot.",
    )
    current_density_a_mm2: float | None = Field(
        default=None,
        gt=0,
        le=50,
        description="Permitted continuous current density of the strips, A/mm2. Default nickel 7, "
        "steel 4, copper 15, aluminium 9: upper ends of what builders allow.",
    )


class LeadsSection(Section):
    """The two main leads."""

    side: SideWord | None = Field(
        default=None,
        description="Side of the space's plan where the leads leave. Default {default}: where no "
        "space is given, along the pack's length.",
    )
    wire_mm2: float | None = Field(
        default=None,
        ge=0.21,
        le=95,
        description="Conductor cross-section of each lead, mm2. Default {default}: carries the 40 "
        "A or so of a small machine.",
    )
    outside_mm: float | None = Field(
        default=None,
        ge=1,
        le=25,
        description="Outside diameter of each lead, mm: sets the outlet. Default: calculated from "
        "wire_mm2 for fine strands (copper fills 0.6 of the round) in 1.2 mm of insulation, 6.5 at "
        "8 mm2.",
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
        description="Table for the permitted current of the wire: free_air (a single wire), "
        "bundled (many together), cable_60, cable_75 or cable_90 (up to three together, conductor "
        "at that temperature in C), marine_105. Default {default}: 75 C insulation is common, and "
        "the fuse's terminals are rated for it.",
    )
    connector_a: float | None = Field(
        default=None,
        gt=0,
        le=2000,
        description="Rated continuous current of the leads' connector, A. No default: then it sets "
        "no limit.",
    )
