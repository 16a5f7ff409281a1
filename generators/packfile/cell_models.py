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
    """One cell, as its data sheet and your calliper give it."""

    format: FormatText = Field(
        description="Trade name of the can's size, in quotes. 18650, 21700, 26650 and 32700 are "
        "built in; any other needs measured_diameter_mm and measured_length_mm. Required: "
        "everything that is printed follows from it.",
    )
    chemistry: str = Field(
        default="nmc",
        pattern=CHEMISTRY_PATTERN,
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
    minus_side: SideWord | None = Field(
        default=None,
        description="Side of the space's plan where group 1, pack minus, shall end. Default: the "
        "side of the leads.",
    )
    plus_side: SideWord | None = Field(
        default=None,
        description="The same for the last group, pack plus. Default: the side of the leads.",
    )
    pins: tuple[PinEntry, ...] = Field(
        default=(),
        max_length=1000,
        description="Cells that must belong to a group. Default none: all are free.",
    )
    exclude_mm: tuple[tuple[PlaceMm, PlaceMm], ...] = Field(
        default=(),
        max_length=1000,
        description="Places in the space's plan where no cell may stand, mm: the cell nearest to "
        "each, within half a pitch, is left out. Default none.",
    )
