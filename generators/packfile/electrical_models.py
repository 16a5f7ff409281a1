"""The form of what stands on a pack's wires: fuse, balance wires, BMS, controller and charger.

The models check each value alone; ``electrical_rules`` checks them against each other.
"""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from generators.packfile.section import CHEMISTRY_PATTERN, Section
from layouts.ratings.bms import Port

__all__ = ["BmsSection", "ChargerSection", "ControllerSection", "FuseSection", "TapsSection"]

PortWord = Annotated[Port, Field(strict=False)]

BoardMm = Annotated[float, Field(ge=1, le=400)]
Volts = Annotated[float, Field(gt=0, le=1000)]


class FuseSection(Section):
    """The main fuse that you have. Left out: one is proposed."""

    rating_a: float = Field(
        gt=0,
        le=2000,
        description="Current that stands on it, A. Required in this section.",
    )
    dc_v: Volts | None = Field(
        default=None,
        description="Direct current volts that it breaks, V. No default: then it is cautioned.",
    )
    breaking_a: float | None = Field(
        default=None,
        gt=0,
        le=1_000_000,
        description="Short-circuit current that it breaks at those volts, A. No default: then it "
        "is cautioned.",
    )
    opens_multiple: float | None = Field(
        default=None,
        gt=1,
        le=20,
        description="Times its rating from which it opens within 5 s, by its data sheet. Default: "
        "3.5 is taken, what bolted vehicle fuses do.",
    )


class TapsSection(Section):
    """The balance wires, one from every joint of the pack to the BMS."""

    awg: int = Field(
        default=22,
        ge=10,
        le=24,
        description="Their gauge. Default 22: most balance plugs take 22 to 26, and thicker wires "
        "break less easily.",
    )
    fused: bool = Field(
        default=False,
        description="Whether each has a fuse of its own where it begins. Default false: then it "
        "is cautioned.",
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


class ControllerSection(Section):
    """What the pack feeds, by its data sheet. Left out: its volts are not checked."""

    lowest_v: Volts | None = Field(
        default=None,
        description="Lowest volts that it runs at, V. No default: then they are not checked.",
    )
    cutoff_v: Volts | None = Field(
        default=None,
        description="Volts from which it stops drawing, V. No default: then only the BMS keeps "
        "cells from being emptied too far.",
    )
    highest_v: Volts | None = Field(
        default=None,
        description="Highest volts that it bears, V. No default: then they are not checked.",
    )
    capacitance_f: float | None = Field(
        default=None,
        gt=0,
        le=10,
        description="Its input capacitance, F: sets the precharge resistor. No default: then none "
        "is worked out.",
    )
    capacitance_uf: float | None = Field(
        default=None,
        gt=0,
        le=10_000_000,
        description="The same in microfarad. No default; give one of the two.",
    )


class ChargerSection(Section):
    """The charger. Left out: nothing about charge is checked."""

    volts_v: Volts = Field(description="Volts that it ends at, V. Required in this section.")
    amps_a: float = Field(gt=0, le=1000, description="Its current, A. Required in this section.")
    chemistry: str | None = Field(
        default=None,
        pattern=CHEMISTRY_PATTERN,
        description="Chemistry that it is sold for, as cell.chemistry. No default: then its volts "
        "alone are compared.",
    )
    wire_mm2: float | None = Field(
        default=None,
        ge=0.21,
        le=95,
        description="Copper section of its wires within the pack, mm2. No default: then no fuse "
        "is worked out for them.",
    )
