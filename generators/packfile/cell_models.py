"""The form of the cells: one cell by its data sheet, and how placed cells are grouped.

The models check each value alone; ``rules`` checks them against each other.
"""

from __future__ import annotations

from typing import Annotated

from pydantic import BeforeValidator, Field

from generators.packfile.section import CHEMISTRY_PATTERN, MOST_CELLS, PlaceMm, Section, SideWord

__all__ = ["CellSection", "GroupingSection", "PinEntry"]


def _number_as_text(value: object) -> object:
    """A format is a name that looks like a number: take 21700 as "21700"."""
    return str(value) if isinstance(value, int) and not isinstance(value, bool) else value


FormatText = Annotated[
    str,
    Field(pattern=r"^[A-Za-z0-9][A-Za-z0-9 ._-]{0,23}$"),
    BeforeValidator(_number_as_text, json_schema_input_type=str | int),
]
CelsiusC = Annotated[float, Field(ge=-60, le=100)]


class CellSection(Section):
    """One cell, by its data sheet and by measurement."""

    format: FormatText = Field(
        description="Trade name of the cell size, in quotes. 18650, 21700, 26650 and 32700 are "
        "built in; any other size needs measured_diameter_mm and measured_length_mm. Required: "
        "every printed part follows from it.",
    )
    chemistry: str | None = Field(
        default=None,
        pattern=CHEMISTRY_PATTERN,
        description="nmc, nca, lfp or lto set the cell voltages; any other word needs empty_v, "
        "nominal_v and full_v. Default lfp for 32700, which is nearly always sold so; else nmc, "
        "with a caution, since all voltages follow from it.",
    )
    measured_diameter_mm: float | None = Field(
        default=None,
        ge=12,
        le=45,
        description="Largest measured diameter of your cells over the sleeve, mm; replaces the "
        "value of the format. Default {size.diameter_mm}: the largest usual cell of that format.",
    )
    diameter_spread_mm: float | None = Field(
        default=None,
        ge=0,
        le=0.5,
        description="Standard deviation of your cells' diameters over the sleeve, mm. Default "
        "{default}: judged; the check second_holder_goes_on follows.",
    )
    mean_below_mm: float | None = Field(
        default=None,
        ge=0,
        le=1,
        description="By how much the mean of your cells' diameters lies below the largest, mm. "
        "Default {default}: judged; the check second_holder_goes_on follows.",
    )
    measured_length_mm: float | None = Field(
        default=None,
        ge=25,
        le=150,
        description="Measured length of your longest cell with sleeve and button, mm; replaces the "
        "value of the format. Default {size.longest_mm}: the longest usual cell of that format.",
    )
    shortest_length_mm: float | None = Field(
        default=None,
        ge=25,
        le=150,
        description="Measured length of your shortest cell, mm; a large spread is cautioned, since "
        "a short cell stands back from the strip. No default: then the spread is not checked.",
    )
    capacity_ah: float | None = Field(
        default=None,
        gt=0,
        le=200,
        description="Rated capacity of one cell, Ah. Default: typical of the size and chemistry, "
        "with a caution, since only the data sheet gives it.",
    )
    continuous_a: float | None = Field(
        default=None,
        gt=0,
        le=500,
        description="Rated continuous discharge current of one cell, A. Default: 1C, the current "
        "that empties it in one hour, which nearly every cell allows, with a caution.",
    )
    peak_a: float | None = Field(
        default=None,
        gt=0,
        le=1000,
        description="Rated discharge current of one cell for peak_s, A. No default: then no peak "
        "rating is assumed.",
    )
    peak_s: float | None = Field(
        default=None,
        gt=0,
        le=3600,
        description="Duration of peak_a, s. Default 10 where peak_a is given: the duration of most "
        "data sheets.",
    )
    charge_a: float | None = Field(
        default=None,
        gt=0,
        le=500,
        description="Rated charge current of one cell, A. No default: then no charge current is "
        "stated.",
    )
    internal_resistance_mohm: float | None = Field(
        default=None,
        gt=0,
        le=1000,
        description="Direct-current resistance of one cell, mohm: sets voltage drop and heat, and "
        "is 1.5 to 3 times the 1 kHz value of many data sheets. Default: typical of the capacity, "
        "with a caution.",
    )
    ac_resistance_mohm: float | None = Field(
        default=None,
        gt=0,
        le=1000,
        description="Resistance of one cell at 1 kHz, mohm: sets the prospective short-circuit "
        "current. No default: then a third of internal_resistance_mohm is assumed, with a caution.",
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
        description="Highest permitted temperature of the can in use, C. Default 60: the usual "
        "limit for discharge.",
    )
    charge_c: tuple[CelsiusC, CelsiusC] | None = Field(
        default=None,
        description="Lowest and highest permitted temperature for charge, C. Default [0, 45], and "
        "never above max_c: the usual limits.",
    )
    discharge_least_c: float | None = Field(
        default=None,
        ge=-60,
        le=60,
        description="Lowest permitted temperature for discharge, C. Default -20: the usual limit.",
    )
    empty_v: float | None = Field(
        default=None,
        ge=0.5,
        le=5,
        description="Discharge cut-off voltage of one cell, V. Default {volts.empty_v}: usual for "
        "the chemistry; the data sheet takes precedence.",
    )
    nominal_v: float | None = Field(
        default=None,
        ge=0.5,
        le=5,
        description="Nominal (average) voltage of one cell, V. Default {volts.nominal_v}: usual "
        "for the chemistry; the data sheet takes precedence.",
    )
    full_v: float | None = Field(
        default=None,
        ge=0.5,
        le=5,
        description="Full-charge voltage of one cell, V. Default {volts.full_v}: usual for the "
        "chemistry; the data sheet takes precedence.",
    )


class PinEntry(Section):
    """One cell that must belong to a given group."""

    at_mm: tuple[PlaceMm, PlaceMm] = Field(
        description="Position in the space's plan, mm; the nearest cell is meant. Required.",
    )
    group: int = Field(ge=1, le=MOST_CELLS, description="Number of its group, from 1. Required.")


class GroupingSection(Section):
    """Groups of cells that are placed in the outline of the space (enclosure.style none)."""

    voltage_weight: float = Field(
        default=0.2,
        ge=0,
        le=10,
        description="Share of the largest possible contact between consecutive groups that may be "
        "given up so that no other groups touch. Default 0.2: slightly less contact costs little, "
        "distant groups side by side need a barrier; 0 considers contact alone.",
    )
    volts_limit: float | None = Field(
        default=None,
        gt=0,
        le=10_000,
        description="Highest permitted voltage between two touching cells at full charge, V. No "
        "default: then the highest is reported, and the check can_spacing covers the gap.",
    )
    minus_side: SideWord | None = Field(
        default=None,
        description="Side of the space's plan where group 1, pack minus, is to end. Default: the "
        "side of the leads.",
    )
    plus_side: SideWord | None = Field(
        default=None,
        description="Side of the space's plan where the last group, pack plus, is to end. Default: "
        "the side of the leads.",
    )
    pins: tuple[PinEntry, ...] = Field(
        default=(),
        max_length=1000,
        description="Cells that must belong to a given group. Default none: all are free.",
    )
    exclude_mm: tuple[tuple[PlaceMm, PlaceMm], ...] = Field(
        default=(),
        max_length=1000,
        description="Positions in the space's plan where no cell may stand, mm: the cell nearest "
        "to each, within half a pitch, is left out. Default none: cells may stand anywhere.",
    )
