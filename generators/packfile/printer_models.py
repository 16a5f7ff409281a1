"""The form of the printer: its bed, and what the estimate of hours and filament is made with."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from generators.packfile.section import FileText, Section

__all__ = ["FilamentSection", "PrinterSection", "SpeedsSection", "SpreadSection"]

DATE_PATTERN = r"^2[0-9]{3}-(0[1-9]|1[0-2])-(0[1-9]|[12][0-9]|3[01])$"

BedMm = Annotated[float, Field(ge=100, le=2000)]
RoundMm = Annotated[float, Field(ge=150, le=2000)]
OffMm = Annotated[float | None, Field(ge=-0.5, le=0.5)]
ShrinkPercent = Annotated[float, Field(ge=-1, le=5)]
SpeedMmS = Annotated[float | None, Field(ge=1, le=1000)]


class SpeedsSection(Section):
    """Speeds of the nozzle, mm/s, as your slicer has them; the estimate of hours follows them."""

    outer: SpeedMmS = Field(
        default=None,
        description="Outermost line of walls, mm/s. Default {default}: careful, for PETG.",
    )
    inner: SpeedMmS = Field(
        default=None,
        description="Other lines of walls, mm/s. Default {default}: careful, for PETG.",
    )
    small: SpeedMmS = Field(
        default=None,
        description="Walls of holes and posts of up to 13 mm, mm/s. Default {default}: half of "
        "outer.",
    )
    solid: SpeedMmS = Field(
        default=None,
        description="Solid layers, mm/s. Default {default}: careful, for PETG.",
    )
    sparse: SpeedMmS = Field(
        default=None,
        description="Infill, mm/s. Default {default}: nobody sees it.",
    )
    top: SpeedMmS = Field(
        default=None,
        description="Solid layers that lie open, mm/s. Default {default}: for a closed surface.",
    )
    bridge: SpeedMmS = Field(
        default=None,
        description="Lines over air, mm/s. Default {default}: slow ones hang less.",
    )
    first: SpeedMmS = Field(
        default=None,
        description="All of the first layer, mm/s. Default {default}: it has to stick.",
    )
    travel: SpeedMmS = Field(
        default=None,
        description="Moves without printing, mm/s. Default {default}: usual.",
    )


class FilamentSection(Section):
    """What is printed with."""

    diameter_mm: float | None = Field(
        default=None,
        ge=1,
        le=4,
        description="Diameter of the filament, mm. Default {default}: the usual one.",
    )
    density_g_cm3: float | None = Field(
        default=None,
        ge=0.5,
        le=3,
        description="Density of the filament, g/cm3. Default that of printer.material: see its "
        "data sheet.",
    )
    price_per_kg: float | None = Field(
        default=None,
        ge=0,
        le=10_000,
        description="Price of a kilogram, in your currency. Default {default}: judged, enter what "
        "you pay.",
    )


class SpreadSection(Section):
    """By how much prints of one part differ, each as one standard deviation: about a quarter of
    what the widest of ten prints is off the narrowest. The check second_holder_goes_on follows."""

    scale_percent: float | None = Field(
        default=None,
        ge=0,
        le=2,
        description="Length of a print, against other prints from the same printer, %. Default "
        "{default}: judged; print a long part ten times, on different days.",
    )
    skew_percent: float | None = Field(
        default=None,
        ge=0,
        le=2,
        description="Squareness of a print, against other prints, mm off in 100 mm. Default "
        "{default}: judged.",
    )
    place_mm: float | None = Field(
        default=None,
        ge=0,
        le=0.5,
        description="A hole's centre against its neighbours', along each axis, mm. Default "
        "{default}: judged.",
    )
    pocket_mm: float | None = Field(
        default=None,
        ge=0,
        le=0.5,
        description="A hole's diameter against others of the same print, mm. Default {default}: "
        "judged.",
    )
    out_of_square_percent: float | None = Field(
        default=None,
        ge=-2,
        le=2,
        description="By how much the printer itself is out of square, mm in 100 mm: the same in "
        "every print, no standard deviation. The upper holder is turned over, so that it counts "
        "twice. Default {default}: assumed; measure both diagonals of a printed square.",
    )


class PrinterSection(Section):
    """The 3D printer. Walls, infill, speeds and prices are for the estimate of hours, filament and
    cost; they change no part: set your slicer alike."""

    profile: FileText | None = Field(
        default=None,
        description="YAML file with keys of this section at its top level, so that several packs "
        "share one printer; the path is relative to this file's folder, and keys given here take "
        "precedence. No default: then the keys here are all.",
    )
    bed_mm: tuple[BedMm, BedMm, BedMm] | None = Field(
        default=None,
        description="Build volume along x, y and z, mm. Default [220, 220, 250]: a common size.",
    )
    bed_round_mm: tuple[RoundMm, RoundMm] | None = Field(
        default=None,
        description="Diameter and height of the build volume of a round bed, in place of bed_mm, "
        "mm. No default: then the bed is a rectangle.",
    )
    edge_mm: float | None = Field(
        default=None,
        ge=0,
        le=30,
        description="Edge of the bed that stays free of parts and their brim, mm; a part that "
        "needs more of it is laid alone in the middle. Default {default}: the edge is colder and "
        "less flat.",
    )
    brim_mm: float | None = Field(
        default=None,
        ge=0,
        le=20,
        description="Width of the brim that your slicer prints round each part, mm. Default "
        "{default}: parts stand on broad faces.",
    )
    nozzle_mm: float | None = Field(
        default=None,
        ge=0.1,
        le=1.2,
        description="Nozzle diameter, mm: no wall is thinner. Default {default}: standard on "
        "nearly every printer.",
    )
    layer_mm: float | None = Field(
        default=None,
        ge=0.04,
        le=0.9,
        description="Layer height, mm; 0.25 to 0.75 of the nozzle diameter. Default {default}: "
        "half the usual nozzle.",
    )
    hole_mm: OffMm = Field(
        default=None,
        description="By how much less holes come out in diameter than they are drawn, mm, beyond "
        "shrinkage. Default {default}: measure it.",
    )
    outside_mm: OffMm = Field(
        default=None,
        description="By how much outsides grow on each side, mm, beyond shrinkage. Default "
        "{default}: measure it.",
    )
    shrink_percent: tuple[ShrinkPercent, ShrinkPercent, ShrinkPercent] | None = Field(
        default=None,
        description="Shrinkage along x, y and z of the bed, %: of 100 mm drawn 100 less this many "
        "are measured. Default [0, 0, 0]: measure it.",
    )
    foot_mm: float | None = Field(
        default=None,
        ge=0,
        le=0.5,
        description="How far the first layer bulges on each side, mm. Default {default}: measure "
        "it.",
    )
    measured: str | None = Field(
        default=None,
        pattern=DATE_PATTERN,
        description="Day on which hole_mm, outside_mm, shrink_percent and foot_mm were measured, "
        "as 2026-03-31. No default: then they count as assumed.",
    )
    line_mm: float | None = Field(
        default=None,
        ge=0.1,
        le=2.4,
        description="Width of a printed line, mm; 1 to 2 times the nozzle diameter. Default 1.125 "
        "times the nozzle diameter: usual in slicers.",
    )
    wall_lines: int | None = Field(
        default=None,
        ge=1,
        le=20,
        description="Lines of a wall of every part. Default as suggested for each part: holders 3, "
        "tub and lid 2, brackets 4.",
    )
    infill_percent: float | None = Field(
        default=None,
        ge=0,
        le=100,
        description="Infill of every part, %. Default as suggested for each part: holders 25, tub "
        "and lid 15, brackets 50.",
    )
    top_layers: int | None = Field(
        default=None,
        ge=1,
        le=50,
        description="Solid layers below an open surface, of every part. Default as suggested for "
        "each part: tub and lid 4, others 5.",
    )
    bottom_layers: int | None = Field(
        default=None,
        ge=1,
        le=50,
        description="Solid layers from the bed up, of every part. Default as suggested for each "
        "part: tub and lid 3, others 4; a floor or lid checked for bending is solid.",
    )
    speeds_mm_s: SpeedsSection = Field(
        default=SpeedsSection(), description="Speeds of the nozzle, mm/s."
    )
    acceleration_mm_s2: float | None = Field(
        default=None,
        ge=50,
        le=50_000,
        description="Acceleration of printing moves, mm/s2. Default {default}: of a printer whose "
        "bed moves.",
    )
    jerk_mm_s: float | None = Field(
        default=None,
        ge=1,
        le=50,
        description="Step in speed of one axis that a corner is taken with, mm/s. Default "
        "{default}: usual.",
    )
    filament: FilamentSection = Field(
        default=FilamentSection(), description="The filament and its price."
    )
    spread: SpreadSection = Field(
        default=SpreadSection(), description="By how much prints of one part differ."
    )
    power_w: float | None = Field(
        default=None,
        ge=0,
        le=5000,
        description="Power of the printer, mean over a print, W. Default {default}: judged; a "
        "meter in the plug shows it.",
    )
    tariff_per_kwh: float | None = Field(
        default=None,
        ge=0,
        le=100,
        description="Price of a kilowatt-hour, in your currency. Default {default}: judged, enter "
        "what you pay.",
    )
    material: Literal["petg", "abs", "asa", "pla", "pc", "pa12"] | None = Field(
        default=None,
        description="Material of the printed parts. Default {default}: tough, withstands about 70 "
        "C, prints on any printer.",
    )
