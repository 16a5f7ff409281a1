"""The form of what is wired to a pack: fuse, balance leads, BMS, controller and charger.

The models check each value alone; ``electrical_rules`` checks them against each other.
"""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from generators.packfile.section import CHEMISTRY_PATTERN, CornersMm, Section, SideWord
from layouts.ratings.bms import Port

__all__ = ["BmsSection", "ChargerSection", "ControllerSection", "FuseSection", "TapsSection"]

PortWord = Annotated[Port, Field(strict=False)]

BoardMm = Annotated[float, Field(ge=1, le=400)]
Volts = Annotated[float, Field(gt=0, le=1000)]


class FuseSection(Section):
    """The main fuse that is fitted. Left out: one is proposed."""

    rating_a: float = Field(
        gt=0,
        le=2000,
        description="Rated current, A. Required in this section.",
    )
    dc_v: Volts | None = Field(
        default=None,
        description="Rated DC voltage, V. No default: then a caution says so.",
    )
    breaking_a: float | None = Field(
        default=None,
        gt=0,
        le=1_000_000,
        description="Breaking capacity at that voltage, A. No default: then a caution says so.",
    )
    opens_multiple: float | None = Field(
        default=None,
        gt=1,
        le=20,
        description="Multiple of the rating at which the fuse opens within 5 s, by its data sheet. "
        "Default 3.5: bolted vehicle fuses.",
    )
    loss_w: float | None = Field(
        default=None,
        gt=0,
        le=200,
        description="Heat of the fuse at its rated current, W. Default: what a voltage drop of "
        "0.1 V makes: most fuses have less.",
    )
    place: SideWord | None = Field(
        default=None,
        description="The side of the held cells, as in the plan of the space, where the room for "
        "fuse and glands must stand: +x, -x, +y or -y. Only in a fitted enclosure. No default: "
        "where the enclosure takes least plastic.",
    )
    place_mm: CornersMm | None = Field(
        default=None,
        description="Two opposite corners of a rectangle in the plan of the space, within which "
        "that room must lie, mm. Only in a fitted enclosure. No default: anywhere.",
    )


class TapsSection(Section):
    """The balance leads, one from every joint of the pack to the BMS."""

    awg: int = Field(
        default=22,
        ge=10,
        le=24,
        description="Wire gauge, AWG. Default 22: most balance connectors take 22 to 26, and "
        "thicker wires break less easily.",
    )
    fused: bool = Field(
        default=False,
        description="true where each balance lead has a fuse of its own at its start. Default "
        "false: then a caution says so.",
    )


class BmsSection(Section):
    """The protection board (BMS), in a compartment of its own beside the cells."""

    board_mm: tuple[BoardMm, BoardMm, BoardMm] | None = Field(
        default=None,
        description="Length, width and thickness of the board without wires, mm. Default [60, 25, "
        "8] up to 4 in series, [80, 50, 10] up to 7, [110, 60, 12] above: usual boards.",
    )
    continuous_a: float | None = Field(
        default=None,
        gt=0,
        le=1000,
        description="Rated continuous current of the board, A. No default: then it sets no limit.",
    )
    peak_a: float | None = Field(
        default=None,
        gt=0,
        le=2000,
        description="Rated current of the board for peak_s, A. No default: then continuous_a must "
        "cover a peak.",
    )
    peak_s: float | None = Field(
        default=None,
        gt=0,
        le=3600,
        description="Duration of peak_a, s. Default 10 where peak_a is given: the duration of most "
        "data sheets.",
    )
    series: int | None = Field(
        default=None,
        ge=1,
        le=1000,
        description="Number of cells in series that the board is made for. No default: then a "
        "caution says so.",
    )
    charge_a: float | None = Field(
        default=None,
        gt=0,
        le=1000,
        description="Rated charge current of the board, A. No default: on a common port "
        "continuous_a is used instead.",
    )
    port: PortWord | None = Field(
        default=None,
        description="common: charger and load on the same terminals; separate: on terminals of "
        "their own. No default: then a caution says so.",
    )
    cold_charge_stop: bool | None = Field(
        default=None,
        description="true where the board stops charge of cells below freezing. No default: then a "
        "caution says so.",
    )
    loss_w: float | None = Field(
        default=None,
        gt=0,
        le=200,
        description="Heat of the board at continuous_a, W. Default: what a voltage drop of 0.1 V "
        "makes: most boards have less.",
    )
    place: SideWord | None = Field(
        default=None,
        description="The side of the held cells, as in the plan of the space, where the room for "
        "the board must stand: +x, -x, +y or -y. Only in a fitted enclosure. No default: "
        "where the enclosure takes least plastic.",
    )
    place_mm: CornersMm | None = Field(
        default=None,
        description="Two opposite corners of a rectangle in the plan of the space, within which "
        "that room must lie, mm. Only in a fitted enclosure. No default: anywhere.",
    )


class ControllerSection(Section):
    """The controller that the pack feeds, by its data sheet. Left out: its voltages are not
    checked."""

    lowest_v: Volts | None = Field(
        default=None,
        description="Minimum operating voltage, V. No default: then it is not checked.",
    )
    cutoff_v: Volts | None = Field(
        default=None,
        description="Voltage at which the controller stops drawing current, V. No default: then "
        "only the BMS protects the cells from over-discharge.",
    )
    highest_v: Volts | None = Field(
        default=None,
        description="Maximum permitted voltage, V. No default: then it is not checked.",
    )
    capacitance_f: float | None = Field(
        default=None,
        gt=0,
        le=10,
        description="Input capacitance, F: sets the precharge resistor. No default: then none is "
        "calculated.",
    )
    capacitance_uf: float | None = Field(
        default=None,
        gt=0,
        le=10_000_000,
        description="Input capacitance in microfarad. No default: give this or capacitance_f.",
    )


class ChargerSection(Section):
    """The charger. Left out: charge is not checked."""

    volts_v: Volts = Field(description="End-of-charge voltage, V. Required in this section.")
    amps_a: float = Field(gt=0, le=1000, description="Charge current, A. Required in this section.")
    chemistry: str | None = Field(
        default=None,
        pattern=CHEMISTRY_PATTERN,
        description="Chemistry that the charger is made for, as in cell.chemistry. No default: "
        "then its voltage alone is compared.",
    )
    wire_mm2: float | None = Field(
        default=None,
        ge=0.21,
        le=95,
        description="Conductor cross-section of the charge wires inside the pack, mm2. No default: "
        "then no fuse is calculated for them.",
    )
